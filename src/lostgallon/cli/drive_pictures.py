"""Small pictures of a drive for an 80-column terminal: curves on a grid, trims on a rule. Never a needle."""

from collections.abc import Sequence

from lostgallon.shop.driven import CoastDown, Curve, Trim, WarmUp

COLUMNS, ROWS = 60, 9
TRIM_REACH_PCT, TRIM_COLUMNS = 25.0, 51
GOOD_PCT, ACCEPTABLE_PCT = 5.0, 10.0
"""Total trim within 5 good, 10 acceptable (trade practice)."""


def plot(
    curves: Sequence[tuple[Curve, str]], *, x_name: str, y_name: str, band: tuple[Curve, Curve] | None = None
) -> list[str]:
    """Curves of (x, y) on a grid of characters, a band shaded behind them; x and y axes are labeled at their ends.

    Args:
        curves: Each with the character that draws it; later ones lie on top.
        x_name: What runs to the right, with its unit.
        y_name: What runs upward, with its unit.
        band: Lower and upper edge, shaded.
    """
    points = [point for curve, _ in curves for point in curve]
    points += [point for edge in band or () for point in edge]
    if not points:
        return []
    (left, right), (low, high) = _span([x for x, _ in points]), _span([y for _, y in points])
    grid = [[" "] * COLUMNS for _ in range(ROWS)]

    def row_of(y: float) -> int:
        return round((high - y) / (high - low) * (ROWS - 1))

    for column in range(COLUMNS):
        x = left + (right - left) * column / (COLUMNS - 1)
        if band:
            for row in range(row_of(_at(band[1], x)), row_of(_at(band[0], x)) + 1):
                grid[row][column] = "░"
        for curve, mark in curves:
            if curve and curve[0][0] <= x <= curve[-1][0]:
                grid[row_of(_at(curve, x))][column] = mark
    lines = [f" {_label(high, row, low):>8} │{''.join(cells)}" for row, cells in enumerate(grid)]
    axis = f"{left:.0f} {x_name}"
    lines.append(f" {'':>8} └{'─' * COLUMNS}")
    lines.append(f" {'':>10}{axis}{f'{right:.1f}':>{COLUMNS - len(axis)}}")
    return [f" {y_name}", *lines]


def _span(values: list[float]) -> tuple[float, float]:
    low, high = min(values), max(values)
    return (low, high) if high > low else (low, low + 1.0)


def _label(high: float, row: int, low: float) -> str:
    if row % 4:
        return ""
    value = high - (high - low) * row / (ROWS - 1)
    return f"{value:.0f}" if high - low > 8 else f"{value:.2f}"


def _at(curve: Curve, x: float) -> float:
    before = max((point for point in curve if point[0] <= x), key=lambda point: point[0], default=curve[0])
    after = min((point for point in curve if point[0] >= x), key=lambda point: point[0], default=curve[-1])
    if after[0] == before[0]:
        return before[1]
    share = (x - before[0]) / (after[0] - before[0])
    return before[1] + share * (after[1] - before[1])


def warm_up_picture(warm_up: WarmUp) -> list[str]:
    """The coolant against the band of a sound thermostat."""
    band = (warm_up.expected_low, warm_up.expected_high) if warm_up.expected_low else None
    return plot([(warm_up.curve, "█")], x_name="minutes", y_name="coolant, °C", band=band)


def trim_strips(trims: Sequence[Trim]) -> list[str]:
    """One rule a reading: removed fuel to the left, added to the right, the trade's 5 and 10 % marked."""
    lines = [f" {'':<16}{_trim_rule()}", f" {'':<16}{_trim_numbers()}"]
    for bank in sorted({trim.bank for trim in trims}):
        of_bank = [trim for trim in trims if trim.bank == bank]
        lines += [f" bank {bank}  {one.region:<8}{_trim_row(one.total_pct)} {one.total_pct:+6.1f} %" for one in of_bank]
    return lines


def _column(pct: float) -> int:
    held = min(max(pct, -TRIM_REACH_PCT), TRIM_REACH_PCT)
    return round((held + TRIM_REACH_PCT) / (2.0 * TRIM_REACH_PCT) * (TRIM_COLUMNS - 1))


def _trim_rule() -> str:
    marks = {_column(pct): "┴" for pct in (-20, -15, 15, 20)}
    marks |= {_column(side * pct): "┼" for side in (-1, 1) for pct in (GOOD_PCT, ACCEPTABLE_PCT)}
    marks[_column(0.0)] = "┃"
    return "".join(marks.get(column, "─") for column in range(TRIM_COLUMNS))


def _trim_numbers() -> str:
    line = [" "] * (TRIM_COLUMNS + 2)
    for pct in (-20, -10, -5, 0, 5, 10, 20):
        text = f"{pct:+d}" if pct else "0"
        start = _column(float(pct)) - len(text) // 2
        line[start : start + len(text)] = text
    return "".join(line).rstrip()


def _trim_row(pct: float) -> str:
    zero, end = _column(0.0), _column(pct)
    low, high = min(zero, end), max(zero, end)
    cells = ["█" if low <= column <= high else " " for column in range(TRIM_COLUMNS)]
    if abs(pct) > TRIM_REACH_PCT:
        cells[end] = "»" if pct > 0 else "«"
    return "".join(cells)


def coast_picture(coasts: Sequence[CoastDown]) -> list[str]:
    """Measured force against speed, over the force a sound vehicle would need."""
    measured: list[tuple[Curve, str]] = [(coast.curve, "█") for coast in coasts]
    return plot([(coasts[0].expected, "·"), *measured], x_name="km/h", y_name="force, N   (█ measured, · expected)")


def fuel_picture(curve: Curve) -> list[str]:
    """Fuel used over the distance driven."""
    return plot([(curve, "█")], x_name="km", y_name="fuel, L")
