"""A recorded drive from an ASAM MDF4 file, through asammdf (optional extra `mdf`); each channel has its own stamps."""

import hashlib
from pathlib import Path

from lostgallon.readers.drive_series import Source, log_of, write_series_map
from lostgallon.readers.mdf_channels import read_channels
from lostgallon.shop.driven import DriveLog
from lostgallon.shop.filled import ColumnTaken


def read_drive_mdf(path: Path, *, columns: Path | None = None) -> DriveLog:
    """Read an MDF4 measurement onto one clock: the stamps of all its channels together.

    Args:
        path: The file.
        columns: A columns file; None to recognize the channels.

    Raises:
        BadFile: If the file can't be used or the extra is not there.
    """
    series = read_channels(path)
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
    write_series_map(into, read_channels(path), log=path.name)
