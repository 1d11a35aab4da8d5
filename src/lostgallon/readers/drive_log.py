"""A recorded drive from a CSV file in any plain layout: what its columns are is decided here, and asked where open."""

from pathlib import Path

from lostgallon.readers.drive_blocks import Progress, sample_rows
from lostgallon.readers.drive_clock import Clock, choose_clock
from lostgallon.readers.drive_columns import Recognized, by_map, recognize
from lostgallon.readers.drive_layout import Layout, read_layout
from lostgallon.readers.drive_long import one_reading_a_line, read_long
from lostgallon.readers.drive_map import read_map, write_map
from lostgallon.readers.drive_series import log_of, write_series_map
from lostgallon.readers.drive_speed import can_be_settled, open_speed, settled_unit, with_speed
from lostgallon.readers.drive_table import Table, read_table
from lostgallon.shop.driven import DriveLog
from lostgallon.shop.trouble import BadFile, one_of


def read_drive_csv(
    path: Path, *, columns: Path | None = None, speed_unit: str | None = None, progress: Progress | None = None
) -> DriveLog:
    """Read a log.

    Args:
        path: The file.
        columns: A columns file that says which column is what; None to recognize them.
        speed_unit: The unit of the road speed, as somebody said, where the log leaves it open.
        progress: Told how far the reading is.

    Raises:
        BadFile: If the file can't be used; says where, what was found and what was expected.
    """
    layout = read_layout(path)
    sample = sample_rows(path, layout)
    if places := one_reading_a_line(layout):
        clock = _clock(path, layout, found=recognize(layout, sample), sample=sample)
        return log_of(*read_long(path, layout, places, clock=clock, progress=progress), columns=columns)
    found = by_map(layout, read_map(columns, layout)) if columns else recognize(layout, sample)
    clock = _clock(path, layout, found=found, sample=sample)
    opened = open_speed(found)
    if opened is not None and speed_unit in opened.choices:
        found = with_speed(found, opened, speed_unit, why="no unit stated; chosen when the log was sent")
    found = _settle_speed(path, layout, found=found, clock=clock)
    if not found.taken:
        raise BadFile(
            path.name, found=f"the headings {_shown(layout)}", expected="names as SAE J1979 gives them" + _HOW
        )
    return read_table(Table(path, layout, found, clock), progress=progress)


def write_csv_columns(path: Path, log: Path) -> None:
    """Write a columns file for a log.

    Args:
        path: Where to write it.
        log: The log.

    Raises:
        BadFile: If the log can't be read or the columns file can't be written.
    """
    layout = read_layout(log)
    sample = sample_rows(log, layout)
    found = recognize(layout, sample)
    if places := one_reading_a_line(layout):
        clock = _clock(log, layout, found=found, sample=sample)
        write_series_map(path, read_long(log, layout, places, clock=clock, progress=None)[0], log=log.name)
        return
    write_map(path, layout, found=found, log=log.name)


_HOW = ", or a columns file (--write-columns MAP.toml writes one to edit, --columns MAP.toml reads it)"


def _shown(layout: Layout) -> str:
    names = [text.strip() for text in layout.headings if text.strip()]
    return ", ".join(names[:6]) + (", ..." if len(names) > 6 else "")


def _clock(path: Path, layout: Layout, *, found: Recognized, sample: list[tuple[str, ...]]) -> Clock:
    clock = choose_clock(found.clocks, sample, layout.decimal)
    if clock is None:
        what = "no column that is a clock" if not found.clocks else "a time column that does not run forward"
        raise BadFile(
            path.name,
            found=f"{what} among {_shown(layout)}",
            expected="a run time, an elapsed time or a date and time (a row count is no clock)" + _HOW,
        )
    return clock


def _settle_speed(path: Path, layout: Layout, *, found: Recognized, clock: Clock) -> Recognized:
    """A speed without a unit is settled by the recorder's own distance where it has one, else asked for."""
    opened = open_speed(found)
    if opened is None:
        return found
    if can_be_settled(found):
        tried = with_speed(found, opened, "m/s", why="to be settled")
        log = read_table(Table(path, layout, tried, clock))
        unit = settled_unit(log.time_s, log.channels, opened.choices)
        if unit is not None:
            why = f"no unit stated; only in {unit} does speed over time give the recorder's distance"
            return with_speed(found, opened, unit, why=why)
    raise BadFile(path.name, found=opened.question, expected=one_of(opened.choices) + _HOW)
