"""A fleet screened: read in pieces, shared effects taken out, weighed in parts, flagged at a stated rate."""

import datetime as dt
import shutil
import tempfile
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np
import polars as pl

from lostgallon.fleet.columns import EXAMPLE, all_recognized
from lostgallon.fleet.engines import Engine, engine_of
from lostgallon.fleet.parts import COLUMNS, Task, tasks_of
from lostgallon.fleet.pieces import ROWS_AT_ONCE, pieces_of, tanks_at, vehicles_at
from lostgallon.fleet.ranking import Ranked, Weighed, ranked
from lostgallon.fleet.shared import Counts, Shared, shared_of
from lostgallon.fleet.tanks import ENOUGH, FleetTanks
from lostgallon.shop.filled import FillHints
from lostgallon.shop.screened import Pictured, Screening
from lostgallon.shop.spread import Floats
from lostgallon.shop.trouble import BadFile

LEAST_FOR_WORKERS = 200_000
"""Below this many fill-ups starting workers and loading machine code costs more than it saves."""
NO_HINTS = FillHints()
PIECES = "pieces"


@dataclass(frozen=True)
class Asked:
    """What is asked of a fleet.

    Attributes:
        files: CSV or Parquet.
        price_per_l: Of fuel, in `currency`.
        currency: Three letters.
        hints: Units and order of dates where a file leaves them open.
        rate: Share of false flags at most.
        workers: Processes of this machine.
        engine: "" for this machine, else dask://HOST:PORT.
        kept: Folder of finished parts and of pieces; None keeps none.
        machine_code: Folder of compiled sums; None runs on NumPy.
        southern: South of the equator.
        pictures: So many of the flagged are pictured.
        rows_at_once: Rows of a piece.
    """

    files: tuple[Path, ...]
    price_per_l: float
    currency: str
    hints: FillHints = NO_HINTS
    rate: float = 0.05
    workers: int = 1
    engine: str = ""
    kept: Path | None = None
    machine_code: Path | None = None
    southern: bool = False
    pictures: int = 0
    rows_at_once: int = ROWS_AT_ONCE


class Progress(Protocol):
    """What is being done, how much of it is done, and how much there is."""

    def __call__(self, what: str, done: int, total: int) -> None:
        """Says so."""


@dataclass(frozen=True)
class Screened:
    """The record, the whole ranking behind it, and pictures of the first flagged."""

    record: Screening
    ranking: Ranked
    pictures: tuple[Pictured, ...]


def screen(asked: Asked, *, clock: Callable[[], float], told: Progress) -> Screened:
    """Screens a fleet.

    Args:
        asked: Files, price, rate.
        clock: Seconds that only go forward.
        told: Called with what is done, how much of it and of how much.

    Raises:
        BadFile: If a file can't be used.
        BadArgument: If there is no such engine.
        CantKeep: If workers die over and over.
    """
    began = clock()
    read = all_recognized(asked.files, asked.hints)
    fill_ups = int(read.rows.select(pl.len()).collect(engine="streaming").item())
    if not fill_ups:
        raise BadFile(str(asked.files[0]), found="no fill-ups", expected=f"rows of {EXAMPLE}")
    many = fill_ups >= LEAST_FOR_WORKERS  # the same on every machine, so that digits are too
    machine_code = asked.machine_code if many else None
    with (
        tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as passing,
        engine_of(asked.engine, asked.workers if many else 1, machine_code) as engine,
    ):
        folder = (asked.kept or Path(passing)) / PIECES
        places = pieces_of(read.rows, asked.files, folder, pieces=-(-fill_ups // asked.rows_at_once))
        shared = shared_of(_counted(engine, places, told), southern=asked.southern)
        vehicles = [vehicles_at(place) for place in places]
        tasks = (
            task for place in places for task in tasks_of(place, shared, machine_code=machine_code, kept=asked.kept)
        )
        fleet = pl.concat(vehicles)
        found = _weighed(engine, tasks, fleet.filter(ENOUGH).height, told)
        ranking = ranked(Weighed(fleet, found), rate=asked.rate, price_per_l=asked.price_per_l)
        pictures = _pictures(places, shared, ranking, asked.pictures)
    record = Screening(
        vehicles=fleet.height,
        fill_ups=fill_ups,
        rejected=fill_ups - int(fleet["tanks"].sum()),
        seconds=round(clock() - began, 2),
        false_discovery_rate=asked.rate,
        expected_false=ranking.expected_false,
        share_changed=ranking.share,
        too_few=fleet.height - len(found),
        currency=asked.currency,
        flagged=ranking.all_flagged(),
        far_above=ranking.all_far_above(),
        taken_out=_taken_out(shared),
        columns=read.taken,
    )
    return Screened(record, ranking, pictures)


def _counted(engine: Engine, places: Sequence[Path], told: Progress) -> Counts:
    counts = Counts()
    for done, more in enumerate(engine.in_order(engine.read, places), 1):
        counts.include(more)
        told("reading", done, len(places))
    return counts


def _weighed(engine: Engine, tasks: Iterable[Task], vehicles: int, told: Progress) -> Floats:
    """Rows of every vehicle with enough tanks, in order, shape (vehicles, len(COLUMNS))."""
    found = [np.empty((0, len(COLUMNS)))]
    done = 0
    for rows in engine.in_order(engine.weigh, tasks):
        found.append(rows)
        done += len(rows)
        told("weighing", done, vehicles)
    return np.concatenate(found)


def _taken_out(shared: Shared) -> tuple[str, ...]:
    if not shared.week:
        return ()
    told = ["what all vehicles do in the same week and month"]
    told += ["what a region does in a month"] if shared.region else []
    return (*told, *(["what a kind of body does in a month"] if shared.body else []))


def _pictures(places: Sequence[Path], shared: Shared, ranking: Ranked, most: int) -> tuple[Pictured, ...]:
    """The first of the flagged, drawn from one more run through the pieces that hold them."""
    chosen = ranking.order[:most]
    since = {ranking.names[place]: float(ranking.column["since_day"][place]) for place in chosen.tolist()}
    found: dict[str, Pictured] = {}
    for place in places:
        names = vehicles_at(place)["vehicle"]
        for nth in names.is_in(list(since)).arg_true().to_list():
            tanks = tanks_at(place, nth, nth + 1)
            found[names[nth]] = _pictured(names[nth], tanks, shared, since[names[nth]])
    return tuple(found[name] for name in since)


def _pictured(name: str, tanks: FleetTanks, shared: Shared, since: float) -> Pictured:
    end_day, distance_km = tanks.end_day, tanks.distance_km
    volume_l = tanks.volume_l * np.exp(-shared.of(tanks))
    after = end_day - tanks.days >= since
    pooled = [100.0 * float(volume_l[side].sum() / max(distance_km[side].sum(), 1.0)) for side in (~after, after)]
    return Pictured(
        vehicle=name,
        days=tuple(dt.date.fromordinal(int(day)) for day in end_day),
        l_per_100km=tuple((100.0 * volume_l / distance_km).tolist()),
        before_l_per_100km=pooled[0],
        after_l_per_100km=pooled[1],
    )


def forget(folder: Path) -> None:
    """Removes the parts and pieces that a run kept, and the folder if nothing else is in it."""
    if not folder.is_dir():
        return
    for part in folder.glob("*.npy"):
        part.unlink()
    shutil.rmtree(folder / PIECES, ignore_errors=True)
    if not any(folder.iterdir()):
        folder.rmdir()
