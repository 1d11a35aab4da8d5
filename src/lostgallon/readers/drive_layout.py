"""How a log lies in its file: encoding, separator, decimal sign, heading, a row of units, the first data line."""

import codecs
import csv
import io
import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from lostgallon.shop.trouble import BadFile

HEAD_BYTES = 1 << 17
SEPARATORS = {";": "semicolon", "\t": "tab", ",": "comma", "|": "upright bar"}
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?")
_WITH_UNIT = re.compile(r"[+-]?\d+(?:[.,]\d+)?\s*(?:°|%|[a-zA-Z])[\w/°%]*")
_CLOCK = re.compile(r"\d{1,4}[-:/.]\d{1,2}[-:/.T ].*|\d{1,2}:\d{2}.*")
_BINARY = {
    b"PK\x03\x04": "a spreadsheet or zip archive",
    b"\x1f\x8b": "a gzip archive",
    b"%PDF": "a PDF",
    b"\x89PNG": "a picture",
    b"SQLite format 3": "a database",
}
EXPECTED = "a CSV log: a heading line, then numbers separated by comma, semicolon or tab"


@dataclass(frozen=True)
class Layout:
    """Where and how the data lie. `head` holds the first data rows as text, for the recognition of columns.

    `cells` is the number of separators a data line has, plus one; `offset` the byte where data begin, `line` the
    line number of the first data line; `units` stands beside `headings`, empty where the file gives none.
    """

    encoding: str
    separator: str
    decimal: str
    headings: tuple[str, ...]
    units: tuple[str, ...]
    cells: int
    offset: int
    line: int
    head: tuple[tuple[str, ...], ...]


def read_layout(path: Path) -> Layout:
    """The layout of a log, from its first 128 kB.

    Raises:
        BadFile: If the file is missing, empty, binary, or has no heading above its numbers.
    """
    raw = _first_bytes(path)
    encoding = _encoding(raw, path)
    text = _decoded(raw, encoding)
    lines = text.splitlines(keepends=True)
    if len(raw) == HEAD_BYTES and len(lines) > 1:
        lines = lines[:-1]
    separator = _separator(lines, path)
    rows = [_split(line, separator) for line in lines]
    first = _first_data_row(rows, path)
    heading = _heading_row(rows, first, path)
    units = _units_row(rows, heading, first)
    data = [row for row in rows[first:] if any(cell for cell in row)]
    cells = Counter(len(row) for row in data[:500]).most_common(1)[0][0]
    names = tuple(rows[heading])
    _require_cells(names, data, cells, _Place(path, heading + 1))
    before = "".join(lines[:first])
    prefix = len(codecs.BOM_UTF8) if raw.startswith(codecs.BOM_UTF8) else 0
    return Layout(
        encoding=encoding,
        separator=separator,
        decimal=_decimal(data, separator),
        headings=names,
        units=units,
        cells=cells,
        offset=prefix + len(before.encode("utf-8" if encoding.startswith("utf") else encoding)),
        line=first + 1,
        head=tuple(tuple(row) for row in data[:400] if len(row) == cells),
    )


@dataclass(frozen=True)
class _Place:
    path: Path
    line: int

    def __str__(self) -> str:
        return f"{self.path.name} line {self.line}"


def _first_bytes(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            raw = file.read(HEAD_BYTES)
    except FileNotFoundError:
        raise BadFile(str(path), found="no such file", expected=EXPECTED) from None
    except IsADirectoryError:
        raise BadFile(str(path), found="a folder", expected=EXPECTED) from None
    except OSError as problem:
        raise BadFile(str(path), found=f"a file that can't be read ({problem.strerror})", expected=EXPECTED) from None
    if not raw.strip():
        raise BadFile(path.name, found="an empty file", expected=EXPECTED)
    for mark, what in _BINARY.items():
        if raw.startswith(mark):
            raise BadFile(path.name, found=what, expected=f"{EXPECTED}; save it as CSV first")
    return raw


def _encoding(raw: bytes, path: Path) -> str:
    for mark, name in ((codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"), (codecs.BOM_UTF8, "utf-8")):
        if raw.startswith(mark):
            return name
    if b"\0" in raw[:4096]:
        raise BadFile(path.name, found="binary data", expected=EXPECTED)
    try:
        codecs.getincrementaldecoder("utf-8")().decode(raw)
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def _decoded(raw: bytes, encoding: str) -> str:
    text = codecs.getincrementaldecoder(encoding)(errors="replace").decode(raw)
    return text.removeprefix("\ufeff")


def _separator(lines: list[str], path: Path) -> str:
    """The separator that gives the same number of cells, more than one, on most lines."""
    best, best_score = "", 0.0
    sample = [line for line in lines[:400] if line.strip()]
    for separator in SEPARATORS:
        counts = Counter(len(_split(line, separator)) for line in sample)
        cells, lines_with = max(counts.items(), key=lambda item: (item[0] > 1) * item[1])
        score = lines_with / len(sample) if cells > 1 else 0.0
        # A decimal comma also cuts every line the same way, so the earlier separator wins a tie.
        if score > best_score + 0.05:
            best, best_score = separator, score
    if not best:
        shown = sample[0].strip()[:40]
        raise BadFile(f"{path.name} line 1", found=repr(shown), expected=EXPECTED)
    return best


def _split(line: str, separator: str) -> list[str]:
    if '"' in line:
        line_cells = next(csv.reader(io.StringIO(line), delimiter=separator), [])
    else:
        line_cells = line.rstrip("\r\n").split(separator)
    return [cell.strip().strip("\u00a0") for cell in line_cells]


def _is_value(cell: str) -> bool:
    return bool(_NUMBER.fullmatch(cell) or _CLOCK.fullmatch(cell))


def _value_share(row: list[str]) -> float:
    filled = [cell for cell in row if cell]
    return sum(_is_value(cell) for cell in filled) / len(filled) if filled else 0.0


def _first_data_row(rows: list[list[str]], path: Path) -> int:
    widths = Counter(len(row) for row in rows if len(row) > 1)
    width = widths.most_common(1)[0][0]
    for place, row in enumerate(rows):
        if abs(len(row) - width) <= 1 and _value_share(row) >= 0.4 and sum(map(_is_value, row)) >= 2:
            return place
    joined = next((cell for row in rows[1:] for cell in row if _WITH_UNIT.fullmatch(cell)), "")
    if joined:
        expected = "a number alone in every cell, its unit in the heading or in a row below the heading"
        raise BadFile(
            path.name, found=f"cells that hold a number and its unit together ({joined!r})", expected=expected
        )
    last = _Place(path, len(rows))
    raise BadFile(str(last), found="a heading and no line of numbers below it", expected=EXPECTED)


def _heading_row(rows: list[list[str]], first: int, path: Path) -> int:
    """The nearest line above the data that is as wide as they are; a row of units below it is passed over."""
    width = len(rows[first])
    wide = [
        place
        for place in range(first - 1, -1, -1)
        if sum(1 for cell in rows[place] if cell) >= max(2, 0.6 * width) and _value_share(rows[place]) < 0.4
    ]
    if not wide:
        shown = ", ".join(rows[first][:3])
        raise BadFile(
            str(_Place(path, first + 1)),
            found=f"numbers ({shown}, ...) and no heading above them",
            expected="a heading line that names the columns",
        )
    if len(wide) > 1 and _looks_like_units(rows[wide[0]]):
        return wide[1]
    return wide[0]


def _looks_like_units(row: list[str]) -> bool:
    from lostgallon.readers.drive_units import is_unit  # noqa: PLC0415 - the two modules describe one table

    filled = [cell.strip("()[]") for cell in row if cell.strip("()[]- ")]
    return bool(filled) and sum(is_unit(cell) for cell in filled) >= 0.6 * len(filled)


def _units_row(rows: list[list[str]], heading: int, first: int) -> tuple[str, ...]:
    width = len(rows[heading])
    for row in rows[heading + 1 : first]:
        if _looks_like_units(row):
            return tuple(cell.strip("()[]") for cell in (row + [""] * width)[:width])
    return ("",) * width


def _require_cells(names: tuple[str, ...], data: list[list[str]], cells: int, place: _Place) -> None:
    """Data lines may end in an empty cell more or less than the heading; anything else is a shifted table."""
    spare = cells - len(names)
    filled = [row for row in data if len(row) == cells]
    if spare > 0 and any(any(row[len(names) :]) for row in filled):
        raise BadFile(str(place), found=f"{len(names)} headings over {cells} cells a line", expected="a heading a cell")
    if spare < 0 and any(names[cells:]):
        raise BadFile(str(place), found=f"{len(names)} headings over {cells} cells a line", expected="a heading a cell")


def _decimal(data: list[list[str]], separator: str) -> str:
    cells = [cell for row in data[:200] for cell in row]
    commas = sum(bool(re.fullmatch(r"[+-]?\d*,\d+", cell)) for cell in cells)
    points = sum(bool(re.fullmatch(r"[+-]?\d*\.\d+", cell)) for cell in cells)
    return "," if commas > points and (separator != "," or commas) else "."
