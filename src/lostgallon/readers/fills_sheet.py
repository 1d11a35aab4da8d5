"""Any kind of fill-up file as lines of cells: delimited text, JSON lines, a spreadsheet, pasted text."""

import csv
import json
import re
from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from io import BytesIO
from pathlib import Path

from lostgallon.shop.filled import Rejected
from lostgallon.shop.trouble import BadFile

SPREADSHEETS = (".xlsx", ".ods", ".xls", ".xlsb")
_DELIMITERS = {"\t": "tabs", ";": "semicolons", ",": "commas", "|": "strokes"}
_WORD = re.compile(r"\S+")
_UNIT_WORD = re.compile(r"(?i)(?:mi|miles?|km|gal(?:lons?)?|l|lit(?:er|re)s?|deg[fc]|°[fc]|[fc])\.?")


@dataclass(frozen=True)
class Line:
    """One line of a sheet, numbered from 1 as an editor shows it."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Sheet:
    """A file as lines of cells, with how it was cut and the lines that hold no row."""

    lines: tuple[Line, ...]
    cut_by: str
    skipped: tuple[Rejected, ...] = ()


def read_sheet(path: Path) -> Sheet:
    """A file as lines of cells.

    Raises:
        BadFile: If there is no such file, it is empty, or it is neither text nor a spreadsheet.
    """
    try:
        content = path.read_bytes()
    except OSError as trouble:
        reason = trouble.strerror or "a file that can't be read"
        raise BadFile(str(path), found=reason.lower(), expected="a file of fill-ups") from None
    if path.suffix.lower() in SPREADSHEETS:
        return _spreadsheet(content, path.name)
    return cut(decode(content, path.name), path.name)


def cut(text: str, name: str) -> Sheet:
    """Text as lines of cells: JSON lines, delimited, or words apart.

    Raises:
        BadFile: If the text holds nothing.
    """
    lines = text.splitlines()
    skipped = [
        Rejected(number, "a comment, not a row")
        for number, line in enumerate(lines, 1)
        if line.lstrip().startswith("#")
    ]
    kept = [
        (number, line)
        for number, line in enumerate(lines, 1)
        if line.strip().strip(" \t,;|").strip() and not line.lstrip().startswith("#")
    ]
    if not kept:
        raise BadFile(name, found="no rows", expected="a heading and at least one fill-up")
    if kept[0][1].lstrip()[0] in "{[":
        return _json_lines(kept, name, skipped)
    delimiter = _delimiter([line for _, line in kept])
    if delimiter is None:
        return Sheet(tuple(Line(number, _words(line)) for number, line in kept), "spaces", tuple(skipped))
    rows = tuple(Line(number, _cells(line, delimiter)) for number, line in kept)
    return Sheet(rows, _DELIMITERS[delimiter], tuple(skipped))


def decode(content: bytes, name: str) -> str:
    """A file's text: UTF-16 with its mark, UTF-8, else the western code page.

    Raises:
        BadFile: If it is not text.
    """
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", errors="replace")
    if b"\x00" in content:
        raise BadFile(name, found="a file that is not text", expected="CSV, JSON lines, .xlsx or .ods")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def _cells(line: str, delimiter: str) -> tuple[str, ...]:
    try:
        return tuple(cell.strip() for cell in next(csv.reader([line], delimiter=delimiter)))
    except csv.Error:
        return tuple(cell.strip() for cell in line.split(delimiter))


def _delimiter(lines: list[str]) -> str | None:
    """The first delimiter that cuts at least six lines in ten into the same number of cells, two or more."""
    for delimiter in _DELIMITERS:
        counts = Counter(len(_cells(line, delimiter)) for line in lines)
        width, often = max(counts.items(), key=lambda pair: (pair[0] > 1, pair[1]))
        wide = sum(often for cells, often in counts.items() if cells > 1)
        if width > 1 and (often >= 0.6 * len(lines) or wide >= 0.8 * len(lines)):
            return delimiter
    return None


def _words(line: str) -> tuple[str, ...]:
    """Pasted text: two spaces cut where there are any; else each word, a unit staying with its number."""
    if re.search(r"\S {2,}\S", line):
        return tuple(re.split(r" {2,}", line.strip()))
    cells: list[str] = []
    for word in _WORD.findall(line):
        if cells and _UNIT_WORD.fullmatch(word) and cells[-1][-1].isdigit():
            cells[-1] += f" {word}"
        else:
            cells.append(word)
    return tuple(cells)


def _json_lines(kept: list[tuple[int, str]], name: str, skipped: list[Rejected]) -> Sheet:
    records: list[tuple[int, dict[str, object]]] = []
    for number, line in _json_texts(kept):
        try:
            record = json.loads(line)
        except json.JSONDecodeError as trouble:
            skipped.append(Rejected(number, f"not JSON: {trouble.msg}"))
            continue
        if isinstance(record, dict):
            records.append((number, record))
        else:
            skipped.append(Rejected(number, "not a JSON object with named fields"))
    if not records:
        raise BadFile(name, found="no JSON object", expected='one fill-up a line, like {"date": "2025-01-06", ...}')
    keys = list(dict.fromkeys(key for _, record in records for key in record))
    heading = Line(0, tuple(keys))
    rows = tuple(Line(number, tuple(shown(record.get(key)) for key in keys)) for number, record in records)
    return Sheet((heading, *rows), "JSON keys", tuple(skipped))


def _json_texts(kept: list[tuple[int, str]]) -> list[tuple[int, str]]:
    """JSON lines as they are; one JSON array as one text per element."""
    if kept[0][1].lstrip()[0] == "{":
        return kept
    try:
        elements = json.loads("\n".join(line for _, line in kept))
    except json.JSONDecodeError:
        return kept
    return [(number, json.dumps(element)) for number, element in enumerate(elements, kept[0][0])]


def _spreadsheet(content: bytes, name: str) -> Sheet:
    from python_calamine import CalamineError, CalamineWorkbook  # noqa: PLC0415 - only where a spreadsheet is read

    try:
        workbook = CalamineWorkbook.from_filelike(BytesIO(content))
        rows = workbook.get_sheet_by_index(0).to_python(skip_empty_area=False)
    except (CalamineError, IndexError, OSError, ValueError):
        raise BadFile(name, found="a spreadsheet that can't be opened", expected="a sound .xlsx or .ods file") from None
    lines = tuple(
        Line(number, tuple(shown(cell) for cell in row))
        for number, row in enumerate(rows, 1)
        if any(str(cell).strip() for cell in row)
    )
    if not lines:
        raise BadFile(name, found="no rows on the first sheet", expected="a heading and at least one fill-up")
    return Sheet(lines, "spreadsheet columns")


def shown(cell: object) -> str:
    """A typed cell as text that the column readers understand."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime):
        return cell.date().isoformat()
    if isinstance(cell, float):
        return f"{cell:.10g}"
    if isinstance(cell, date | time | timedelta):
        return str(cell)
    return " ".join(str(cell).split())
