"""Files of many vehicles as columns of one form, recognized as in the fill-up reader and read while they stream.

The first lines of a file go through the reader's own rules (which column is what, units, commas, order of the date);
what they say is then done to whole columns.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from lostgallon.readers.fills_cells import read_dates, read_numbers
from lostgallon.readers.fills_columns import DISTANCE_UNITS, VOLUME_UNITS, Columns, column, find_columns, unit_of
from lostgallon.readers.fills_rows import NO, YES
from lostgallon.readers.fills_sheet import Line, Sheet, cut, decode, shown
from lostgallon.shop.filled import ColumnTaken, FillHints
from lostgallon.shop.trouble import BadFile, one_of

EXAMPLE = "vehicle,date,odometer_mi,volume_gal"
NEEDED = ("vehicle", "date", "volume")
SAMPLE_BYTES, SAMPLE_ROWS = 200_000, 2000
SEPARATORS = {"tabs": "\t", "semicolons": ";", "commas": ",", "strokes": "|"}
UNITS = {"odometer": DISTANCE_UNITS, "distance": DISTANCE_UNITS, "volume": VOLUME_UNITS}
FORM = ("vehicle", "date", "odometer_km", "distance_km", "volume_l", "full", "region", "body")
"""The one form: text, a day, numbers (null where nothing is said), whether filled to the first click, two texts."""


@dataclass(frozen=True)
class Recognized:
    """One file as a lazy frame in FORM, and its columns as taken."""

    rows: pl.LazyFrame
    taken: tuple[ColumnTaken, ...]


@dataclass(frozen=True)
class _Seen:
    """A file before it is read: its frame, the sample's columns, and the frame's name for each."""

    path: Path
    frame: pl.LazyFrame
    columns: Columns
    names: Sequence[str]
    hints: FillHints

    def cells(self, role: str) -> tuple[str, ...]:
        return column(self.columns.rows, self.columns.at[role])

    def raw(self, role: str) -> pl.Expr:
        return pl.col(self.names[self.columns.at[role]])

    def heading(self, role: str) -> str:
        return next(each.heading for each in self.columns.taken if each.taken_as == role)


def recognized(path: Path, hints: FillHints) -> Recognized:
    """One CSV or Parquet file of many vehicles.

    Args:
        path: The file.
        hints: Units and order of dates where the file leaves them open.

    Raises:
        BadFile: If it can't be read, or lacks a column, a unit or an order of day and month.
    """
    seen = _parquet(path, hints) if path.suffix.lower() in {".parquet", ".pq"} else _text(path, hints)
    at = seen.columns.at
    missing = [role for role in NEEDED if role not in at]
    if not {"odometer", "distance"} & at.keys():
        missing.append("odometer or distance")
    if missing:
        raise BadFile(str(path), found=f"no column for {one_of(missing)}", expected=EXAMPLE)
    date, how_dated = _date(seen)
    chosen = [seen.raw("vehicle").cast(pl.String).str.strip_chars().alias("vehicle"), date]
    said = {"date": ("", how_dated)}
    for role, name in (("odometer", "odometer_km"), ("distance", "distance_km"), ("volume", "volume_l")):
        if role not in at:
            chosen.append(pl.lit(None, dtype=pl.Float64).alias(name))
            continue
        unit, how = _unit(seen, role)
        said[role] = (unit, how)
        chosen.append((_number(seen, role) * UNITS[role][unit]).alias(name))
    chosen.append(_full(seen))
    chosen.extend(
        (seen.raw(role).cast(pl.String) if role in at else pl.lit(None, dtype=pl.String)).alias(role)
        for role in ("region", "body")
    )
    return Recognized(seen.frame.select(chosen), tuple(_said(each, said) for each in seen.columns.taken))


def _text(path: Path, hints: FillHints) -> _Seen:
    try:
        with path.open("rb") as file:
            sample = file.read(SAMPLE_BYTES)
            whole = not file.read(1)
    except OSError:
        raise _unreadable(path) from None
    text = decode(sample if whole else sample.rpartition(b"\n")[0], str(path))
    sheet = cut(text, str(path))
    if sheet.cut_by not in SEPARATORS:
        raise BadFile(str(path), found=f"columns cut by {sheet.cut_by}", expected="CSV or Parquet of fill-ups")
    columns = _one_vehicle_climbs(sheet)
    if not columns.rows:
        raise BadFile(str(path), found="a heading and no rows", expected=f"rows under {EXAMPLE}")
    frame = pl.scan_csv(
        path,
        separator=SEPARATORS[sheet.cut_by],
        has_header=False,
        skip_lines=columns.rows[0].number - 1,
        infer_schema=False,
        comment_prefix="#",
        encoding="utf8-lossy",
        truncate_ragged_lines=True,
    )
    return _Seen(path, frame, columns, _names(path, frame), hints)


def _parquet(path: Path, hints: FillHints) -> _Seen:
    frame = pl.scan_parquet(path)
    names = _names(path, frame)
    rows = frame.head(SAMPLE_ROWS).collect().rows()
    lines = [Line(0, tuple(names)), *(Line(nth, tuple(map(shown, row))) for nth, row in enumerate(rows, 1))]
    return _Seen(path, frame, _one_vehicle_climbs(Sheet(tuple(lines), "columns")), names, hints)


def _names(path: Path, frame: pl.LazyFrame) -> list[str]:
    try:
        return frame.collect_schema().names()
    except (OSError, pl.exceptions.PolarsError):
        raise _unreadable(path) from None


def _unreadable(path: Path) -> BadFile:
    return BadFile(str(path), found="a file that can't be read", expected="CSV or Parquet of fill-ups")


def _one_vehicle_climbs(sheet: Sheet) -> Columns:
    """The columns of a sheet; whether a figure climbs is asked of its first vehicle alone."""
    columns = find_columns(sheet)
    if "vehicle" not in columns.at or not columns.rows:
        return columns
    cells = column(columns.rows, columns.at["vehicle"])
    head = sheet.lines[: len(sheet.lines) - len(columns.rows)]
    own = [row for row, cell in zip(columns.rows, cells, strict=True) if cell == cells[0]]
    judged = find_columns(Sheet((*head, *own), sheet.cut_by)) if head else columns
    return Columns(judged.at, judged.unit, columns.rows, judged.taken, columns.skipped)


def _unit(seen: _Seen, role: str) -> tuple[str, str]:
    """The unit of a column and how it is known: its heading, else its cells, else told."""
    numbers, commas = read_numbers(seen.cells(role), role)
    named = {unit_of(cell.unit) for cell in numbers if cell and unit_of(cell.unit)}
    told = seen.hints.volume_unit if role == "volume" else seen.hints.distance_unit
    unit = seen.columns.unit[role] or (next(iter(named)) if len(named) == 1 else "") or told or ""
    if unit not in UNITS[role]:
        option = "--volume-in" if role == "volume" else "--distance-in"
        raise BadFile(
            str(seen.path),
            found=f"column {seen.heading(role)!r} without a unit",
            expected=f"{role}_{next(iter(UNITS[role]))} or {option}",
        )
    return unit, commas


def _number(seen: _Seen, role: str) -> pl.Expr:
    raw = seen.raw(role)
    if seen.frame.collect_schema()[seen.names[seen.columns.at[role]]].is_numeric():
        return raw.cast(pl.Float64)
    _, commas = read_numbers(seen.cells(role), role)
    digits = raw.str.extract(r"([-+]?[\d.,][\d.,' \u{00a0}\u{202f}]*)").str.replace_all(r"[' \u{00a0}\u{202f}]", "")
    digits = digits.str.strip_chars_end(".,")
    if commas == "decimal comma":
        digits = digits.str.replace_all(".", "", literal=True).str.replace_all(",", ".", literal=True)
    else:
        digits = digits.str.replace_all(",", "", literal=True)
    return digits.cast(pl.Float64, strict=False)


def _date(seen: _Seen) -> tuple[pl.Expr, str]:
    kind = seen.frame.collect_schema()[seen.names[seen.columns.at["date"]]]
    if kind == pl.Date or kind == pl.Datetime:  # noqa: PLR1714 - a kind with a time zone is no member of a set
        return seen.raw("date").cast(pl.Date).alias("date"), "a column of days"
    told = read_dates(seen.cells("date"), seen.hints.date_order)
    if told.open_orders and seen.hints.date_order is None:
        raise BadFile(
            str(seen.path),
            found=f"dates like {next(filter(None, seen.cells('date')))!r} that read two ways",
            expected=one_of(f"--dates {each}-first" for each in told.open_orders),
        )
    if not any(told.dates):
        raise BadFile(str(seen.path), found="no date that can be read", expected="dates like 2025-01-31 or 1/31/2025")
    order = told.why.partition(" first")[0]
    return (
        seen.raw("date")
        .cast(pl.String)
        .map_batches(_days(order), return_dtype=pl.Date, is_elementwise=True)
        .alias("date"),
        told.why,
    )


def _days(order: str) -> Callable[[pl.Series], pl.Series]:
    """Reads each different text of a column once, by the reader's rules."""

    def read(texts: pl.Series) -> pl.Series:
        different = texts.unique().drop_nulls()
        days = read_dates(different.to_list(), order if order in {"year", "month", "day"} else None).dates  # type: ignore[arg-type] # one of the words
        return texts.replace_strict(different, pl.Series(days, dtype=pl.Date), default=None, return_dtype=pl.Date)

    return read


def _full(seen: _Seen) -> pl.Expr:
    """Whether a fill went to the first click: as a column of its own says; yes where none does."""
    for role, partial in (("to_first_click", NO), ("partial", YES)):
        if role in seen.columns.at:
            words = seen.raw(role).cast(pl.String).str.strip_chars().str.to_lowercase()
            return (~words.is_in(sorted(partial)).fill_null(value=False)).alias("full")
    return pl.lit(value=True).alias("full")


def _said(taken: ColumnTaken, said: dict[str, tuple[str, str]]) -> ColumnTaken:
    unit, how = said.get(taken.taken_as, ("", ""))
    return ColumnTaken(taken.taken_as, taken.heading, unit or taken.unit, "; ".join(filter(None, (taken.why, how))))


def all_recognized(paths: Sequence[Path], hints: FillHints) -> Recognized:
    """Several files as one.

    Raises:
        BadFile: As recognized.
    """
    each = [recognized(path, hints) for path in paths]
    names = [f"{path.name}: " if len(paths) > 1 else "" for path in paths]
    taken = [
        ColumnTaken(one.taken_as, re.sub("^", name, one.heading), one.unit, one.why)
        for name, file in zip(names, each, strict=True)
        for one in file.taken
    ]
    return Recognized(pl.concat([file.rows for file in each]), tuple(taken))
