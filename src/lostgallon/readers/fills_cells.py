"""Dates and numbers of a whole column at once: how they are written is decided from all cells together."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from statistics import median

from lostgallon.shop.filled import DateOrder

_MONTHS = {
    name: number
    for number, names in enumerate(
        ("jan ene", "feb", "mar", "apr abr", "may", "jun", "jul", "aug ago", "sep", "oct", "nov", "dec dic"), 1
    )
    for name in names.split()
}
_SPLIT = r"[-/. ]"
_YEAR_FIRST = re.compile(rf"(?<!\d)(\d{{4}}){_SPLIT}(\d{{1,2}}){_SPLIT}(\d{{1,2}})(?!\d)")
_THREE = re.compile(rf"(?<!\d)(\d{{1,2}}){_SPLIT}(\d{{1,2}}){_SPLIT}(\d{{4}}|\d{{2}})(?!\d)")
_EIGHT = re.compile(r"(?<!\d)(\d{4})(\d{2})(\d{2})(?!\d)")
_SIX = re.compile(r"(?<![\d.,])(\d{2})(\d{2})(\d{2})(?![\d.,])")
_NAMED = re.compile(r"(?<!\d)(\d{1,4})[-/. ]*(?:de )?([a-z]{3})[a-z]*\.?,?[-/. ]*(?:de )?(\d{2,4})(?!\d)")
_NAME_FIRST = re.compile(r"([a-z]{3})[a-z]*\.?[-/ ]*(\d{1,2})(?:st|nd|rd|th)?,?[-/ ]+(\d{4}|\d{2})(?!\d)")
_ORDERS: tuple[DateOrder, ...] = ("year", "month", "day")
LONG_GAP_DAYS = 180
_LONGEST_DATE = 60
"""Letters of a cell that can hold a date; a longer one is a remark."""
_ORDER_WORDS = {"year": "year first", "month": "month first", "day": "day first"}

_NUMBER = re.compile(r"[-+]?(?:\d[\d.,' \u00a0\u202f]*|[.,]\d+)")
_ESTIMATED = re.compile(r"(?i)~|\best\b|estimat|about|approx|ca\.")

PLAUSIBLE = {
    "volume": (2.0, 400.0),
    "distance": (15.0, 3000.0),
    "odometer": (0.0, 3e6),
    "ambient": (-60.0, 130.0),
    "ethanol": (0.0, 100.0),
    "month": (1.0, 12.0),
}
"""Where the middle of a column can lie in any of its units; it only chooses between two readings of a comma."""


@dataclass(frozen=True)
class NumberCell:
    """A number with the unit standing in its own cell, if any."""

    value: float
    unit: str = ""
    estimated: bool = False


@dataclass(frozen=True)
class DateColumn:
    """Dates of a column (None where there is none), how they were read, and the orders that stay possible."""

    dates: tuple[date | None, ...]
    why: str
    open_orders: tuple[DateOrder, ...] = ()


def plain(text: str) -> str:
    """Lower case, without accents."""
    folded = unicodedata.normalize("NFKD", text.lower())
    return "".join(letter for letter in folded if not unicodedata.combining(letter))


def _day(year: int, month: int, day: int) -> date | None:
    full = year if year > 99 else 2000 + year if year < 70 else 1900 + year
    try:
        found = date(full, month, day)
    except ValueError:
        return None
    return found if 1970 <= found.year <= 2099 else None


def _readings(cell: str) -> Mapping[DateOrder, date]:
    """Every way one cell reads as a date."""
    if len(cell) > _LONGEST_DATE:
        return {}
    text = plain(cell)
    for pattern in (_YEAR_FIRST, _EIGHT):
        if match := pattern.search(text):
            first, second, third = map(int, match.groups())
            found = {"year": _day(first, second, third)}
            return {order: day for order, day in found.items() if day}  # type: ignore[misc] # keys are orders
    if named := _named(text):
        return dict.fromkeys(_ORDERS, named)
    if match := _THREE.search(text) or _SIX.search(text):
        first, second, third = map(int, match.groups())
        found = {"month": _day(third, first, second), "day": _day(third, second, first)}
        if len(match[1]) == len(match[3]) == 2:
            found["year"] = _day(first, second, third)
        return {order: found[order] for order in _ORDERS if found.get(order)}  # type: ignore[misc] # None filtered
    return {}


def _named(text: str) -> date | None:
    if (match := _NAME_FIRST.search(text)) and match[1] in _MONTHS:
        return _day(int(match[3]), _MONTHS[match[1]], int(match[2]))
    if (match := _NAMED.search(text)) and match[2] in _MONTHS:
        first, last = match[1], match[3]
        if len(first) == 4:
            return _day(int(first), _MONTHS[match[2]], int(last))
        return _day(int(last), _MONTHS[match[2]], int(first))
    return None


def _disorder(days: Sequence[date]) -> int:
    """Steps against the prevailing direction of time, and gaps of more than half a year."""
    steps = [(later - earlier).days for earlier, later in pairwise(days)]
    against = min(sum(step < 0 for step in steps), sum(step > 0 for step in steps))
    return against + sum(abs(step) > LONG_GAP_DAYS for step in steps)


def looks_like_date(cell: str) -> bool:
    """Whether a cell holds something that reads as a date with separators, a month's name or eight digits."""
    return bool(_readings(cell)) and not re.fullmatch(r"[\d.,]{1,7}", cell.strip())


def read_dates(cells: Sequence[str], order: DateOrder | None = None) -> DateColumn:
    """The dates of a column.

    The order of day, month and year is the one that reads the most cells; where two read equally many, the
    one that runs through time with fewer steps back and fewer gaps of half a year; else it stays open and is
    asked for.
    """
    readings = [_readings(cell) for cell in cells]
    counts = {each: sum(each in reading for reading in readings) for each in _ORDERS}
    best = max(counts.values(), default=0)
    possible = [each for each in _ORDERS if counts[each] == best and best]
    if order in possible or (order and counts[order]):
        return _column(readings, order, "as told")
    if not possible:
        return DateColumn(tuple(None for _ in cells), "no date reads")
    ways = {each: tuple(reading.get(each) for reading in readings) for each in possible}
    if len(set(ways.values())) == 1:
        return _column(readings, possible[0], "written so that only one reading is possible")
    ranked = sorted(possible, key=lambda each: _disorder([day for day in ways[each] if day]))
    steps = [_disorder([day for day in ways[each] if day]) for each in ranked]
    if len(possible) == 1:
        return _column(readings, possible[0], f"only {_ORDER_WORDS[possible[0]]} reads every row")
    if steps[1] >= steps[0] + 3 or (steps[0] == 0 and steps[1] >= 2):
        return _column(readings, ranked[0], f"{_ORDER_WORDS[ranked[0]]} runs in order of time")
    open_orders: tuple[DateOrder, ...] = tuple(ranked)
    return DateColumn(ways[ranked[0]], "day and month stay open", open_orders)


def _column(readings: Sequence[Mapping[DateOrder, date]], order: DateOrder, why: str) -> DateColumn:
    return DateColumn(tuple(reading.get(order) for reading in readings), f"{_ORDER_WORDS[order]}: {why}")


def _both_ways(digits: str) -> tuple[float | None, float | None]:
    """A number with a decimal point, and with a decimal comma."""
    return _float(digits.replace(",", "")), _float(digits.replace(".", "").replace(",", "."))


def _float(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def _comma_is_decimal(digits: Sequence[str], kind: str) -> bool:
    """Whether the comma of a column is a decimal sign.

    A cell settles it where it can ("14,2", "1.234,5", "1,234.5"); else the reading whose middle is plausible
    for the kind of column; else groups of three are thousands.
    """
    for text in digits:
        if "." in text and "," in text:
            return text.rfind(",") > text.rfind(".")
        if re.search(r",\d{1,2}$|,\d{4,}$", text) or text.count(".") > 1:
            return True
    if not any("," in text for text in digits):
        # a lone point before three digits may group thousands ("131.000 km"); only an odometer asks for it
        grouped = [bool(re.fullmatch(r"[1-9]\d{0,2}\.\d{3}", text)) for text in digits]
        return kind == "odometer" and len(grouped) > 1 and all(grouped)
    low, high = PLAUSIBLE[kind]
    as_point = [value for text in digits if (value := _both_ways(text)[0]) is not None]
    return not low <= median(as_point or [0.0]) <= high


def read_numbers(cells: Sequence[str], kind: str) -> tuple[tuple[NumberCell | None, ...], str]:
    """The numbers of a column (None where there is none) and how its commas were read.

    Args:
        cells: As written; a unit may stand behind the number.
        kind: A key of PLAUSIBLE.
    """
    matches = [_NUMBER.search(cell) for cell in cells]
    digits = [re.sub(r"[' \u00a0\u202f]", "", match.group()) if match else "" for match in matches]
    decimal_comma = _comma_is_decimal([text.rstrip(".,") for text in digits if text], kind)
    found: list[NumberCell | None] = []
    for cell, match, text in zip(cells, matches, digits, strict=True):
        value = _both_ways(text.rstrip(".,"))[decimal_comma] if match else None
        if match is None or value is None:
            found.append(None)
            continue
        unit = re.sub(r"(?i)\best\w*|approx\w*|about|[~*()]", "", cell[match.end() :]).strip(" .")
        found.append(NumberCell(value, unit, bool(_ESTIMATED.search(cell))))
    has_comma = any("," in text for text in digits)
    why = ("decimal comma" if decimal_comma else "commas group thousands") if has_comma else ""
    return tuple(found), why
