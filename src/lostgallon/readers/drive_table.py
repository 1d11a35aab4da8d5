"""A table whose columns are known, block by block into a log: one clock, channels, every line used or rejected."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lostgallon.readers.drive_blocks import Progress, Wanted, blocks
from lostgallon.readers.drive_clock import Clock, Timeline, distinct_stamps, seconds, timeline
from lostgallon.readers.drive_columns import Recognized, Taken
from lostgallon.readers.drive_layout import Layout
from lostgallon.readers.drive_signals import Signal, codes_in, signal, status_numbers
from lostgallon.shop.driven import DriveLog
from lostgallon.shop.filled import Rejected
from lostgallon.shop.merging import merged
from lostgallon.shop.spread import Floats
from lostgallon.shop.trouble import BadFile, one_of

MOST_REJECTED = 0.5


@dataclass(frozen=True)
class Table:
    """A file with its layout, its columns and its clock, all decided."""

    path: Path
    layout: Layout
    found: Recognized
    clock: Clock


def read_table(table: Table, *, progress: Progress | None = None) -> DriveLog:
    """Read a table.

    Args:
        table: The file and what its columns are.
        progress: Told how far the reading is.

    Raises:
        BadFile: If most of its lines can't be used or its clock never moves.
    """
    gathered = _gather(table.path, table.layout, found=table.found, clock=table.clock, progress=progress)
    return _log(table.path, table.found, clock=table.clock, gathered=gathered)


@dataclass
class _Gathered:
    """Columns as they come in block by block."""

    rows: int = 0
    raw_s: list[Floats] = field(default_factory=list)
    lines: list[NDArray[np.int64]] = field(default_factory=list)
    values: dict[str, list[Floats]] = field(default_factory=dict)
    codes: set[str] = field(default_factory=set)
    rejected: list[Rejected] = field(default_factory=list)
    sha256: str = ""


def _gather(path: Path, layout: Layout, *, found: Recognized, clock: Clock, progress: Progress | None) -> _Gathered:
    used = [*found.taken, *_run_time(found, clock)]
    texts = [one.place for one in used if one.channel.kind in {"status", "text"}]
    texts += [clock.taken.place] if clock.is_text else []
    plain = [one.place for one in (*used, clock.taken) if one.place not in texts]
    digest = hashlib.sha256()
    gathered = _Gathered()
    for block in blocks(path, layout, wanted=Wanted(tuple(plain), tuple(texts)), digest=digest, progress=progress):
        gathered.rejected += block.rejected
        gathered.rows += len(block.rejected) + len(block.lines)
        if not len(block.lines):
            continue
        gathered.raw_s.append(seconds(block.frame, clock))
        gathered.lines.append(block.lines)
        for one in used:
            cells = block.frame[f"c{one.place}"]
            if one.channel.kind == "text":
                gathered.codes |= codes_in(cells)
            elif one.channel.kind == "status":
                gathered.values.setdefault(one.channel.id, []).append(status_numbers(cells))
            else:
                gathered.values.setdefault(one.channel.id, []).append(cells.to_numpy(writable=True))
    gathered.sha256 = digest.hexdigest()
    return gathered


def _run_time(found: Recognized, clock: Clock) -> list[Taken]:
    """The engine's run time is kept beside the clock where it is not the clock itself."""
    return [one for one in found.clocks if one.channel.id == "run_time_s" and one.place != clock.taken.place][:1]


def _log(path: Path, found: Recognized, *, clock: Clock, gathered: _Gathered) -> DriveLog:
    if not gathered.raw_s:
        raise BadFile(path.name, found="no usable line of numbers", expected="at least two lines with a time")
    lines = np.concatenate(gathered.lines)
    times = timeline(np.concatenate(gathered.raw_s), lines, clock)
    rejected = sorted([*gathered.rejected, *times.rejected], key=lambda one: one.line)
    _require_enough(path, rows=gathered.rows, times=times, rejected=rejected)
    starts = distinct_stamps(times.time_s)
    signals = _signals(found, clock, gathered=gathered, times=times, starts=starts)
    record = replace(clock.taken.record, taken_as="time_s", unit=clock.unit)
    return DriveLog(
        name=path.name,
        time_s=times.time_s[starts],
        channels={name: one.values for name, one in signals.items() if one.supported},
        columns=(record, *(one.record for one in (*found.taken, *_run_time(found, clock)))),
        rejected=tuple(rejected),
        unsupported=tuple(one.note for one in signals.values() if not one.supported),
        codes=tuple(sorted(gathered.codes)),
        notes=(*times.notes, *_stamps_note(times, starts), *_notes(signals, found)),
        rows=gathered.rows,
        sha256=gathered.sha256,
    )


def _require_enough(path: Path, *, rows: int, times: Timeline, rejected: list[Rejected]) -> None:
    if len(rejected) > MOST_REJECTED * rows:
        first = rejected[0]
        found = f"{len(rejected)} of {rows} lines that can't be used, the first at line {first.line}: {first.why}"
        raise BadFile(path.name, found=found, expected="a log most of whose lines hold a time and readings")
    if len(times.time_s) < 2 or times.time_s[-1] <= 0.0:
        raise BadFile(
            path.name, found="a log whose clock never moves", expected="at least two lines at different times"
        )


def _signals(
    found: Recognized,
    clock: Clock,
    *,
    gathered: _Gathered,
    times: Timeline,
    starts: NDArray[np.int64],
) -> Mapping[str, Signal]:
    signals: dict[str, Signal] = {}
    whole = len(starts) == sum(map(len, gathered.raw_s))
    for one in (*found.taken, *_run_time(found, clock)):
        parts = gathered.values.pop(one.channel.id, None)
        if parts is None:
            continue
        raw = np.concatenate(parts)
        if not whole:
            raw = merged(raw[times.rows], starts, kind=one.channel.kind)
        signals[one.channel.id] = signal(raw, one)
    return _without_second_bank(signals)


def _without_second_bank(signals: dict[str, Signal]) -> dict[str, Signal]:
    """Trims of a second bank that never leave 0 while the first bank's move: an engine with one bank."""

    def still(name: str) -> bool:
        one = signals.get(name)
        return one is None or not one.supported or bool(np.nanmax(np.abs(one.values)) == 0.0)

    moving = not still("short_trim_1_pct") or not still("long_trim_1_pct")
    if moving and still("short_trim_2_pct") and still("long_trim_2_pct"):
        for name in ("short_trim_2_pct", "long_trim_2_pct"):
            if name in signals:
                signals[name] = replace(signals[name], supported=False, note=f"{name}: always 0, one bank only")
    return signals


def _stamps_note(times: Timeline, starts: NDArray[np.int64]) -> tuple[str, ...]:
    rows, stamps = len(times.time_s), len(starts)
    if rows < 1.1 * stamps:
        return ()
    return (f"{rows} lines share {stamps} stamps of the clock; lines of one stamp are averaged",)


def _notes(signals: Mapping[str, Signal], found: Recognized) -> tuple[str, ...]:
    said = tuple(one.note for one in signals.values() if one.supported and one.note)
    opened = tuple(f"not used: {one.question} (could be {one_of(one.choices)})" for one in found.open)
    return said + opened
