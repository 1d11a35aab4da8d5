"""A recorded drive from a file of any kind we read: CSV in any plain layout, or ASAM MDF4 with the optional extra."""

from pathlib import Path

from lostgallon.readers.drive_blocks import Progress
from lostgallon.readers.drive_log import read_drive_csv, write_csv_columns
from lostgallon.shop.driven import DriveLog

MDF_SUFFIXES = {".mf4", ".mdf", ".mdf4"}


def read_drive(
    path: Path, *, columns: Path | None = None, speed_unit: str | None = None, progress: Progress | None = None
) -> DriveLog:
    """Read a log by its kind.

    Args:
        path: The file.
        columns: A columns file that says which column is what; None to recognize them.
        speed_unit: The unit of the road speed, as somebody said, where the log leaves it open.
        progress: Told how far the reading is.

    Raises:
        BadFile: If the file can't be used.
    """
    if path.suffix.lower() in MDF_SUFFIXES:
        from lostgallon.readers.drive_mdf import read_drive_mdf  # noqa: PLC0415 - asammdf is an optional extra

        return read_drive_mdf(path, columns=columns)
    return read_drive_csv(path, columns=columns, speed_unit=speed_unit, progress=progress)


def write_columns(into: Path, log: Path) -> None:
    """Write a columns file for a log of any kind.

    Raises:
        BadFile: If the log can't be read or the file can't be written.
    """
    if log.suffix.lower() in MDF_SUFFIXES:
        from lostgallon.readers.drive_mdf import write_mdf_columns  # noqa: PLC0415 - asammdf is an optional extra

        write_mdf_columns(into, log)
        return
    write_csv_columns(into, log)
