"""One archive with the whole shop in it."""

import datetime as dt
from pathlib import Path

from lostgallon.shop.kept import BackupMade
from lostgallon.store import back_up, look_into


def backup(target: Path, *, place: Path, database: str | None, now: dt.datetime) -> BackupMade:
    """Write a backup of the shop's data at a place; a running program may go on writing.

    Raises:
        Trouble: If there are no data, or the archive can't be written.
    """
    with look_into(place, clock=lambda: now, database=database) as store:
        return back_up(store, target)
