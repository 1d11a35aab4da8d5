"""From a measured fact to a likelihood ratio for a cause: bell curves in a data table, one physical fact at a time.

A cause that is there shows itself in the fact with a stated chance; otherwise the fact looks as if it were not there.
Other causes that look alike share the ratio, and a few readings in a hundred are wrong for no reason worth knowing.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from lostgallon.shop.channels import table

STRAY_SHARE = 0.015
STRAY_WIDTHS = 12.0
"""Readings wrong for an unknown reason: their share, and how many sd of the sound curve they spread over."""
CAP = 30.0
SPEAKS_FOR = 4.0
"""From this ratio on a drive is said to speak for a cause."""
SPEAKS_AGAINST = 1.0 / SPEAKS_FOR


@dataclass(frozen=True)
class Bell:
    """A fact under one state: where it lies, how it spreads, how often the state shows in it, how common it is."""

    mean: float
    sd: float
    shows: float
    prior: float

    def density(self, value: float, sd_measured: float) -> float:
        """Density of a measured value, the spread of the measurement added."""
        return normal_density(value, self.mean, math.hypot(self.sd, sd_measured))


def normal_density(value: float, mean: float, sd: float) -> float:
    """Density of a normal distribution."""
    return math.exp(-0.5 * ((value - mean) / sd) ** 2) / (sd * math.sqrt(2.0 * math.pi))


def capped(ratio: float) -> float:
    """A ratio within what one log may say."""
    return min(max(ratio, 1.0 / CAP), CAP)


@cache
def bells() -> Mapping[str, Mapping[str, Bell]]:
    """All bell curves: fact, then state."""
    found: dict[str, dict[str, Bell]] = {}
    for row in table("drive_evidence.csv"):
        bell = Bell(float(row["mean"]), float(row["sd"]), float(row["shows"]), float(row["prior"]))
        found.setdefault(row["fact"], {})[row["state"]] = bell
    return found


def ratios(
    fact: str, value: float, *, sd_measured: float = 0.0, shows: Mapping[str, float] | None = None
) -> dict[str, float]:
    """Likelihood ratio of a fact for every cause that the table knows for it.

    Args:
        fact: A fact of data/drive_evidence.csv.
        value: The fact as measured, in the table's unit.
        sd_measured: Standard deviation of the measurement, same unit.
        shows: Chances of showing that hold for this drive instead of the table's.
    """
    states = bells()[fact]
    sound = states["sound"]
    stray = STRAY_SHARE / (STRAY_WIDTHS * sound.sd)
    base = (1.0 - STRAY_SHARE) * sound.density(value, sd_measured) + stray
    seen = {
        cause: (bell.density(value, sd_measured), (shows or {}).get(cause, bell.shows), bell.prior)
        for cause, bell in states.items()
        if cause != "sound"
    }
    return {
        cause: capped(_ratio(density, chance, _others(base, seen, cause)))
        for cause, (density, chance, _) in seen.items()
    }


def _others(base: float, seen: Mapping[str, tuple[float, float, float]], cause: str) -> float:
    """Density of the fact without this cause: sound, or another cause that shows."""
    density = base
    for other, (of_other, shows, prior) in seen.items():
        if other != cause:
            density += prior * shows * (of_other - base)
    return density


def _ratio(density: float, shows: float, without: float) -> float:
    return shows * density / without + (1.0 - shows)
