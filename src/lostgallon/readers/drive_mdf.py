"""A recorded drive from an ASAM MDF4 file, through asammdf (optional extra `mdf`); each channel has its own stamps."""

import hashlib
from pathlib import Path
from typing import Any

import numpy as np

from lostgallon.readers.drive_columns import Taken, by_map, recognize
from lostgallon.readers.drive_layout import Layout
from lostgallon.readers.drive_map import read_map
from lostgallon.readers.drive_signals import signal
from lostgallon.shop.driven import DriveLog
from lostgallon.shop.filled import ColumnTaken
from lostgallon.shop.spread import Floats
from lostgallon.shop.trouble import BadFile

SAMPLE = 600
EXPECTED = "an ASAM MDF4 measurement with engine and road speed"


def read_drive_mdf(path: Path, *, columns: Path | None = None) -> DriveLog:
    """Read an MDF4 measurement onto one clock: the stamps of all its channels together.

    Args:
        path: The file.
        columns: A columns file; None to recognize the channels.

    Raises:
        BadFile: If the file can't be used or the extra is not there.
    """
    signals = _signals(path)
    layout = _layout(signals)
    sample = _sample(signals)
    found = by_map(layout, read_map(columns, layout)) if columns else recognize(layout, sample)
    if not found.taken:
        names = ", ".join(layout.headings[:6])
        raise BadFile(path.name, found=f"the channels {names}", expected="names as SAE J1979 gives them")
    used = [one for one in found.taken if one.channel.kind != "text"]
    stamps = np.unique(np.concatenate([signals[one.place].timestamps for one in used]))
    read = {one.channel.id: signal(_on(signals[one.place], stamps), one) for one in used}
    if len(stamps) < 2 or stamps[-1] <= stamps[0]:
        raise BadFile(path.name, found="a clock that never moves", expected="at least two stamps")
    return DriveLog(
        name=path.name,
        time_s=np.asarray(stamps - stamps[0], np.float64),
        channels={name: one.values for name, one in read.items() if one.supported},
        columns=(ColumnTaken("time_s", "stamps of the measurement", "s", "MDF keeps them"), *_records(used)),
        rejected=(),
        unsupported=tuple(one.note for one in read.values() if not one.supported),
        notes=tuple(one.note for one in read.values() if one.supported and one.note),
        rows=len(stamps),
        sha256=hashlib.sha256(path.read_bytes()).hexdigest(),
    )


def _records(used: list[Taken]) -> tuple[ColumnTaken, ...]:
    return tuple(one.record for one in used)


def _signals(path: Path) -> list[Any]:
    try:
        from asammdf import MDF  # noqa: PLC0415 - optional and slow to import
    except ImportError:
        raise BadFile(path.name, found="an MDF file", expected="the extra: pip install 'lostgallon[mdf]'") from None
    if not path.is_file():
        raise BadFile(str(path), found="no such file", expected=EXPECTED)
    try:
        with MDF(path) as measurement:
            found = [one for one in measurement.iter_channels() if len(one.samples) and one.samples.dtype.kind in "iuf"]
    except Exception as problem:  # noqa: BLE001 - asammdf raises whatever the bytes of a broken file lead to
        reason = str(problem).splitlines()[0] if str(problem) else type(problem).__name__
        raise BadFile(path.name, found=f"a file that can't be read ({reason})", expected=EXPECTED) from None
    if not found:
        raise BadFile(path.name, found="no channel with numbers", expected=EXPECTED)
    return found


def _layout(signals: list[Any]) -> Layout:
    names = tuple(str(one.name) for one in signals)
    units = tuple(str(one.unit or "") for one in signals)
    return Layout("utf-8", ",", ".", names, units, len(names), 0, 1, ())


def _sample(signals: list[Any]) -> list[tuple[str, ...]]:
    """Readings from the whole length of every channel, as the cells of a table."""
    columns = []
    for one in signals:
        at = np.linspace(0, len(one.samples) - 1, SAMPLE).astype(int)
        columns.append([repr(float(value)) for value in one.samples[at]])
    return list(zip(*columns, strict=True))


def _on(one: Any, stamps: Floats) -> Floats:
    """A channel at the common stamps, NaN where it has no sample of its own."""
    values = np.full(len(stamps), np.nan)
    values[np.searchsorted(stamps, one.timestamps)] = np.asarray(one.samples, np.float64)
    return values
