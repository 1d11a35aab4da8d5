"""A fleet screened: read, shared months taken out, weighed in parts, flagged at a stated rate of false discoveries."""

import datetime as dt
import multiprocessing
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fillups.tanks import TankArrays
from lostgallon.fillups.verdict import LEAST_TANKS
from lostgallon.fleet.discoveries import at_share, flagged, share_changed
from lostgallon.fleet.parts import COLUMNS, Part, weighed
from lostgallon.fleet.shared import OWN_SEASON, month_effect
from lostgallon.fleet.tanks import FleetTanks, read_fleet
from lostgallon.shop.screened import Flagged, Screening
from lostgallon.shop.spread import Floats, Spread

Index = np.ndarray[tuple[int], np.dtype[np.int64]]
PER_PART = 1024
LEAST_FOR_WORKERS = 4096
"""Below this many vehicles starting workers costs more than it saves."""


@dataclass(frozen=True)
class Asked:
    """What is asked of a fleet. `kept` is the folder of finished parts; None keeps none."""

    files: tuple[Path, ...]
    price_per_l: float
    currency: str
    distance_unit: str | None = None
    volume_unit: str | None = None
    rate: float = 0.05
    workers: int = 1
    kept: Path | None = None
    southern: bool = False


def screen(asked: Asked, *, clock: Callable[[], float], told: Callable[[int, int], None]) -> Screening:
    """Screens a fleet.

    Args:
        asked: Files, price, rate.
        clock: Seconds that only go forward.
        told: Called with parts done and parts in all.

    Raises:
        BadFile: If a file can't be used.
    """
    began = clock()
    tanks = read_fleet(asked.files, distance_unit=asked.distance_unit, volume_unit=asked.volume_unit)
    effect, is_shared = month_effect(tanks)
    season = OWN_SEASON if is_shared else SeasonPrior(southern=asked.southern)
    counts = np.diff(tanks.starts)
    chosen = np.nonzero(counts >= LEAST_TANKS)[0]
    parts = [
        Part(tuple(_logs(tanks, effect, chosen[low : low + PER_PART])), season)
        for low in range(0, len(chosen), PER_PART)
    ]
    rows = list(_with_progress(_all_weighed(parts, asked), len(parts), told))
    found = np.concatenate(rows) if rows else np.empty((0, len(COLUMNS)))
    names = [tanks.names[place] for place in chosen]
    share, vehicles, expected = _flag(found, names, asked)
    return Screening(
        vehicles=len(tanks.names),
        fill_ups=tanks.rows,
        rejected=tanks.rows - len(tanks.days),
        seconds=round(clock() - began, 2),
        false_discovery_rate=asked.rate,
        expected_false=expected,
        share_changed=share,
        too_few=int((counts < LEAST_TANKS).sum()),
        currency=asked.currency,
        flagged=vehicles,
    )


def _logs(
    tanks: FleetTanks, effect: Floats, places: Sequence[int] | np.ndarray[tuple[int], np.dtype[np.int64]]
) -> Iterator[TankArrays]:
    for place in places:
        own = slice(int(tanks.starts[place]), int(tanks.starts[place + 1]))
        count = own.stop - own.start
        yield TankArrays(
            end_day=tanks.end_day[own],
            days=tanks.days[own],
            distance_km=tanks.distance_km[own],
            volume_l=tanks.volume_l[own] * np.exp(-effect[own]),
            chained=tanks.chained[own],
            variance_times=np.ones(count),
            ambient_c=np.full(count, np.nan),
            ethanol_share=np.full(count, np.nan),
        )


def _with_progress(found: Iterator[Floats], count: int, told: Callable[[int, int], None]) -> Iterator[Floats]:
    for done, rows in enumerate(found, 1):
        told(done, count)
        yield rows


def _all_weighed(parts: Sequence[Part], asked: Asked) -> Iterator[Floats]:
    """Rows of every part in order; those kept from an earlier run are not weighed again."""
    kept = [_read_kept(asked.kept, part) for part in parts]
    missing = [part for part, rows in zip(parts, kept, strict=True) if rows is None]
    fresh = _weighed_anew(missing, asked)
    for part, rows in zip(parts, kept, strict=True):
        if rows is not None:
            yield rows
            continue
        new = next(fresh)
        if asked.kept is not None:
            asked.kept.mkdir(parents=True, exist_ok=True)
            np.save(asked.kept / f"{part.mark()}.npy", new)
        yield new


def _read_kept(folder: Path | None, part: Part) -> Floats | None:
    path = folder / f"{part.mark()}.npy" if folder else None
    if path is None or not path.is_file():
        return None
    try:
        rows = np.load(path)
    except (OSError, ValueError, EOFError):
        return None
    return rows if rows.shape == (len(part.logs), len(COLUMNS)) else None


def _weighed_anew(parts: Sequence[Part], asked: Asked) -> Iterator[Floats]:
    if asked.workers < 2 or sum(len(part.logs) for part in parts) < LEAST_FOR_WORKERS:
        yield from map(weighed, parts)
        return
    # spawn: a forked copy of threads that hold locks can hang
    with ProcessPoolExecutor(asked.workers, mp_context=multiprocessing.get_context("spawn")) as workers:
        yield from workers.map(weighed, parts)


def _flag(found: Floats, names: Sequence[str], asked: Asked) -> tuple[float, tuple[Flagged, ...], float]:
    column = {name: found[:, place] for place, name in enumerate(COLUMNS)}
    share = share_changed(column["log_bayes_factor"]) if len(found) else 0.0
    rise = at_share(share, column["nothing"], column["vehicle_rise"])
    rival = at_share(share, column["nothing"], column["use_changed"])
    chosen = np.nonzero(flagged(rise, asked.rate))[0]
    chosen = chosen[np.argsort(-rise[chosen] * column["p50_log"][chosen], kind="stable")]
    expected = float((1.0 - rise[chosen]).sum())
    vehicles = tuple(
        Flagged(
            vehicle=names[place],
            probability=float(rise[place]),
            increase_pct=_increase(column, place, 1.0),
            money_per_year=_money(column, place, asked.price_per_l),
            since=dt.date.fromordinal(int(column["since_day"][place])),
            use_changed=float(rival[place]),
        )
        for place in map(int, chosen)
    )
    return share, vehicles, expected


def _increase(column: dict[str, Floats], place: int, times: float) -> Spread:
    percent = {
        key: 100.0 * float(np.expm1(column[f"{key}_log"][place])) * times for key in ("mean", "p05", "p50", "p95")
    }
    return Spread(**percent)


def _money(column: dict[str, Floats], place: int, price_per_l: float) -> Spread:
    """What the rise costs a year at the vehicle's own distance, from the use it would have without the rise."""
    fuel_l = column["km_per_year"][place] / 100.0 * column["l_per_100km"][place]
    return _increase(column, place, float(fuel_l * price_per_l / 100.0))
