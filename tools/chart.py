"""Small charts for the docs as SVG, in the program's own colors; they turn dark where the reader's screen is dark."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

from lostgallon.paper.look import colors

KINDS = ("k-season", "k-use", "k-engine", "k-tires", "k-electrical")
"""The colors of the series, in order; each has a mark of its own beside, so that no color is needed."""
MARKS = (
    "M-5 0a5 5 0 1 0 10 0a5 5 0 1 0-10 0Z",
    "M-4.5-4.5h9v9h-9Z",
    "M0-6 6 5h-12Z",
    "M0-6.5 6 0 0 6.5-6 0Z",
    "M-5-5 5 5M5-5-5 5",
)


@dataclass(frozen=True)
class Scale:
    """A rule of a chart: its ends, the numbers on it, and what they are; logarithmic where `log`."""

    low: float
    high: float
    ticks: tuple[float, ...]
    says: str
    log: bool = False

    def share(self, value: float) -> float:
        """Where a value stands between the ends, 0 to 1."""
        low, high, here = (math.log10(v) if self.log else v for v in (self.low, self.high, max(value, self.low)))
        return min((here - low) / (high - low), 1.0)


@dataclass(frozen=True)
class Point:
    """A point and, where it has one, the interval of its height."""

    x: float
    y: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Plot:
    """A square field with two rules. [px]"""

    x: Scale
    y: Scale
    left: float = 60.0
    top: float = 40.0
    wide: float = 360.0
    tall: float = 360.0

    def place(self, x: float, y: float) -> tuple[float, float]:
        """Where a point stands on the picture. [px]"""
        return self.left + self.x.share(x) * self.wide, self.top + (1.0 - self.y.share(y)) * self.tall

    def frame(self, title: str) -> list[str]:
        """The title, the rules and their numbers."""
        right, foot = self.left + self.wide, self.top + self.tall
        parts = [
            words(title, self.left, self.top - 16.0, "head"),
            f'<path class="rule" d="M{self.left:g} {self.top:g}V{foot:g}H{right:g}"/>',
            words(self.x.says, self.left, foot + 40.0, "quiet"),
            words(self.y.says, self.left + 6.0, self.top + 4.0, "quiet"),
        ]
        across = [words(f"{tick:g}", self.place(tick, self.y.low)[0], foot + 18.0, "mid") for tick in self.x.ticks]
        up = [
            words(f"{tick:g}", self.left - 8.0, self.place(self.x.low, tick)[1] + 4.0, "end") for tick in self.y.ticks
        ]
        return parts + across + up

    def diagonal(self) -> str:
        """The dashed line from one corner to the other."""
        return f'<path class="dash" d="M{self.left:g} {self.top + self.tall:g}l{self.wide:g}-{self.tall:g}"/>'

    def band(self, low: float, high: float) -> str:
        """A shaded band of heights."""
        (x, foot), (_, head) = self.place(self.x.low, low), self.place(self.x.low, high)
        return f'<rect class="band" x="{x:g}" y="{head:.1f}" width="{self.wide:g}" height="{foot - head:.1f}"/>'

    def series(self, points: Sequence[Point], number: int, *, says: str = "", line: bool = False) -> list[str]:
        """Points with their intervals, each with the mark and color of the series; its name beside the last."""
        kind, mark = KINDS[number % len(KINDS)], MARKS[number % len(MARKS)]
        places = [self.place(point.x, point.y) for point in points]
        parts = [f'<path class="line {kind}" d="M{"L".join(f"{x:.1f} {y:.1f}" for x, y in places)}"/>'] if line else []
        for point, (x, y) in zip(points, places, strict=True):
            if point.low is not None and point.high is not None:
                (_, foot), (_, head) = self.place(point.x, point.low), self.place(point.x, point.high)
                parts.append(f'<path class="line {kind}" d="M{x - 4:.1f} {head:.1f}h8m-4 0V{foot:.1f}m-4 0h8"/>')
            parts.append(f'<path class="mark {kind}" transform="translate({x:.1f} {y:.1f})" d="{mark}"/>')
        if says:
            x, y = places[-1]
            parts.append(words(says, x + 12.0, y + 4.0, ""))
        return parts


def picture(parts: Iterable[str], *, wide: float, tall: float, says: str) -> str:
    """The whole picture; `says` is read out in its place."""
    box = f'viewBox="0 0 {wide:g} {tall:g}" width="{wide:g}" height="{tall:g}"'
    said = f'font-family="Atkinson Hyperlegible, sans-serif" font-size="13" role="img" aria-label="{escape(says)}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {box} {said}>'
    paper = '<rect class="paper" width="100%" height="100%"/>'
    return "\n".join((head, f"<style>{_style()}</style>", paper, *parts, "</svg>\n"))


def key(number: int, says: str, *, x: float, y: float) -> list[str]:
    """The mark of a series with its name, for where no name fits beside it. [px]"""
    kind, mark = KINDS[number % len(KINDS)], MARKS[number % len(MARKS)]
    return [
        f'<path class="mark {kind}" transform="translate({x:g} {y:g})" d="{mark}"/>',
        words(says, x + 12, y + 4, ""),
    ]


def words(said: str, x: float, y: float, class_: str = "") -> str:
    """A line of text at a place [px]; `class_` quiet, mid, end or head."""
    return f'<text class="{class_}" x="{x:.1f}" y="{y:.1f}">{escape(said)}</text>'


def _style() -> str:
    return f"{_ground('bright')}@media (prefers-color-scheme:dark){{{_ground('dim')}}}"


def _ground(ground: str) -> str:
    held = colors("dim" if ground == "dim" else "bright")
    plain = {
        ".paper": f"fill:{held['paper']}",
        ".band": f"fill:{held['shade']}",
        "text": f"fill:{held['ink']}",
        ".quiet": f"fill:{held['ink-2']}",
        ".head": "font-weight:bold;font-size:15px",
        ".mid": "text-anchor:middle",
        ".end": "text-anchor:end",
        ".rule": f"fill:none;stroke:{held['edge-ink']}",
        ".dash": f"fill:none;stroke:{held['edge-ink']};stroke-dasharray:4 4",
        ".line": "fill:none;stroke-width:2",
    }
    kinds = "".join(f".{kind}{{stroke:{held[kind]}}}.mark.{kind}{{fill:{held[kind]}}}" for kind in KINDS)
    return "".join(f"{name}{{{rules}}}" for name, rules in plain.items()) + kinds
