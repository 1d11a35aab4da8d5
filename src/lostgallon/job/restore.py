"""A backup brought back."""

import datetime as dt
from pathlib import Path

from lostgallon import store
from lostgallon.shop.kept import Restored


def restore(source: Path, *, place: Path, database: str | None, replace: bool, now: dt.datetime) -> Restored:
    """Bring a backup back to a place; see lostgallon.store.restore.

    Raises:
        Trouble: If the archive can't be used or the place is not free.
    """
    return store.restore(source, place, clock=lambda: now, database=database, replace=replace)
