"""A recorded drive from an ASAM MDF4 file, through asammdf (optional extra `mdf`); each channel has its own stamps."""

import hashlib
from pathlib import Path

import numpy as np

from lostgallon.readers.drive_series import Series, Source, log_of, write_series_map
from lostgallon.shop.driven import DriveLog
from lostgallon.shop.filled import ColumnTaken
from lostgallon.shop.trouble import BadFile

EXPECTED = "an ASAM MDF4 measurement with engine and road speed"


def read_drive_mdf(path: Path, *, columns: Path | None = None) -> DriveLog:
    """Read an MDF4 measurement onto one clock: the stamps of all its channels together.

    Args:
        path: The file.
        columns: A columns file; None to recognize the channels.

    Raises:
        BadFile: If the file can't be used or the extra is not there.
    """
    series = _series(path)
    source = Source(
        path=path,
        clock=ColumnTaken("time_s", "stamps of the measurement", "s", "MDF keeps them with every channel"),
        rejected=(),
        notes=(),
        rows=max(len(one.values) for one in series),
        sha256=hashlib.sha256(path.read_bytes()).hexdigest(),
    )
    return log_of(series, source, columns=columns)


def write_mdf_columns(into: Path, path: Path) -> None:
    """Write a columns file for an MDF4 measurement.

    Raises:
        BadFile: If one of the two can't be used.
    """
    write_series_map(into, _series(path), log=path.name)


def _series(path: Path) -> list[Series]:
    if not path.is_file():
        raise BadFile(str(path), found="no such file", expected=EXPECTED)
    try:
        from asammdf import MDF  # noqa: PLC0415 - optional and slow to import
    except ImportError:
        raise BadFile(path.name, found="an MDF file", expected="the extra: pip install 'lostgallon[mdf]'") from None
    try:
        with MDF(path) as measurement:
            found = [
                Series(
                    str(one.name), str(one.unit or ""), np.asarray(one.timestamps), np.asarray(one.samples, np.float64)
                )
                for one in measurement.iter_channels()
                if len(one.samples) and one.samples.dtype.kind in "iuf"
            ]
    except Exception as problem:  # noqa: BLE001 - asammdf raises whatever the bytes of a broken file lead to
        reason = str(problem).splitlines()[0] if str(problem) else type(problem).__name__
        raise BadFile(path.name, found=f"a file that can't be read ({reason})", expected=EXPECTED) from None
    if not found:
        raise BadFile(path.name, found="no channel with numbers", expected=EXPECTED)
    return found
