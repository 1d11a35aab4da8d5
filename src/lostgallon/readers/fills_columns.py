"""Which column is what: by its heading, else by what stands in it. Said with its reason, never silent."""

import csv
import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from statistics import median

from lostgallon.readers.fills_cells import looks_like_date, plain, read_numbers
from lostgallon.readers.fills_sheet import Line, Sheet
from lostgallon.shop.filled import ColumnTaken, Rejected
from lostgallon.shop.trouble import BadFile, one_of
from lostgallon.shop.units import KM_PER_MILE, L_PER_IMPERIAL_GALLON, L_PER_US_GALLON

DISTANCE_UNITS = {"mi": KM_PER_MILE, "km": 1.0}
VOLUME_UNITS = {"gal": L_PER_US_GALLON, "L": 1.0, "imp_gal": L_PER_IMPERIAL_GALLON}
TEMPERATURE_UNITS = ("degF", "degC")

_UNIT_WORDS = {
    "mi": "mi", "mile": "mi", "miles": "mi", "millas": "mi",
    "km": "km", "kms": "km", "kilometer": "km", "kilometers": "km", "kilometre": "km", "kilometres": "km",
    "gal": "gal", "gals": "gal", "gallon": "gal", "gallons": "gal", "us gal": "gal", "gal us": "gal",
    "us gallons": "gal", "imp gal": "imp_gal", "gal imp": "imp_gal", "imperial gallons": "imp_gal",
    "imperial gal": "imp_gal", "l": "L", "lt": "L", "ltr": "L", "liter": "L", "liters": "L", "litre": "L",
    "litres": "L", "litros": "L",
    "degf": "degF", "f": "degF", "deg f": "degF", "fahrenheit": "degF",
    "degc": "degC", "c": "degC", "deg c": "degC", "celsius": "degC",
}  # fmt: skip
_UNIT_KINDS = {
    "odometer": tuple(DISTANCE_UNITS),
    "distance": tuple(DISTANCE_UNITS),
    "volume": tuple(VOLUME_UNITS),
    "ambient": TEMPERATURE_UNITS,
    "ambient_low": TEMPERATURE_UNITS,
    "ambient_high": TEMPERATURE_UNITS,
    "ethanol": ("pct",),
}
NOTHING_TOLD: Mapping[str, str] = {}
_RATE_WORDS = frozenset({"per", "por", "mpg", "price", "cost", "precio", "costo", "usd", "rate", "average", "avg"})
_HEADING_WITHIN = 12
"""A heading stands within this many first lines; what stands above it is a title."""


@dataclass(frozen=True)
class Columns:
    """The columns of a sheet that are used: role to (index, unit), the rows below, and what was said."""

    at: Mapping[str, int]
    unit: Mapping[str, str]
    rows: tuple[Line, ...]
    taken: tuple[ColumnTaken, ...]
    skipped: tuple[Rejected, ...]


@cache
def _headings() -> Mapping[str, tuple[str, str]]:
    text = resources.files("lostgallon.data").joinpath("fill_headings.csv").read_text("utf-8")
    return {row["heading"]: (row["taken_as"], row["unit"]) for row in csv.DictReader(text.splitlines())}


def unit_of(words: str) -> str:
    """The unit that some words name, or nothing."""
    return _UNIT_WORDS.get(re.sub(r"[^a-z]+", " ", plain(words).replace("°", "deg")).strip(), "")


def _heading_words(cell: str) -> str:
    # "distance (mi)", "Distance_mi" and "distance, mi" are the same words
    return re.sub(r"[^a-z0-9]+", " ", plain(re.sub(r"(?<=[a-z])(?=[A-Z][a-z])", " ", cell))).strip()


def meaning(cell: str) -> tuple[str, str]:
    """What a heading is taken as and the unit it names; both empty where it is unknown."""
    words = _heading_words(cell)
    if words in _headings():
        return _headings()[words]
    for cutting in range(1, 3):
        (*front,) = words.split()[:-cutting] if len(words.split()) > cutting else ()
        tail = " ".join(words.split()[len(front) :])
        unit = unit_of(tail)
        if front and unit and " ".join(front) in _headings():
            role, own = _headings()[" ".join(front)]
            return role, unit or own
    return "", ""


def find_columns(sheet: Sheet, told: Mapping[str, str] = NOTHING_TOLD, *, name: str = "") -> Columns:
    """Which column of a sheet is what.

    The heading is the line among the first dozen in which two or more cells are known; without one the
    columns are told by what stands in them.

    Args:
        sheet: The lines.
        told: Role to heading, or to "column 3", where a person says it; it is never overruled.
        name: The file, for the sentence of a refusal.

    Raises:
        BadFile: If there is no such column.
    """
    found = _found(sheet)
    return _as_told(found, sheet, told, name) if told else found


def _as_told(found: Columns, sheet: Sheet, told: Mapping[str, str], name: str) -> Columns:
    """The columns with what a person says in place of what was found."""
    heads = _heads(found, sheet)
    at, unit, taken = dict(found.at), dict(found.unit), list(found.taken)
    for role, wanted in told.items():
        index = heads.get(_heading_words(wanted))
        if index is None:
            raise BadFile(name, found=f"no column {wanted!r}", expected=one_of(map(repr, heads)))
        gone = {index, at.get(role, index)}
        taken = [each for each in taken if heads.get(_heading_words(each.heading)) not in gone]
        at = {other: place for other, place in at.items() if place != index}
        at[role], unit[role] = index, _unit_in(wanted, role)
        taken.append(ColumnTaken(role, wanted, unit[role], "as told"))
    return Columns(at, {role: unit.get(role, "") for role in at}, found.rows, tuple(taken), found.skipped)


def _heads(found: Columns, sheet: Sheet) -> dict[str, int]:
    """The headings of a sheet in plain words and, always, "column 1", "column 2", ..., each with its place."""
    width = max(len(line.cells) for line in sheet.lines)
    heads = {f"column {place + 1}": place for place in range(width)}
    above = [line for line in sheet.lines if line not in found.rows]
    for line in above[-1:]:
        heads |= {_heading_words(cell): place for place, cell in enumerate(line.cells) if cell}
    return heads


def _unit_in(heading: str, role: str) -> str:
    """The unit that ends a heading, if it is one of the role's."""
    words = _heading_words(heading).split()
    named = [unit_of(" ".join(words[-count:])) for count in (2, 1) if len(words) > count]
    return next((unit for unit in named if unit in _UNIT_KINDS.get(role, ())), "")


def _found(sheet: Sheet) -> Columns:
    for index, line in enumerate(sheet.lines[:_HEADING_WITHIN]):
        known = {role for cell in line.cells if (role := meaning(cell)[0])}
        if len(known) >= 2 and not any(looks_like_date(cell) for cell in line.cells):
            above = tuple(Rejected(each.number, "above the heading, not a row") for each in sheet.lines[:index])
            return _by_heading(line, sheet.lines[index + 1 :], sheet.skipped + above)
    return _by_content(sheet)


def _by_heading(heading: Line, rows: tuple[Line, ...], skipped: tuple[Rejected, ...]) -> Columns:
    again = tuple(row for row in rows if row.cells == heading.cells)
    rows = tuple(row for row in rows if row.cells != heading.cells)
    at: dict[str, int] = {}
    unit: dict[str, str] = {}
    taken: list[ColumnTaken] = []
    for index, cell in enumerate(heading.cells):
        role, named = meaning(cell)
        why = f"the heading {cell!r}"
        if role == "odometer_or_distance":
            role, why = _odometer_or_distance(rows, index, why)
        if not role or role in at:
            reason = (
                f"{cell!r}: {role} is taken from an earlier column"
                if role
                else f"{cell!r}: no heading this program reads"
            )
            taken.append(ColumnTaken("not used", cell, "", reason))
            continue
        at[role], unit[role] = index, named if named in _UNIT_KINDS.get(role, ()) else ""
        taken.append(ColumnTaken(role, cell, unit[role], why))
    taken = _by_unit(taken, rows, at=at, unit=unit)
    skipped += tuple(Rejected(row.number, "the heading again, not a row") for row in again)
    return Columns(at, unit, rows, tuple(taken), skipped)


def _by_unit(
    taken: Sequence[ColumnTaken], rows: Sequence[Line], *, at: dict[str, int], unit: dict[str, str]
) -> list[ColumnTaken]:
    """Distance and volume, where no heading was known, by the one unknown heading that names their unit.

    A rate (miles per gallon, price per gallon) names a unit too and is none of them.
    """
    told = list(taken)
    for roles, units in ((("odometer", "distance"), DISTANCE_UNITS), (("volume",), VOLUME_UNITS)):
        by_place = {place: named for place, each in enumerate(told) if (named := _names(each, units))}
        if set(roles) & set(at) or len(by_place) != 1:
            continue
        ((place, named),) = by_place.items()
        role, why = roles[0], f"the heading names {named}"
        if len(roles) > 1:
            role, why = _odometer_or_distance(rows, place, why)
        at[role], unit[role] = place, named
        told[place] = ColumnTaken(role, told[place].heading, named, why)
    return told


def _names(column: ColumnTaken, units: Mapping[str, float]) -> str:
    """The one unit among these that an unused heading names as a word; empty for a rate or a price."""
    words = _heading_words(column.heading).split()
    if column.taken_as != "not used" or set(words) & _RATE_WORDS:
        return ""
    named = {found for word in words if len(word) > 1 and (found := unit_of(word)) in units}
    return named.pop() if len(named) == 1 else ""


def column(rows: Sequence[Line], index: int) -> tuple[str, ...]:
    """The cells of one column; a row that is too short has an empty one."""
    return tuple(row.cells[index] if index < len(row.cells) else "" for row in rows)


def _odometer_or_distance(rows: Sequence[Line], index: int, why: str) -> tuple[str, str]:
    values = [cell.value for cell in read_numbers(column(rows, index), "odometer")[0] if cell]
    if _climbs(values) and len(values) > 1:
        return "odometer", f"{why}, and the figures climb from row to row"
    return "distance", f"{why}, and the figures do not climb from row to row"


def _climbs(values: Sequence[float]) -> bool:
    steps = [later - earlier for earlier, later in itertools.pairwise(values)]
    if not steps or len(values) < 3:
        return bool(values) and min(values) > 3000
    one_way = max(sum(step >= 0 for step in steps), sum(step <= 0 for step in steps))
    return one_way >= 0.85 * len(steps) and abs(values[-1] - values[0]) > 3 * abs(median(map(abs, steps)))


def _by_content(sheet: Sheet) -> Columns:
    width = max(len(line.cells) for line in sheet.lines)
    cells = {index: column(sheet.lines, index) for index in range(width)}
    filled = {index: [cell for cell in column if cell] for index, column in cells.items()}
    dated = [index for index in range(width) if _share(filled[index], looks_like_date) > 0.7]
    dated = dated or [index for index in range(width) if _share(filled[index], _six_digit_day) > 0.9][:1]
    numeric = [index for index in range(width) if index not in dated and _share(filled[index], _numeric) > 0.7]
    values = {index: [cell.value for cell in read_numbers(filled[index], "volume")[0] if cell] for index in numeric}
    at = {"date": dated[0]} if dated else {}
    why = {"date": "no heading; its cells read as dates"}
    for index in numeric:
        if "odometer" not in at and _climbs(values[index]):
            at["odometer"], why["odometer"] = index, "no heading; its figures climb from row to row"
    rest = [index for index in numeric if index not in at.values()]
    rest.sort(key=lambda index: -median(values[index] or [0.0]))
    roles = ("volume",) if "odometer" in at and len(rest) == 1 else ("distance", "volume")
    for role, index in zip(roles, rest, strict=False):
        at[role] = index
        why[role] = f"no heading; its figures are the {'larger' if role == 'distance' else 'smaller'} ones"
    used = set(at.values())
    at.setdefault("note", next((index for index in range(width) if index not in used and filled[index]), -1))
    why["note"] = "no heading; it holds words"
    at = {role: index for role, index in at.items() if index >= 0}
    taken = tuple(ColumnTaken(role, f"column {index + 1}", "", why[role]) for role, index in at.items())
    return Columns(at, dict.fromkeys(at, ""), sheet.lines, taken, sheet.skipped)


def _share(cells: Sequence[str], test: object) -> float:
    return sum(bool(test(cell)) for cell in cells) / len(cells) if cells and callable(test) else 0.0


def _six_digit_day(cell: str) -> bool:
    return bool(re.fullmatch(r"\d{6}|\d{8}", cell))


def _numeric(cell: str) -> bool:
    return bool(re.match(r"^[~$]?\s*[-+]?[\d.,]", cell))
