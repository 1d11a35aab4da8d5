"""What a shop has learned: its sealed visits with proof, and the sums of other shops, into numbers of its own."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lostgallon.causes.catalogue import catalogue
from lostgallon.job.taught import RESET, taught
from lostgallon.learning.exchange import MOST_BY_ONE_VISIT, read, text_of, with_noise, write
from lostgallon.learning.learned import learned_from, own_numbers
from lostgallon.learning.sums import Sums, added, pooled
from lostgallon.shop.learned import Learned
from lostgallon.store import Store, look_into, open_store


@dataclass(frozen=True)
class Place:
    """Where a shop's data lie, and where calibrations of vehicles are kept."""

    data: Path
    database: str | None
    calibrations: Path | None


def learned_here(place: Place, files: Sequence[Path], *, now: dt.datetime) -> Learned:
    """What the shop's own visits say, together with the sums of other shops.

    Args:
        place: The shop.
        files: Sums of other shops.
        now: The local time, with its zone.

    Raises:
        Trouble: If there are no data, or a file can't be used.
    """
    known = catalogue()
    return learned_from(pooled([_sums_here(place, now=now), *(read(path, known) for path in files)]), known)


def learned_in(store: Store, calibrations: Path | None) -> Learned:
    """What the visits of an open shop say.

    Args:
        store: The shop's data.
        calibrations: Where calibrations of vehicles are kept; None keeps none.
    """
    known = catalogue()
    return learned_from(added(taught(store, known, folder=calibrations)), known)


def _sums_here(place: Place, *, now: dt.datetime, private: bool = False) -> Sums:
    """The sums of the shop's own visits; `private`: one visit adds so little that noise can hide it."""
    known = catalogue()
    with look_into(place.data, clock=lambda: now, database=place.database) as store:
        return added(taught(store, known, folder=place.calibrations), most=MOST_BY_ONE_VISIT if private else None)


def begin_anew(place: Place, *, now: dt.datetime) -> None:
    """From now on only visits sealed later teach; nothing else is touched, and the record of it stays.

    Raises:
        Trouble: If the data can't be written.
    """
    with open_store(place.data, clock=lambda: now, database=place.database) as store:
        store.set(RESET, now.isoformat(), who="learned")


def write_numbers(found: Learned, path: Path) -> None:
    """What was learned as a shop's own numbers (causes/own.py).

    Raises:
        CantKeep: If the place can't be written.
    """
    import yaml  # noqa: PLC0415 - only who writes a file waits for it

    head = "# Made by `lostgallon learned`: what this shop's visits say; read it with `lostgallon account --numbers`.\n"
    write(path, head + yaml.safe_dump(own_numbers(found, catalogue()), sort_keys=False, default_flow_style=None))


def export_sums(place: Place, path: Path, *, noise: float | None, now: dt.datetime) -> None:
    """The shop's sums for other shops (learning/exchange.py).

    Args:
        place: The shop.
        path: Where to.
        noise: Epsilon of the noise; None adds none.
        now: The local time, with its zone.

    Raises:
        CantKeep: If the place can't be written.
    """
    sums = _sums_here(place, now=now, private=noise is not None)
    if noise is not None:
        # fresh noise each time: noise that could be drawn again hides nothing
        sums = with_noise(sums, catalogue(), epsilon=noise, rng=np.random.default_rng())
    write(path, text_of(sums, noise=noise))
