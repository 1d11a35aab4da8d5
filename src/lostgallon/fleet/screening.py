"""A fleet screened: read in pieces, shared effects taken out, weighed in parts, flagged at a stated rate."""

import datetime as dt
import shutil
import tempfile
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

import numpy as np

from lostgallon.fillups.verdict import LEAST_TANKS
from lostgallon.fleet.chunks import ROWS_AT_ONCE, Chunks, chunks_of
from lostgallon.fleet.columns import all_recognized
from lostgallon.fleet.engines import Done, Waiting, engine_of
from lostgallon.fleet.parts import COLUMNS, Part, parts_of
from lostgallon.fleet.ranking import Ranked, Weighed, ranked
from lostgallon.fleet.shared import Counts, Shared, shared_of
from lostgallon.fleet.tanks import FleetTanks, tanks_of
from lostgallon.shop.filled import FillHints
from lostgallon.shop.screened import Pictured, Screening
from lostgallon.shop.spread import Floats

LEAST_FOR_WORKERS = 200_000
"""Below this many tanks starting workers and loading machine code costs more than it saves."""
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
        rows_at_once: Rows held in memory.
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


@dataclass
class _Told:
    """What is gathered while parts are handed out."""

    names: list[str] = field(default_factory=list)
    far_more: list[int] = field(default_factory=list)
    too_few: list[str] = field(default_factory=list)
    vehicles: int = 0
    tanks: int = 0


def screen(asked: Asked, *, clock: Callable[[], float], told: Progress) -> Screened:
    """Screens a fleet.

    Args:
        asked: Files, price, rate.
        clock: Seconds that only go forward.
        told: Called with what is done, rows done and rows in all.

    Raises:
        BadFile: If a file can't be used.
        BadArgument: If there is no such engine.
    """
    began = clock()
    read = all_recognized(asked.files, asked.hints)
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as passing:
        folder = (asked.kept or Path(passing)) / PIECES
        chunks = chunks_of(read.rows, asked.files, folder, at_once=asked.rows_at_once)
        pieces = _Pieces(chunks)
        shared = _shared(pieces, asked, told)
        gathered = _Told()
        parts = _parts(pieces, shared, asked, gathered)
        rows = list(
            _all_weighed(parts, asked, many=_is_many(pieces), told=lambda done: told("weighing", done, pieces.tanks))
        )
        found = np.concatenate(rows) if rows else np.empty((0, len(COLUMNS)))
        weighed = Weighed(tuple(gathered.names), found, tuple(gathered.far_more), tuple(gathered.too_few))
        ranking = ranked(weighed, rate=asked.rate, price_per_l=asked.price_per_l)
        pictures = _pictures(pieces, shared, ranking, asked.pictures)
    record = Screening(
        vehicles=gathered.vehicles,
        fill_ups=chunks.rows,
        rejected=chunks.rows - gathered.tanks,
        seconds=round(clock() - began, 2),
        false_discovery_rate=asked.rate,
        expected_false=ranking.expected_false,
        share_changed=ranking.share,
        too_few=gathered.vehicles - len(gathered.names),
        currency=asked.currency,
        flagged=ranking.vehicles(),
        taken_out=_taken_out(shared),
        columns=read.taken,
    )
    return Screened(record, ranking, pictures)


class _Pieces:
    """The tanks of every piece, one piece in memory at a time; a single piece is read once."""

    def __init__(self, chunks: Chunks) -> None:
        self._chunks, self.rows = chunks, chunks.rows
        self.tanks = 0
        self._only: FleetTanks | None = None

    def __iter__(self) -> Iterator[FleetTanks]:
        if self._only is not None:
            yield self._only
            return
        for frame in self._chunks:
            tanks = tanks_of(frame)
            if len(self._chunks.frames) == 1:
                self._only = tanks
            yield tanks


def _shared(pieces: _Pieces, asked: Asked, told: Progress) -> Shared:
    counts, done = Counts(), 0
    for tanks in pieces:
        counts.add(tanks)
        done += tanks.rows
        pieces.tanks += len(tanks.days)
        told("reading", done, pieces.rows)
    return shared_of(counts, southern=asked.southern)


def _is_many(pieces: _Pieces) -> bool:
    """Whether workers and machine code are worth starting; the same on every machine, so that digits are too."""
    return pieces.tanks >= LEAST_FOR_WORKERS


def _parts(pieces: _Pieces, shared: Shared, asked: Asked, gathered: _Told) -> Iterator[Part]:
    machine_code = asked.machine_code if _is_many(pieces) else None
    for tanks in pieces:
        enough = tanks.counts >= LEAST_TANKS
        chosen = np.nonzero(enough)[0]
        gathered.names += [tanks.names[place] for place in chosen.tolist()]
        gathered.far_more += [tanks.far_more[place] for place in chosen.tolist()]
        gathered.too_few += [tanks.names[place] for place in np.nonzero(~enough)[0].tolist()]
        gathered.vehicles += tanks.vehicles
        gathered.tanks += len(tanks.days)
        yield from parts_of(tanks, shared, chosen, machine_code=machine_code)


def _all_weighed(parts: Iterable[Part], asked: Asked, *, many: bool, told: Callable[[int], None]) -> Iterator[Floats]:
    """Rows of every part in order; those kept from an earlier run are not weighed again."""
    waiting: deque[tuple[Part, Waiting]] = deque()
    done = 0
    with engine_of(asked.engine, asked.workers if many else 1) as engine:
        for part in _and_then_nothing(parts):
            if part is not None:
                kept = _read_kept(asked.kept, part)
                waiting.append((part, engine.submit(part) if kept is None else Done(kept)))
            while len(waiting) > (engine.ahead if part is not None else 0):
                first, soon = waiting.popleft()
                rows = soon.result()
                _keep(asked.kept, first, rows)
                done += len(first.days)
                told(done)
                yield rows


def _and_then_nothing(parts: Iterable[Part]) -> Iterator[Part | None]:
    yield from parts
    yield None


def _read_kept(folder: Path | None, part: Part) -> Floats | None:
    path = folder / f"{part.mark()}.npy" if folder else None
    if path is None or not path.is_file():
        return None
    try:
        rows = np.load(path)
    except (OSError, ValueError, EOFError):
        return None
    return rows if rows.shape == (len(part), len(COLUMNS)) else None


def _keep(folder: Path | None, part: Part, rows: Floats) -> None:
    if folder is not None:
        folder.mkdir(parents=True, exist_ok=True)
        np.save(folder / f"{part.mark()}.npy", rows)


def _taken_out(shared: Shared) -> tuple[str, ...]:
    if not shared.week:
        return ()
    told = ["what all vehicles do in the same week and month"]
    told += ["what a region does in a month"] if shared.region else []
    return (*told, *(["what a kind of body does in a month"] if shared.body else []))


def _pictures(pieces: _Pieces, shared: Shared, ranking: Ranked, most: int) -> tuple[Pictured, ...]:
    """The first of the flagged, drawn from one more run through the pieces."""
    chosen = ranking.order[:most]
    since = {ranking.names[place]: float(ranking.column["since_day"][place]) for place in chosen.tolist()}
    if not since:
        return ()
    found: dict[str, Pictured] = {}
    for tanks in pieces:
        places = np.array([place for place, name in enumerate(tanks.names) if name in since], dtype=np.int64)
        volume_l = tanks.volume_l * np.exp(-shared.of(tanks)) if len(places) else tanks.volume_l
        for place, own in zip(places.tolist(), tanks.spans(places), strict=True):
            name = tanks.names[place]
            found[name] = _pictured(name, tanks, own, volume_l[own], since[name])
    return tuple(found[name] for name in since)


def _pictured(name: str, tanks: FleetTanks, own: slice, volume_l: Floats, since: float) -> Pictured:
    end_day, distance_km = tanks.end_day[own], tanks.distance_km[own]
    after = end_day - tanks.days[own] >= since
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
