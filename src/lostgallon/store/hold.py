"""Who has a data folder open. Programs that use it share the hold; one that replaces it must have it alone.

The system lets go of a hold when its program ends, however it ends.
"""

import os
from pathlib import Path
from typing import IO

from lostgallon.shop.trouble import CantKeep

NAME = "in-use"


def scratch_prefix(place: Path) -> str:
    """How the folder begins that a restore unpacks in, beside the place."""
    return f".{place.name}-restoring-"


def require_no_interrupted_restore(place: Path) -> None:
    """Refuse to start an empty shop where a restore was cut off between setting one aside and putting one in.

    Raises:
        CantKeep: If there are no data at the place but a half-done restore beside it.
    """
    if place.exists() or not any(place.absolute().parent.glob(f"{scratch_prefix(place)}*")):
        return
    raise CantKeep(
        f"{place}: found a restore that was cut off; expected data; restore the backup again, or give the folder "
        f"{place.name}-before-... beside it its old name {place.name}"
    )


def share(place: Path) -> IO[bytes]:
    """Say that this program uses the folder, until the handle is closed.

    Raises:
        CantKeep: If another program is replacing it.
    """
    return _lock(place, alone=False, found="data that another program is replacing", expected="its end; try again")


def hold_alone(place: Path) -> IO[bytes]:
    """Say that this program alone uses the folder, until the handle is closed.

    Raises:
        CantKeep: If another program has it open.
    """
    return _lock(place, alone=True, found="data that a running program has open", expected="that program ended first")


def _lock(place: Path, *, alone: bool, found: str, expected: str) -> IO[bytes]:
    handle = (place / NAME).open("ab")
    if os.name != "nt":
        # Windows refuses by itself to rename a folder that is in use; its lock calls know no shared hold.
        import fcntl  # noqa: PLC0415 - there is none on Windows

        try:
            fcntl.flock(handle, (fcntl.LOCK_EX if alone else fcntl.LOCK_SH) | fcntl.LOCK_NB)
        except BlockingIOError:
            handle.close()
            raise CantKeep(f"{place}: found {found}; expected {expected}") from None
    return handle
