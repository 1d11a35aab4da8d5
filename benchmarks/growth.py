"""How cost grows with work, drawn: both as multiples of the smallest size, on logarithmic rules."""

from collections.abc import Mapping, Sequence
from typing import Any

from tools.chart import Plot, Point, Scale, picture

DECADES = (1.0, 10.0, 100.0, 1000.0)
Curve = Sequence[tuple[float, float]]


def curves_of(found: Mapping[str, Mapping[str, Any]]) -> dict[str, Curve]:
    """The curves that the benchmarks hold, by what grows: (work, cost) from the smallest."""
    account, fillups = found.get("account", {}), found.get("fillups", {})
    draws = [(float(key.split()[0]), value["weigh from nothing"]) for key, value in account.items() if " draws" in key]
    fills = [(float(count), fillups[key]) for count in (60, 700) if (key := f"fills_{count}_cpu_ms") in fillups]
    fleet = [(row["vehicles"], row["cpu_s"]) for row in found.get("fleet", {}).get("growth", ())]
    told = {"account by stories": draws, "verdict by tanks of a log": fills, "screen by vehicles": fleet}
    return {name: [(float(work), _seconds(cost)) for work, cost in curve] for name, curve in told.items() if curve}


def _seconds(cost: Any) -> float:
    return float(cost["processor_s"] if isinstance(cost, Mapping) else cost)


def picture_of(found: Mapping[str, Mapping[str, Any]]) -> str:
    """An SVG of all curves; the dashed line is cost in proportion to work."""
    plot = Plot(
        Scale(1.0, 1000.0, DECADES, "work, times the smallest size", log=True),
        Scale(1.0, 1000.0, DECADES, "cost, times the smallest size", log=True),
    )
    parts = [*plot.frame("How cost grows with work; dashed: in proportion"), plot.diagonal()]
    for number, (name, curve) in enumerate(curves_of(found).items()):
        least_work, least_cost = curve[0]
        points = [Point(work / least_work, cost / least_cost) for work, cost in curve]
        parts += plot.series(points, number, says=name, line=True)
    return picture(parts, wide=640.0, tall=460.0, says="How cost grows with work, each against its smallest size")
