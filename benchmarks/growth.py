"""How cost grows with work, drawn: both as multiples of the smallest size, on logarithmic rules."""

import math
from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

SIDE, LEFT, TOP, DECADES = 420, 60, 20, 3
INKS = ("#2E78D8", "#86287F", "#96450F", "#36424B", "#A58509")
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
    far = LEFT + SIDE, TOP + SIDE
    size = f'viewBox="0 0 {far[0] + 230} {far[1] + 50}" font-family="sans-serif" font-size="13"'
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}><rect width="100%" height="100%" fill="#fff"/>',
        f'<path d="M{LEFT} {TOP}V{far[1]}H{far[0]}" fill="none" stroke="#5B6B71"/>',
        f'<path d="M{LEFT} {far[1]}L{far[0]} {TOP}" stroke="#5B6B71" stroke-dasharray="4 4"/>',
        f'<text x="{LEFT}" y="{far[1] + 40}">work, times the smallest size; dashed: cost in proportion to work</text>',
    ]
    for power in range(DECADES + 1):
        at = power * SIDE / DECADES
        parts.append(f'<text x="{LEFT + at}" y="{far[1] + 18}" text-anchor="middle">{10**power}</text>')
        parts.append(f'<text x="{LEFT - 8}" y="{far[1] - at + 4}" text-anchor="end">{10**power}</text>')
    for ink, (name, curve) in zip(INKS, curves_of(found).items(), strict=False):
        parts += _drawn(name, curve, ink)
    return "\n".join([*parts, "</svg>\n"])


def _drawn(name: str, curve: Curve, ink: str) -> list[str]:
    least_work, least_cost = curve[0]
    places = [(_at(work / least_work), SIDE + 2 * TOP - _at(cost / least_cost) - TOP) for work, cost in curve]
    points = " ".join(f"{LEFT + x:.1f},{y:.1f}" for x, y in places)
    x, y = places[-1]
    dots = "".join(f'<circle cx="{LEFT + x:.1f}" cy="{y:.1f}" r="4" fill="{ink}"/>' for x, y in places)
    return [
        f'<polyline points="{points}" fill="none" stroke="{ink}" stroke-width="2"/>{dots}',
        f'<text x="{LEFT + x + 10:.1f}" y="{y + 4:.1f}" fill="{ink}">{escape(name)}</text>',
    ]


def _at(times: float) -> float:
    return max(math.log10(max(times, 1.0)), 0.0) * SIDE / DECADES
