"""What all vehicles of a fleet do in the same month (weather, blend) is nobody's loss."""

import numpy as np

from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fleet.tanks import FleetTanks
from lostgallon.shop.spread import Floats

LEAST_TANKS = 200
"""Tanks in a month from which the fleet's own middle is trusted: its error is then under half a per cent."""
OWN_SEASON = SeasonPrior(first_cos=(0.0, 0.02), first_sin=(0.0, 0.015), second=(0.0, 0.008))
"""What is left of a vehicle's own season once the fleet's is taken out. Chosen."""


def month_effect(tanks: FleetTanks) -> tuple[Floats, bool]:
    """Log fuel of each tank that its month explains, shape (tanks,), and whether the fleet is large enough for it.

    The middle, over the fleet, of a tank's log fuel less its vehicle's own middle; a month with few tanks has none.
    """
    log_fuel = np.log(tanks.volume_l / tanks.distance_km)
    counts = np.diff(tanks.starts)
    own = np.array([np.median(log_fuel[low:high]) for low, high in zip(tanks.starts, tanks.starts[1:], strict=False)])
    off = log_fuel - np.repeat(own, counts)
    mid_day = (tanks.end_day - tanks.days / 2.0 - 719163.0).astype(np.int64).astype("datetime64[D]")
    month = mid_day.astype("datetime64[M]").astype(np.int64)
    effect = np.zeros(len(off))
    known = np.zeros(len(off), dtype=np.bool_)
    for each in np.unique(month):
        here = month == each
        if here.sum() >= LEAST_TANKS:
            effect[here], known[here] = np.median(off[here]), True
    if not len(off) or known.mean() < 0.8:
        return np.zeros(len(off)), False
    return effect, True
