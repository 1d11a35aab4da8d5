"""Channels that each come with stamps of their own, brought onto one clock: MDF4, and logs with one reading a line."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from lostgallon.readers.drive_columns import Taken, by_map, recognize
from lostgallon.readers.drive_layout import Layout
from lostgallon.readers.drive_map import read_map, write_map
from lostgallon.readers.drive_signals import signal
from lostgallon.shop.driven import DriveLog
from lostgallon.shop.filled import ColumnTaken, Rejected
from lostgallon.shop.spread import Floats
from lostgallon.shop.trouble import BadFile

SAMPLE = 600


@dataclass(frozen=True)
class Series:
    """One channel: its name and unit as written, its stamps and readings. Both shape (samples,)."""

    name: str
    unit: str
    time_s: Floats
    values: Floats


@dataclass(frozen=True)
class Source:
    """Where series are from: the file, the record of its clock, lines not used, remarks, how many lines, its hash."""

    path: Path
    clock: ColumnTaken
    rejected: tuple[Rejected, ...]
    notes: tuple[str, ...]
    rows: int
    sha256: str


def log_of(series: Sequence[Series], source: Source, *, columns: Path | None) -> DriveLog:
    """The log of a set of series, on the stamps of all of them together.

    Args:
        series: The channels.
        source: Where they are from.
        columns: A columns file; None to recognize them.

    Raises:
        BadFile: If nothing in it is known or the clock never moves.
    """
    layout = _layout(series)
    found = by_map(layout, read_map(columns, layout)) if columns else recognize(layout, _sample(series))
    used = [one for one in found.taken if one.channel.kind not in {"text", "status"}]
    if not used:
        names = ", ".join(layout.headings[:6])
        raise BadFile(
            source.path.name, found=f"the channels {names}", expected="names as SAE J1979 gives them, or a columns file"
        )
    stamps = np.unique(np.concatenate([series[one.place].time_s for one in used]))
    if len(stamps) < 2 or stamps[-1] <= stamps[0]:
        raise BadFile(source.path.name, found="a clock that never moves", expected="at least two stamps")
    read = {one.channel.id: signal(_on(series[one.place], stamps), one) for one in used}
    return DriveLog(
        name=source.path.name,
        time_s=np.asarray(stamps - stamps[0], np.float64),
        channels={name: one.values for name, one in read.items() if one.supported},
        columns=(source.clock, *_records(used)),
        rejected=source.rejected,
        unsupported=tuple(one.note for one in read.values() if not one.supported),
        notes=(*source.notes, *(one.note for one in read.values() if one.supported and one.note)),
        rows=source.rows,
        sha256=source.sha256,
    )


def write_series_map(path: Path, series: Sequence[Series], *, log: str) -> None:
    """Write a columns file for a set of series.

    Raises:
        BadFile: If it can't be written.
    """
    layout = _layout(series)
    write_map(path, layout, found=recognize(layout, _sample(series)), log=log)


def _records(used: Sequence[Taken]) -> tuple[ColumnTaken, ...]:
    return tuple(one.record for one in used)


def _layout(series: Sequence[Series]) -> Layout:
    """The series as the columns of a table, for the one way of recognizing columns."""
    names, units = tuple(one.name for one in series), tuple(one.unit for one in series)
    return Layout("utf-8", ",", ".", names, units, len(names), 0, 1, ())


def _sample(series: Sequence[Series]) -> list[tuple[str, ...]]:
    """Readings from the whole length of every channel, as the cells of a table."""
    columns = []
    for one in series:
        at = np.linspace(0, len(one.values) - 1, SAMPLE).astype(int)
        columns.append([repr(float(value)) for value in one.values[at]])
    return list(zip(*columns, strict=True))


def _on(one: Series, stamps: Floats) -> Floats:
    """A channel at the common stamps, NaN where it has no reading of its own."""
    values = np.full(len(stamps), np.nan)
    values[np.searchsorted(stamps, one.time_s)] = one.values
    return values
