"""A part of a fleet weighed: one row of numbers a vehicle. Parts go to workers and are kept for a resumed run."""

import hashlib
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lostgallon.fillups.compiled import bring_into_use
from lostgallon.fillups.mixtures import mixture_quantiles
from lostgallon.fillups.posterior import weigh
from lostgallon.fillups.prior import HISTORY_TANKS, SeasonPrior
from lostgallon.fillups.tanks import Batch, batch_of
from lostgallon.fillups.verdict import LEAST_TANKS
from lostgallon.fleet.pieces import tanks_at, vehicles_at
from lostgallon.fleet.shared import Shared
from lostgallon.fleet.tanks import DAYS_A_YEAR, FleetTanks, Index
from lostgallon.shop.spread import Bools, Floats

COLUMNS = (
    "nothing",
    "vehicle_rise",
    "vehicle_fall",
    "use_changed",
    "log_bayes_factor",
    "mean_log",
    "p05_log",
    "p50_log",
    "p95_log",
    "since_day",
    "km_per_year",
    "l_per_100km",
)
PER_PART = 1024
AT_ONCE = 16
"""Logs in a batch: their arrays stay in the processor's cache."""


@dataclass(frozen=True)
class Part:
    """Some vehicles of a fleet, tanks one behind the other, shared effects taken out, and the season that is left.

    Vehicle i owns starts[i]:starts[i + 1] of the arrays. `machine_code` is where compiled sums are kept; None runs
    on NumPy.
    """

    starts: Index
    end_day: Floats
    days: Floats
    distance_km: Floats
    volume_l: Floats
    chained: Bools
    season: SeasonPrior
    machine_code: Path | None = None

    def __len__(self) -> int:
        """How many vehicles."""
        return len(self.starts) - 1

    def mark(self) -> str:
        """Letters that differ where the tanks or the prior differ."""
        told = hashlib.blake2b(repr(self.season).encode(), digest_size=12)
        for values in (self.starts, self.end_day, self.days, self.distance_km, self.volume_l, self.chained):
            told.update(np.ascontiguousarray(values).tobytes())
        return told.hexdigest()


@dataclass(frozen=True)
class Task:
    """Vehicles low to high of a piece: what a worker of this machine is handed in place of their tanks.

    `kept` is the folder of finished parts, None keeps none; `machine_code` see Part.
    """

    place: Path
    low: int
    high: int
    shared: Shared
    machine_code: Path | None
    kept: Path | None

    def part(self) -> Part:
        """The tanks themselves."""
        return part_of(tanks_at(self.place, self.low, self.high), self.shared, machine_code=self.machine_code)


def tasks_of(place: Path, shared: Shared, *, machine_code: Path | None, kept: Path | None) -> Iterator[Task]:
    """A piece cut into tasks of some vehicles each; see Task."""
    count = vehicles_at(place).height
    for low in range(0, count, PER_PART):
        yield Task(place, low, min(low + PER_PART, count), shared, machine_code, kept)


def part_of(tanks: FleetTanks, shared: Shared, *, machine_code: Path | None = None) -> Part:
    """Those vehicles of a fleet that have enough tanks, without what vehicles do together."""
    volume_l = tanks.volume_l * np.exp(-shared.of(tanks))
    enough = tanks.counts >= LEAST_TANKS
    at = np.repeat(enough, tanks.counts)
    return Part(
        starts=np.concatenate([[0], np.cumsum(tanks.counts[enough])]),
        end_day=tanks.end_day[at],
        days=tanks.days[at],
        distance_km=tanks.distance_km[at],
        volume_l=volume_l[at],
        chained=tanks.chained[at],
        season=shared.season,
        machine_code=machine_code,
    )


def rows_of(task: Task) -> Floats:
    """The rows of a task, as kept by an earlier run or weighed now."""
    part = task.part()
    found = kept_rows(task.kept, part)
    return keep(task.kept, part, weighed(part)) if found is None else found


def kept_rows(folder: Path | None, part: Part) -> Floats | None:
    """Rows that an earlier run kept of the same tanks."""
    path = folder / f"{part.mark()}.npy" if folder else None
    if path is None or not path.is_file():
        return None
    try:
        rows = np.load(path)
    except (OSError, ValueError, EOFError):
        return None
    return rows if rows.shape == (len(part), len(COLUMNS)) else None


def keep(folder: Path | None, part: Part, rows: Floats) -> Floats:
    """The rows, written for a run to come where a folder is given."""
    if folder is not None:
        folder.mkdir(parents=True, exist_ok=True)
        np.save(folder / f"{part.mark()}.npy", rows)
    return rows


def weighed(part: Part) -> Floats:
    """One row a vehicle, shape (vehicles, len(COLUMNS)), in the order of the part."""
    if part.machine_code is not None:
        with suppress(ImportError, OSError):  # without the extra `fast`, or a place to keep it, NumPy does the same
            bring_into_use(part.machine_code)
    found = np.empty((len(part), len(COLUMNS)))
    if not len(part):
        return found
    order = np.argsort(np.diff(part.starts), kind="stable")
    for low in range(0, len(order), AT_ONCE):
        places = order[low : low + AT_ONCE]
        found[places, :-2] = _rows(_stacked(part, places), part.season)
    found[:, -2:] = _usual(part)
    return found


def _stacked(part: Part, places: Index) -> Batch:
    """Some vehicles as one batch, stacked at their last tank."""
    end = part.starts[places + 1]
    counts = np.minimum(end - part.starts[places], HISTORY_TANKS)
    at = end[:, None] - np.arange(int(counts.max()), 0, -1)
    valid = at >= (end - counts)[:, None]
    at = np.where(valid, at, end[:, None] - 1)
    filler = {"end_day": 0.0, "days": 0.0, "distance_km": 1.0, "volume_l": 1.0}
    held = {name: np.where(valid, getattr(part, name)[at], empty) for name, empty in filler.items()}
    held["variance_times"] = np.ones(at.shape)
    held["ambient_c"] = held["ethanol_share"] = np.full(at.shape, np.nan)
    chained = part.chained[at] & valid
    chained[:, 1:] &= valid[:, :-1]
    chained[:, 0] = False
    return batch_of(held, chained, valid)


def _rows(batch: Batch, season: SeasonPrior) -> Floats:
    seen = weigh(batch, season)
    count = len(batch.valid)
    own = [each[:, [0, 2]].reshape(count, -1) for each in (seen.weight, seen.own_mean, seen.own_sd)]
    points = mixture_quantiles(own[0], own[1], own[2])
    mean = (own[0] * own[1]).sum(axis=1) / np.maximum(own[0].sum(axis=1), 1e-300)
    dates = seen.weight[:, [0, 2]].sum(axis=1)
    dates = dates[:, : dates.shape[1] // 2] + dates[:, dates.shape[1] // 2 :]
    middle = (np.cumsum(dates, axis=1) >= 0.5 * dates.sum(axis=1, keepdims=True)).argmax(axis=1)
    begun = (batch.end_day - batch.days)[np.arange(count), seen.starts.first[middle]]
    rival = seen.use + seen.both
    fall = seen.vehicle + seen.both - seen.vehicle_rise
    columns = (seen.nothing, seen.vehicle_rise, fall, rival, seen.log_bayes_factor, mean, *points.T, begun)
    return np.column_stack(columns)


def _usual(part: Part) -> Floats:
    """Distance a year [km] and fuel over distance [L/100 km] of each vehicle, shape (vehicles, 2)."""
    first, last = part.starts[:-1], part.starts[1:] - 1
    span = part.end_day[last] - part.end_day[first] + part.days[first]
    distance, volume = (np.add.reduceat(each, first) for each in (part.distance_km, part.volume_l))
    return np.column_stack([distance / np.maximum(span, 1.0) * DAYS_A_YEAR, 100.0 * volume / distance])
