"""Draws how far what was said came true, from the long studies: python -m tools.reliability.

The account's figures are those that `python -m tests.hard.account --json` printed (tests/hard/found/account.json); the
fill-ups' stand in docs/fillups.md. Intervals are Wilson's at 90 % (Wilson, 1927, JASA 22, 209-212), as if every count
were independent; those of one visit are not quite.
"""

import json
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from tools.chart import Plot, Point, Scale, key, picture, words

ROOT = Path(__file__).resolve().parent.parent
PICTURES = ROOT / "docs" / "pictures"
FOUND = ROOT / "tests" / "hard" / "found" / "account.json"
FILLUPS = ROOT / "docs" / "fillups.md"
SAID_WAS = re.compile(r"^\| - said / was \(logs\) by bin \| ([^|]*) \|", re.MULTILINE)
TRIPLE = re.compile(r"([\d.]+)/([\d.]+) \((\d+)\)")
WHOLE = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
SMALL = (0.001, 0.01, 0.1, 1.0)
COVERED = ("real rise", "remainder", "entries in play", "fault total")
BAND = (0.87, 0.95)
Bin = tuple[float, float, int]
"""Mean of what was said, share of what was, count."""


def wilson(share: float, count: int, *, reach: float = 1.6449) -> tuple[float, float]:
    """Ends of the interval of a share seen in `count` tries; `reach` in standard deviations, here for 90 %."""
    middle = (share + reach**2 / (2 * count)) / (1 + reach**2 / count)
    half = reach / (1 + reach**2 / count) * (share * (1 - share) / count + (reach / (2 * count)) ** 2) ** 0.5
    return max(middle - half, 0.0), min(middle + half, 1.0)


def points(bins: Sequence[Bin]) -> list[Point]:
    """What was over what was said, with its interval."""
    return [Point(said, was, *wilson(was, count)) for said, was, count in bins]


def account_bins(found: dict[str, Any]) -> list[Bin]:
    """Presence as the account says it, by worth, on the blind visits."""
    rows = found["visits"]["value"]["calibration"]["said, was, count"]
    return [(said, was, count) for said, was, count in rows]


def fillup_bins(page: str) -> list[list[Bin]]:
    """The bins of the fill-up study: normal scatter, then scatter with heavy tails."""
    lines = SAID_WAS.findall(page)
    return [[(float(said), float(was), int(count)) for said, was, count in TRIPLE.findall(line)] for line in lines]


def reliability(bins: Sequence[Bin], title: str) -> str:
    """Two fields: all of it on a plain rule, and the small probabilities on a logarithmic one."""
    plain = Plot(Scale(0.0, 1.0, WHOLE, "said"), Scale(0.0, 1.0, WHOLE, "was"))
    fine = Plot(
        Scale(0.001, 1.0, SMALL, "said, logarithmic", log=True), Scale(0.001, 1.0, SMALL, "was", log=True), left=520.0
    )
    told = points(bins)
    parts = [*plain.frame(title), plain.diagonal(), *plain.series(told, 0)]
    parts += [*fine.frame("the same, small ones apart"), fine.diagonal(), *fine.series(told, 0)]
    return picture(parts, wide=920.0, tall=460.0, says=f"{title}: what was over what was said, 90 % intervals")


def fillup_reliability(page: str) -> str:
    """One field, a series for each kind of scatter."""
    plot = Plot(Scale(0.0, 1.0, WHOLE, "said"), Scale(0.0, 1.0, WHOLE, "was"))
    title = "Fill-ups: probability of a lasting change, 12 000 logs each"
    parts = [*plot.frame(title), plot.diagonal()]
    for number, (bins, name) in enumerate(
        zip(fillup_bins(page), ("normal scatter", "scatter with t4 tails"), strict=True)
    ):
        beside = [(said + 0.012 * (number - 0.5), was, count) for said, was, count in bins]  # so that neither is hidden
        parts += plot.series(points(beside), number)
        parts += key(number, name, x=90.0, y=66.0 + 22.0 * number)
    return picture(parts, wide=460.0, tall=460.0, says=f"{title}: what was over what was said, 90 % intervals")


def coverage(found: dict[str, Any]) -> str:
    """How often the 90 % intervals held the truth, against the band that was asked for."""
    plot = Plot(
        Scale(0.5, 4.5, (), "circle: 500 visits; square: 100 winter visits without a fault; the band was asked for"),
        Scale(0.7, 1.0, (0.7, 0.8, 0.87, 0.95, 1.0), "held the truth"),
        wide=520.0,
    )
    title = "Account: how often a 90 % interval held the truth"
    parts = [plot.band(*BAND), *plot.frame(title)]
    for at, what in enumerate(COVERED, 1):
        parts.append(words(what, *plot.place(at, 0.71), "mid"))
    for number, part in enumerate(("visits", "winter, no fault")):
        told = found[part]["value"]
        held = [(at + 0.2 * number, told["coverage"][what]) for at, what in enumerate(COVERED, 1)]
        parts += plot.series([Point(x, share, *wilson(share, told["visits"])) for x, share in held], number)
    return picture(parts, wide=620.0, tall=460.0, says=f"{title}; the band is .87 to .95")


def pictures() -> dict[str, str]:
    """Every picture of this page by the name of its file."""
    found = json.loads(FOUND.read_text("utf-8"))
    return {
        "reliability-account.svg": reliability(account_bins(found), "Account: probability that a cause is there"),
        "coverage-account.svg": coverage(found),
        "reliability-fillups.svg": fillup_reliability(FILLUPS.read_text("utf-8")),
    }


if __name__ == "__main__":
    for name, drawn in pictures().items():
        (PICTURES / name).write_text(drawn, "utf-8")
        print(PICTURES / name)
