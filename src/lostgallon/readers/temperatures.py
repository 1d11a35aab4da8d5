"""Outside temperatures: a file of days, or twelve monthly means of a town."""

import csv
from datetime import date
from pathlib import Path

from lostgallon.readers.fills_cells import NumberCell, read_dates, read_numbers
from lostgallon.readers.fills_columns import TEMPERATURE_UNITS, Columns, column, find_columns, unit_of
from lostgallon.readers.fills_sheet import read_sheet
from lostgallon.shop.filled import DailyTemperatures, FillHints, MonthlyTemperatures
from lostgallon.shop.trouble import BadArgument, BadFile, BadQuantity, one_of
from lostgallon.shop.units import celsius_of, read_quantity

EXPECTED = "a heading with date and temperature_F or temperature_C (or low_F and high_F), or month and temperature"
MONTHS = 12


def read_temperatures(path: Path, hints: FillHints) -> DailyTemperatures | MonthlyTemperatures:
    """Temperatures by day, or twelve monthly means.

    Raises:
        BadFile: If the file can't be read, has no temperatures, or no unit.
    """
    columns = find_columns(read_sheet(path))
    has_mean, has_ends = "ambient" in columns.at, {"ambient_low", "ambient_high"} <= columns.at.keys()
    if not {"date", "month"} & columns.at.keys() or not (has_mean or has_ends):
        raise BadFile(path.name, found="no dates with temperatures", expected=EXPECTED)
    roles = ("ambient",) if has_mean else ("ambient_low", "ambient_high")
    ends = [_celsius(columns, role, name=path.name, hints=hints) for role in roles]
    means = [None if None in row else sum(row) / len(row) for row in zip(*ends, strict=True)]
    if "date" in columns.at:
        return _by_day(columns, means, name=path.name, hints=hints)
    return _by_month(columns, means, name=path.name)


def _celsius(columns: Columns, role: str, *, name: str, hints: FillHints) -> list[float | None]:
    cells, _ = read_numbers(column(columns.rows, columns.at[role]), "ambient")
    unit = columns.unit[role] or hints.temperature_unit or ""
    if not unit and not all(unit_of(cell.unit) in TEMPERATURE_UNITS for cell in cells if cell):
        found = f"column {columns.taken[columns.at[role]].heading!r} without a unit"
        raise BadFile(
            name, found=found, expected=f"a heading like temperature_F, or --temperature-in {one_of(TEMPERATURE_UNITS)}"
        )
    return [_one_celsius(cell, unit) for cell in cells]


def _one_celsius(cell: NumberCell | None, unit: str) -> float | None:
    if cell is None:
        return None
    own = unit_of(cell.unit) or unit
    return celsius_of(cell.value) if own == "degF" else cell.value


def _by_day(columns: Columns, means: list[float | None], *, name: str, hints: FillHints) -> DailyTemperatures:
    dates = read_dates(column(columns.rows, columns.at["date"]), hints.date_order)
    if dates.open_orders and hints.date_order is None:
        raise BadFile(name, found="dates that read two ways", expected="--dates month-first or --dates day-first")
    days: dict[date, list[float]] = {}
    for day, mean in zip(dates.dates, means, strict=True):
        if day is not None and mean is not None:
            days.setdefault(day, []).append(mean)
    if not days:
        raise BadFile(name, found="no row with a date and a temperature", expected=EXPECTED)
    ordered = sorted(days)
    return DailyTemperatures(
        name, tuple(day.toordinal() for day in ordered), tuple(sum(days[day]) / len(days[day]) for day in ordered)
    )


def _by_month(columns: Columns, means: list[float | None], *, name: str) -> MonthlyTemperatures:
    numbers, _ = read_numbers(column(columns.rows, columns.at["month"]), "month")
    found = {int(cell.value): mean for cell, mean in zip(numbers, means, strict=True) if cell and mean is not None}
    if set(found) != set(range(1, MONTHS + 1)):
        raise BadFile(name, found=f"{len(found)} months", expected="the twelve months 1 to 12, one row each")
    return MonthlyTemperatures(name, tuple(found[month] for month in range(1, MONTHS + 1)))


def typed_months(text: str, town: str) -> MonthlyTemperatures:
    """Twelve monthly means as a person types them, January first: "23 degF, 27 degF, ...".

    Raises:
        BadArgument: If there are not twelve temperatures with units.
    """
    parts = [part.strip() for part in text.replace(";", ",").split(",") if part.strip()]
    if len(parts) != MONTHS:
        raise BadArgument("--months", found=f"{len(parts)} temperatures", expected="twelve, January first")
    try:
        return MonthlyTemperatures(town, tuple(read_quantity(part, "temperature").number for part in parts))
    except BadQuantity as trouble:
        raise BadArgument("--months", found=trouble.found, expected=trouble.expected) from None


def stored_town(folder: Path, town: str) -> MonthlyTemperatures:
    """The monthly means of a town entered before.

    Raises:
        BadArgument: If the town was never entered.
    """
    towns = _towns(folder)
    if town.casefold() not in towns:
        known = f"one of {one_of(sorted(towns))}, or " if towns else ""
        raise BadArgument("--town", found=repr(town), expected=f"{known}its twelve monthly means once with --months")
    return towns[town.casefold()]


def store_town(folder: Path, town: MonthlyTemperatures) -> None:
    """Keeps a town's monthly means for the next time."""
    towns = _towns(folder) | {town.name.casefold(): town}
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / "towns.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["town", *(f"month_{month}_c" for month in range(1, MONTHS + 1))])
        writer.writerows([name, *(repr(mean) for mean in each.mean_c)] for name, each in sorted(towns.items()))


def _towns(folder: Path) -> dict[str, MonthlyTemperatures]:
    path = folder / "towns.csv"
    if not path.is_file():
        return {}
    rows = list(csv.reader(path.read_text("utf-8").splitlines()))[1:]
    try:
        return {row[0]: MonthlyTemperatures(row[0], tuple(map(float, row[1 : MONTHS + 1]))) for row in rows if row}
    except ValueError:
        raise BadFile(str(path), found="a month that is no number", expected="town and twelve temperatures") from None
