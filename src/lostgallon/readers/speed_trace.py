"""A speed trace from outside: a CSV with the columns time_s and speed_m_s."""

import csv
import math
from pathlib import Path

from lostgallon.shop.trouble import BadFile, suggestion

COLUMNS = ("time_s", "speed_m_s")
FASTEST_M_S = 90.0


def read_speed_trace(path: Path) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Times and speeds of a trace. [s, m/s]

    Args:
        path: A CSV file; lines that start with # are skipped.

    Returns:
        Times that rise, and the speed at each.

    Raises:
        BadFile: With the line, what stands there and what was expected.
    """
    try:
        lines = path.read_text("utf-8-sig").splitlines()
    except FileNotFoundError:
        raise BadFile(str(path), found="no such file", expected="a CSV with time_s,speed_m_s") from None
    except (OSError, UnicodeDecodeError):
        raise BadFile(str(path), found="a file that can't be read as text", expected="a CSV file") from None
    numbered = [(number, line) for number, line in enumerate(lines, 1) if line.strip() and line[0] != "#"]
    if not numbered:
        raise BadFile(str(path), found="an empty file", expected="a CSV with time_s,speed_m_s")
    places = _places(path, numbered[0])
    rows = [_row(path, number, line, places) for number, line in numbered[1:]]
    if len(rows) < 2:
        raise BadFile(str(path), found=f"{len(rows)} rows", expected="at least two rows of time and speed")
    for (before, _), (after, _), (number, _) in zip(rows, rows[1:], numbered[2:], strict=False):
        if after <= before:
            raise BadFile(
                f"{path}, line {number}", found=f"time {after:g} s after {before:g} s", expected="rising times"
            )
    times, speeds = zip(*rows, strict=True)
    return times, speeds


def _places(path: Path, heading: tuple[int, str]) -> tuple[int, int]:
    number, line = heading
    names = [name.strip() for name in next(csv.reader([line]))]
    for column in COLUMNS:
        if column not in names:
            raise BadFile(
                f"{path}, line {number}",
                found=f"the columns {', '.join(names)}{suggestion(column, names)}",
                expected="the columns time_s and speed_m_s",
            )
    return names.index(COLUMNS[0]), names.index(COLUMNS[1])


def _row(path: Path, number: int, line: str, places: tuple[int, int]) -> tuple[float, float]:
    cells = next(csv.reader([line]))
    where = f"{path}, line {number}"
    if len(cells) <= max(places):
        raise BadFile(where, found=f"{len(cells)} cells", expected=f"at least {max(places) + 1}")
    time_s, speed_m_s = (_number(where, cells[place]) for place in places)
    if not 0.0 <= speed_m_s <= FASTEST_M_S:
        raise BadFile(where, found=f"a speed of {speed_m_s:g} m/s", expected=f"0 to {FASTEST_M_S:g} m/s")
    return time_s, speed_m_s


def _number(where: str, cell: str) -> float:
    try:
        number = float(cell)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise BadFile(where, found=repr(cell.strip()), expected="a number with a point for decimals")
    return number
