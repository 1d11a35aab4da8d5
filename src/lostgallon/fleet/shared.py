"""What vehicles of a fleet do together (weather, blend, a region's winter, a body's answer to cold) is nobody's loss.

A tank's ln fuel less its vehicle's own middle is counted into bins: by week, and by region, body and month. Counts of
pieces add exactly, so that the effects do not depend on how a fleet was cut. Effects are medians peeled off one by one
(J. W. Tukey, Exploratory Data Analysis, 1977, chapter 10): the month, the week within it, the region's month, the
body's month; the finer ones are shrunk to none by n / (n + 14), since the median of n tanks of scatter .06 varies by
pi/2 (.06^2)/n and such effects by about .02^2.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
import polars as pl

from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fleet.tanks import EPOCH, FleetTanks, Index
from lostgallon.shop.spread import Floats

LEAST_TANKS = 200
"""Tanks in a month from which the fleet's own middle is trusted: its error is then under half a per cent."""
LEAST_IN_A_CELL = 60
"""Tanks in a week, or in a month of a region or body, from which it is looked at by itself."""
HALF_WEIGHT_TANKS = 14.0
LEAST_SHARE = 0.8
BINS, WIDTH = 200, 0.005
"""Bins from -.5 to .5; a median between them is interpolated."""
OWN_SEASON = SeasonPrior(first_cos=(0.0, 0.02), first_sin=(0.0, 0.015), second=(0.0, 0.008))
"""What is left of a vehicle's own season once the fleet's is taken out. Chosen."""

Cell = tuple[str, str, int]
Histogram = np.ndarray[tuple[int], np.dtype[np.int64]]


@dataclass
class Counts:
    """Tanks counted into bins: by week, and by (region, body, month). Filled piece by piece."""

    weeks: dict[int, Histogram] = field(default_factory=dict)
    cells: dict[Cell, Histogram] = field(default_factory=dict)

    def add(self, tanks: FleetTanks) -> None:
        """Counts the tanks of a piece."""
        if not len(tanks.days):
            return
        off = off_own_middle(tanks)
        place = np.clip(((off + 0.5 * BINS * WIDTH) / WIDTH).astype(np.int64), 0, BINS - 1)
        week, month = weeks_of(tanks), months_of(tanks)
        for one, histogram in _histograms(week, place):
            self.weeks[int(one)] = self.weeks.get(int(one), 0) + histogram
        groups, names = _groups(tanks)
        base = int(month.min())
        span = int(month.max()) - base + 1
        for one, histogram in _histograms(groups * span + month - base, place):
            key = (*names[int(one) // span], int(one) % span + base)
            self.cells[key] = self.cells.get(key, 0) + histogram

    def include(self, other: "Counts") -> None:
        """Adds what was counted elsewhere."""
        for week, histogram in other.weeks.items():
            self.weeks[week] = self.weeks.get(week, 0) + histogram
        for cell, histogram in other.cells.items():
            self.cells[cell] = self.cells.get(cell, 0) + histogram


@dataclass(frozen=True)
class Shared:
    """ln fuel that a week, a region's month and a body's month explain; empty where the fleet is too small."""

    week: dict[int, float]
    region: dict[tuple[str, int], float]
    body: dict[tuple[str, int], float]
    southern: bool = False

    @property
    def season(self) -> SeasonPrior:
        """What is believed of a vehicle's season besides them."""
        return OWN_SEASON if self.week else SeasonPrior(southern=self.southern)

    def of(self, tanks: FleetTanks) -> Floats:
        """The effect on every tank, shape (tanks,)."""
        if not self.week or not len(tanks.days):
            return np.zeros(len(tanks.days))
        week, month = weeks_of(tanks), months_of(tanks)
        effect = _looked_up(week, self.week)
        groups, names = _groups(tanks)
        for number, (region, body) in enumerate(names):
            here = groups == number
            for table, name in ((self.region, region), (self.body, body)):
                own = {each: size for (whose, each), size in table.items() if whose == name}
                if own:
                    effect[here] += _looked_up(month[here], own)
        return effect


def shared_of(counts: Counts, *, southern: bool) -> Shared:
    """The effects that a fleet's counts show."""
    months: dict[int, Histogram] = {}
    for (_, _, month), histogram in counts.cells.items():
        months[month] = months.get(month, 0) + histogram
    large = {month: middle(each) for month, each in months.items() if each.sum() >= LEAST_TANKS}
    known = sum(int(months[month].sum()) for month in large)
    if not known or known < LEAST_SHARE * sum(int(each.sum()) for each in months.values()):
        return Shared({}, {}, {}, southern)
    week = {number: _week(number, histogram, large) for number, histogram in counts.weeks.items()}
    regions, bodies = {key[0] for key in counts.cells}, {key[1] for key in counts.cells}
    region = _peeled(counts, 0, large, {}) if len(regions) > 1 else {}
    body = _peeled(counts, 1, large, region) if len(bodies) > 1 else {}
    return Shared(week, region, body, southern)


def _week(number: int, histogram: Histogram, months: dict[int, float]) -> float:
    """A week's own effect, shrunk to its month's."""
    month = int(_month_of_day(np.array([number * 7.0 + 3.0]))[0])
    base = months.get(month, months[min(months, key=lambda each: abs(each - month))])
    count = int(histogram.sum())
    if count < LEAST_IN_A_CELL:
        return base
    return base + (middle(histogram) - base) * count / (count + HALF_WEIGHT_TANKS)


def _peeled(
    counts: Counts, which: int, months: dict[int, float], region: dict[tuple[str, int], float]
) -> dict[tuple[str, int], float]:
    """What is left for a region's (0) or a body's (1) months once months, and regions where given, are taken out."""
    parts: dict[tuple[str, int], list[tuple[float, Histogram]]] = {}
    for key, histogram in counts.cells.items():
        taken = months.get(key[2], 0.0) + region.get((key[0], key[2]), 0.0)
        parts.setdefault((str(key[which]), key[2]), []).append((taken, histogram))
    found = {}
    for cell, told in parts.items():
        count = sum(int(histogram.sum()) for _, histogram in told)
        if count >= LEAST_IN_A_CELL and cell[1] in months:
            found[cell] = _middle_of(told) * count / (count + HALF_WEIGHT_TANKS)
    return found


def _middle_of(told: Iterable[tuple[float, Histogram]]) -> float:
    """Median of several histograms, each moved down by its own amount: bins between bins share their tanks."""
    total = np.zeros(BINS)
    for taken, histogram in told:
        whole, part = divmod(taken / WIDTH, 1.0)
        for shift, share in ((int(whole), 1.0 - part), (int(whole) + 1, part)):
            places = np.clip(np.arange(BINS) - shift, 0, BINS - 1)
            np.add.at(total, places, share * histogram)
    return middle(total)


def middle(histogram: Histogram | Floats) -> float:
    """Median of what was counted into bins, interpolated inside its bin."""
    below = np.cumsum(histogram)
    half = below[-1] / 2.0
    place = int(np.searchsorted(below, half))
    before = below[place - 1] if place else 0.0
    inside = (half - before) / max(float(histogram[place]), 1e-12)
    return float((place + inside) * WIDTH - 0.5 * BINS * WIDTH)


def off_own_middle(tanks: FleetTanks) -> Floats:
    """Log fuel per distance of every tank less its vehicle's median, shape (tanks,)."""
    owner = np.repeat(np.arange(len(tanks.counts)), tanks.counts)
    fuel = pl.DataFrame({"owner": owner, "log": np.log(tanks.volume_l / tanks.distance_km)})
    return fuel.select(pl.col("log") - pl.col("log").median().over("owner")).to_series().to_numpy()


def weeks_of(tanks: FleetTanks) -> Index:
    """Number of the week of each tank's mid date."""
    return np.asarray(np.floor(_since_epoch(tanks) / 7.0).astype(np.int64))


def months_of(tanks: FleetTanks) -> Index:
    """Number of the month of each tank's mid date."""
    return _month_of_day(_since_epoch(tanks))


def _since_epoch(tanks: FleetTanks) -> Floats:
    return np.asarray(tanks.end_day - tanks.days / 2.0 - EPOCH)


def _month_of_day(days: Floats) -> Index:
    return np.asarray(days.astype(np.int64).astype("datetime64[D]").astype("datetime64[M]").astype(np.int64))


def _groups(tanks: FleetTanks) -> tuple[Index, list[tuple[str, str]]]:
    """Number of each tank's (region, body), and what the numbers mean."""
    pairs = tanks.vehicles.select("region", "body")
    names = pairs.unique().sort("region", "body").with_row_index("number")
    own = pairs.join(names, on=["region", "body"], how="left", maintain_order="left")["number"]
    return np.repeat(own.to_numpy().astype(np.int64), tanks.counts), names.drop("number").rows()


def _histograms(key: Index, place: Index) -> Iterable[tuple[int, Histogram]]:
    different, which = np.unique(key, return_inverse=True)
    counted = np.bincount(which * BINS + place, minlength=len(different) * BINS).reshape(-1, BINS)
    return zip(different.tolist(), counted, strict=True)


def _looked_up(key: Index, table: dict[int, float]) -> Floats:
    different, which = np.unique(key, return_inverse=True)
    return np.array([table.get(int(each), 0.0) for each in different])[which]
