"""Rows of a fill-up file in one unit each: what a row says, before any rule judges it."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from lostgallon.readers.fills_cells import NumberCell, plain, read_dates, read_numbers
from lostgallon.readers.fills_columns import DISTANCE_UNITS, VOLUME_UNITS, Columns, column, unit_of
from lostgallon.shop.filled import ColumnTaken, FillHints
from lostgallon.shop.trouble import BadFile, one_of
from lostgallon.shop.units import celsius_of

YES = frozenset({"yes", "y", "true", "t", "1", "x", "full", "si", "s", "lleno", "1.0"})
NO = frozenset({"no", "n", "false", "f", "0", "partial", "parcial", "half", "0.0"})
_PARTIAL = re.compile(
    r"\bpartial|\bparcial|\bnot? (?:quite )?full|\bno lleno|\bhalf (?:a )?tank|"
    r"(?:didn'?t|did not) fill|\btop(?:ped)?[- ]off only|\bsplash"
)
_MISSED = re.compile(r"\b(?:miss(?:ed|ing)|forgot(?:ten)?|skipped|lost) (?:a |the |one )?(?:fill|row|receipt|tank)")
_ESTIMATED = re.compile(r"\best\b|\best\.|estimat|reconstruct|\bguess|approx|from memory")
_ASKED_BY = {"odometer": "--distance-in", "distance": "--distance-in", "volume": "--volume-in"}
_UNITS = {"odometer": DISTANCE_UNITS, "distance": DISTANCE_UNITS, "volume": VOLUME_UNITS}


@dataclass(frozen=True)
class Row:
    """One row: date, odometer and distance in km, volume in liters; None where it says nothing."""

    line: int
    filled_on: date | None
    odometer_km: float | None
    distance_km: float | None
    volume_l: float | None
    full: bool = True
    ambient_c: float | None = None
    ethanol_share: float | None = None
    estimated: bool = False
    missed_before: bool = False
    remarks: tuple[str, ...] = ()


def rows_of(columns: Columns, name: str, hints: FillHints) -> tuple[tuple[Row, ...], tuple[ColumnTaken, ...]]:
    """The rows of a sheet and the columns as taken, with their units.

    Raises:
        BadFile: If a needed column is missing, has no unit, or the order of day and month stays open.
    """
    _require(columns, name)
    order = read_dates(column(columns.rows, columns.at["date"]), hints.date_order)
    if order.open_orders and hints.date_order is None:
        first = next(cell for cell in column(columns.rows, columns.at["date"]) if cell)
        choices = one_of(f"--dates {each}-first" for each in order.open_orders)
        raise BadFile(name, found=f"dates like {first!r} that read two ways", expected=choices)
    said = {"date": ("", order.why)}
    numbers: dict[str, Sequence[NumberCell | None]] = {}
    for role in ("odometer", "distance", "volume", "ambient", "ethanol"):
        if role in columns.at:
            numbers[role], commas = read_numbers(column(columns.rows, columns.at[role]), role)
            said[role] = (_unit(role, numbers[role], columns, hints), commas)
    for role in _UNITS.keys() & numbers.keys():
        if not said[role][0] and any(cell and not unit_of(cell.unit) for cell in numbers[role]):
            _ask_unit(role, columns, name)
    units = {role: unit for role, (unit, _) in said.items()}
    texts = {role: column(columns.rows, columns.at[role]) for role in ("note", "to_first_click", "partial")
             if role in columns.at}  # fmt: skip
    rows = []
    for index, line in enumerate(columns.rows):
        row = Row(line.number, order.dates[index], None, None, None)
        row = _with_numbers(row, {role: cells[index] for role, cells in numbers.items()}, units)
        rows.append(_with_words(row, {role: cells[index] for role, cells in texts.items()}))
    return tuple(rows), tuple(_said(each, said, hints) for each in columns.taken)


def _require(columns: Columns, name: str) -> None:
    missing = [role for role in ("date", "volume") if role not in columns.at]
    if not {"odometer", "distance"} & columns.at.keys():
        missing.append("odometer or distance")
    if missing:
        found = "the columns " + ", ".join(repr(each.heading) for each in columns.taken) if columns.taken else "no"
        raise BadFile(name, found=f"{found} and nothing for {one_of(missing)}",
                      expected="a heading with date, odometer or distance, and volume, like "
                               "date,odometer_mi,volume_gal")  # fmt: skip
    if not columns.rows:
        raise BadFile(name, found="a heading and no rows", expected="at least one fill-up")


def _unit(role: str, cells: Sequence[NumberCell | None], columns: Columns, hints: FillHints) -> str:
    """The unit of a column: from its heading, else told, else none (each cell must name its own)."""
    told = {"volume": hints.volume_unit, "ambient": hints.temperature_unit}.get(role, hints.distance_unit)
    named = {unit_of(cell.unit) for cell in cells if cell}
    return columns.unit[role] or (told or "" if "" in named else "")


def _ask_unit(role: str, columns: Columns, name: str) -> None:
    heading = next(each.heading for each in columns.taken if each.taken_as == role)
    units = one_of(_UNITS[role])
    raise BadFile(f"{name}: column {heading!r}", found=f"{role} without a unit",
                  expected=f"a unit in the heading, like {role}_{next(iter(_UNITS[role]))}, or "
                           f"{_ASKED_BY[role]} {units}")  # fmt: skip


def _said(taken: ColumnTaken, said: Mapping[str, tuple[str, str]], hints: FillHints) -> ColumnTaken:
    if taken.taken_as not in said:
        return taken
    unit, how = said[taken.taken_as]
    why = f"{taken.why}; {how}" if how else taken.why
    if unit and not taken.unit:
        why += f"; unit {hints.told_by}"
    if taken.taken_as == "ambient" and not unit:
        return ColumnTaken("ambient", taken.heading, "", f"{why}; used only where a cell names its unit")
    return replace(taken, unit=unit or taken.unit or "", why=why)


def _with_numbers(row: Row, cells: Mapping[str, NumberCell | None], units: Mapping[str, str]) -> Row:
    found: dict[str, float] = {}
    remarks = list(row.remarks)
    for role, cell in cells.items():
        if role == "ethanol" and cell:
            # written as a share ("0.10") or in per cent ("10", "E10")
            found["ethanol_share"] = cell.value / 100.0 if cell.value > 1.0 else cell.value
            continue
        unit = cell and (unit_of(cell.unit) or units[role])
        if cell is None or not unit:
            continue
        if unit != units[role] and units[role]:
            remarks.append(f"{role} in {unit} as its cell says")
        if role == "ambient":
            found["ambient_c"] = celsius_of(cell.value) if unit == "degF" else cell.value
        elif unit in _UNITS[role]:
            key = "volume_l" if role == "volume" else f"{role}_km"
            found[key] = cell.value * _UNITS[role][unit]
    estimated = any(cell.estimated for cell in cells.values() if cell)
    return replace(row, **found, estimated=estimated, remarks=tuple(remarks))  # type: ignore[arg-type] # floats only


def _with_words(row: Row, cells: Mapping[str, str]) -> Row:
    note = plain(cells.get("note", ""))
    full = not _PARTIAL.search(note)
    remarks = row.remarks
    for role, meaning in (("to_first_click", True), ("partial", False)):
        word = plain(cells.get(role, "")).strip()
        if word in YES:
            full = meaning
        elif word in NO:
            full = not meaning
        elif word:
            remarks += (f"{word!r} under {role} is neither yes nor no: taken as filled to the first click",)
    return replace(
        row,
        full=full,
        estimated=row.estimated or bool(_ESTIMATED.search(note)),
        missed_before=bool(_MISSED.search(note)),
        remarks=remarks,
    )
