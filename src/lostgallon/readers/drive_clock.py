"""The log's own clock: seconds from a run time, an elapsed time or a time of day. Never a row count."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from lostgallon.readers.drive_columns import Taken, numbers
from lostgallon.readers.drive_units import line_of
from lostgallon.shop.filled import Rejected
from lostgallon.shop.spread import Floats
from lostgallon.shop.trouble import BadFile

DAY_S = 86_400.0
HOUR_S = 3_600.0
STEP_S = (0.002, 120.0)
"""A logger writes a line between every 2 ms and every 2 minutes; used only to tell units of time apart."""
LASTING_ROWS = 10
TIME_OF_DAY = (
    r"(?:^|[T\s])(?:(\d{1,2}):)?(\d{1,3}):(\d{1,2})(?:[.,:](\d{1,9}))?\s*([AaPp])?\.?[Mm]?\.?(?:Z|[+-]\d\d:?\d\d)?\s*$"
)


@dataclass(frozen=True)
class Clock:
    """The column that carries the time, and how its cells become seconds; `wraps_s` is 0 if it never wraps."""

    taken: Taken
    is_text: bool
    factor: float
    wraps_s: float
    unit: str


def choose_clock(clocks: Sequence[Taken], sample: Sequence[Sequence[str]], decimal: str) -> Clock | None:
    """The clock that reads on most lines and has most distinct stamps; None if no column is one.

    Args:
        clocks: Columns whose heading speaks of time.
        sample: Rows of the file as text.
        decimal: The decimal sign.
    """
    best: tuple[float, Clock] | None = None
    for taken in clocks:
        cells = [row[taken.place] if taken.place < len(row) else "" for row in sample]
        clock = _clock_of(taken, cells, decimal)
        if clock is None:
            continue
        distinct = len(set(cells)) / max(len(cells), 1)
        if best is None or distinct > best[0] + 0.02:
            best = (distinct, clock)
    return best[1] if best else None


def _clock_of(taken: Taken, cells: Sequence[str], decimal: str) -> Clock | None:
    filled = [cell for cell in cells if cell]
    if not filled:
        return None
    values = numbers(filled, decimal)
    if np.mean(np.isfinite(values)) > 0.9:
        return _number_clock(taken, values[np.isfinite(values)])
    read = _times_of_day(pl.Series(filled))
    if np.mean(np.isfinite(read)) < 0.9:
        return None
    hours = np.mean([cell.count(":") >= 2 for cell in filled]) > 0.5
    wraps = DAY_S if hours else HOUR_S
    return Clock(taken, is_text=True, factor=1.0, wraps_s=wraps, unit="clock" if hours else "min:s")


def _number_clock(taken: Taken, values: Floats) -> Clock | None:
    steps = np.diff(values)
    forward = steps[steps > 0.0]
    if not len(forward) or np.mean(steps < 0.0) > 0.2:
        return None
    step = float(np.median(forward))
    if " is stated" in taken.record.why or taken.record.why.startswith("chosen"):
        factor = line_of(taken.unit, "clock").factor
        return Clock(taken, is_text=False, factor=factor, wraps_s=0.0, unit=taken.unit)
    for unit, factor in _number_units(float(values[0])):
        if STEP_S[0] <= step * factor <= STEP_S[1]:
            return Clock(taken, is_text=False, factor=factor, wraps_s=0.0, unit=unit)
    return None


def _number_units(first: float) -> tuple[tuple[str, float], ...]:
    """Units a bare number may have, by its size: seconds or milliseconds since 1970, days since 1900, else seconds."""
    if first > 1e14:
        return (("us", 1e-6),)
    if first > 1e11:
        return (("ms", 1e-3),)
    if first > 1e8:
        return (("s", 1.0),)
    if 20_000.0 < first < 80_000.0:
        return (("s", 1.0), ("d", DAY_S))
    return (("s", 1.0), ("ms", 1e-3))


def seconds(frame: pl.DataFrame, clock: Clock) -> Floats:
    """The clock column of a block in seconds, NaN where it can't be read. Shape (rows,)."""
    column = frame[f"c{clock.taken.place}"]
    if clock.is_text:
        return _times_of_day(column)
    return column.to_numpy().astype(np.float64) * clock.factor


def _times_of_day(cells: pl.Series) -> Floats:
    groups = cells.str.extract_groups(TIME_OF_DAY).struct.unnest()
    hour, minute, second = (groups[name].cast(pl.Float64).to_numpy() for name in ("1", "2", "3"))
    fraction = pl.Series("f", groups["4"]).str.replace(r"^", "0.").cast(pl.Float64, strict=False)
    half = groups["5"].str.to_lowercase().to_numpy()
    hours = np.where(np.isnan(hour), 0.0, hour)
    hours = np.where((half == "p") & (hours < 12), hours + 12, np.where((half == "a") & (hours == 12), 0.0, hours))
    return np.asarray(hours * HOUR_S + minute * 60.0 + second + np.nan_to_num(fraction.to_numpy()), np.float64)


@dataclass(frozen=True)
class Timeline:
    """Rows that keep the time: their seconds from the first row on, which rows those are, and what was left out."""

    time_s: Floats
    rows: NDArray[np.int64]
    rejected: tuple[Rejected, ...]
    notes: tuple[str, ...]


def timeline(raw_s: Floats, lines: NDArray[np.int64], clock: Clock) -> Timeline:
    """A clock that only moves forward, from the clock as read.

    A lasting fall is a new start of the engine or of the logger and the time runs on from there; a single stray stamp
    is rejected with its line.

    Args:
        raw_s: Seconds as read, NaN where none could be. Shape (rows,).
        lines: Line numbers. Shape (rows,).
        clock: The clock they were read with.
    """
    heading = clock.taken.record.heading
    readable = np.isfinite(raw_s)
    rejected = [Rejected(int(line), f"no time in {heading!r}") for line in lines[~readable]]
    rows = np.flatnonzero(readable)
    time = raw_s[rows]
    if clock.wraps_s:
        falls = np.flatnonzero(np.diff(time) < -0.5 * clock.wraps_s)
        time = time + clock.wraps_s * np.searchsorted(falls, np.arange(len(time)), side="left")
    time, stray, restarts = _run_on(time)
    rejected += [Rejected(int(lines[rows[at]]), f"the clock in {heading!r} steps out of order") for at in stray]
    keep = np.ones(len(time), bool)
    keep[stray] = False
    notes: tuple[str, ...] = ()
    if restarts:
        times = "once" if restarts == 1 else f"{restarts} times"
        notes = (f"the clock started again {times}; the time runs on from there",)
    if not keep.any():
        return Timeline(np.empty(0), np.empty(0, np.int64), tuple(rejected), notes)
    return Timeline(time[keep] - time[keep][0], rows[keep], tuple(rejected), notes)


def _run_on(time: Floats) -> tuple[Floats, list[int], int]:
    falls = np.flatnonzero(np.diff(time) < 0.0) + 1
    if len(falls) > max(50, 0.02 * len(time)):
        found = f"a time column that falls back {len(falls)} times"
        raise BadFile("the log", found=found, expected="a clock that runs forward")
    time = time.copy()
    stray: list[int] = []
    restarts = 0
    steps = np.diff(time)
    usual = float(np.median(steps[steps > 0])) if np.any(steps > 0) else 1.0
    for at in map(int, falls):
        if time[at] >= time[at - 1]:
            continue
        later = min(int(at) + LASTING_ROWS, len(time) - 1)
        if at >= 2 and time[at] >= time[at - 2] and time[later] < time[at - 1]:
            stray.append(at - 1)
        elif time[later] >= time[at - 1] or later == at:
            stray += [row for row in range(at, later) if time[row] < time[at - 1]] or [at]
        else:
            time[at:] += time[at - 1] + usual - time[at]
            restarts += 1
    return time, sorted(set(stray)), restarts


def distinct_stamps(time_s: Floats) -> NDArray[np.int64]:
    """Where each run of equal stamps begins. Shape (stamps,)."""
    return np.flatnonzero(np.diff(time_s, prepend=-1.0) > 0.0)
