"""Every record, file and seal, read."""

import datetime as dt
from pathlib import Path

from lostgallon.shop.kept import Damage, Inspection
from lostgallon.shop.trouble import Damaged
from lostgallon.store import inspect_store, look_into


def inspect_data(*, place: Path, database: str | None, now: dt.datetime) -> Inspection:
    """Read the shop's data at a place; nothing is changed.

    Raises:
        Trouble: If there are no data of a shop.
    """
    try:
        with look_into(place, clock=lambda: now, database=database) as store:
            return inspect_store(store)
    except Damaged as trouble:
        where, _, said = str(trouble).partition(": found ")
        found, _, expected = said.partition("; expected ")
        damage = Damage(where=where, found=found, expected=expected)
        return Inspection(str(place), "", visits=0, entries=0, files=0, seals=0, damage=(damage,), remarks=())
