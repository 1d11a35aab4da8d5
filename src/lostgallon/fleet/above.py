"""Single tanks far above their neighbors: which vehicles have more of them than slips explain.

Such tanks are no lasting rise, yet fuel that is taken out of the tank now and then looks like this. What slips do is
learned from the fleet: a vehicle's rate of them is Gamma(shape, shape / mean); tanks far below are Poisson at it,
for nothing but a slip makes them; tanks far above at that rate times what the fleet has above for each below. Where
fuel is taken, more come on top at a rate of Gamma(2) with mean one tank in ten. Chances follow by Bayes' rule at the
share that the fleet itself shows (EM). Source: A. Gelman et al., Bayesian Data Analysis, 3rd edition, 2013, section 2.7
(Poisson counts with Gamma rates give negative binomial ones); widths are chosen.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from lostgallon.fleet.discoveries import LEAST_SHARE, MOST_SHARE, ROUNDS
from lostgallon.fleet.tanks import Index
from lostgallon.shop.spread import Floats

LEAST_ABOVE = 3
"""Fewer are never named: two can be one trip with a trailer, there and back."""
SHAPES = np.geomspace(0.1, 2.0, 12)
"""Vehicles differ in their rate of slips by at least 1/sqrt(2) of it: towing and idling are far above alone."""
USUAL_RATE, WORTH_TANKS = 0.005, 200.0
"""Slips a tank where the fleet says nothing, and how many tanks that counts for. Chosen."""
TAKEN_SHAPE, TAKEN_RATE = 2.0, 0.10


@dataclass(frozen=True)
class Slips:
    """How slips spread in a fleet: mean rate a tank, shape of its Gamma, and slips far above for each far below."""

    rate: float
    shape: float
    above_to_below: float


def chance_of_excess(tanks: Index, above: Index, below: Index) -> Floats:
    """Chance that more tanks are far above than slips explain, for each vehicle, shape (vehicles,).

    Args:
        tanks: All measured tanks of each vehicle.
        above: Of these far above their neighbors, with no neighbor that makes up for it.
        below: The same, far below.
    """
    if not len(tanks):
        return np.zeros(0)
    (tanks, above, below), place, weight = _different(np.stack([tanks, above, below]))
    rate, shape = _rate_and_shape(tanks, below, weight)
    excess, ratio, share = np.zeros(len(tanks)), 1.0, 0.05
    for _ in range(ROUNDS):
        nothing, some = _both(Slips(rate, shape, ratio), tanks, above=above, below=below)
        excess = share * some / (share * some + (1.0 - share) * nothing)
        share = float(np.clip(np.average(excess, weights=weight), LEAST_SHARE, MOST_SHARE))
        sound = weight * (1.0 - excess)
        ratio = float((1.0 + sound @ above) / (1.0 + sound @ below))
    return np.asarray(np.where(above >= LEAST_ABOVE, excess, 0.0)[place])


def _different(counts: Index) -> tuple[Iterable[Index], Index, Floats]:
    """Vehicles with the same counts are worked on once: counts, where each vehicle's stand, how many share them."""
    found, place, times = np.unique(counts, axis=1, return_inverse=True, return_counts=True)
    return found, np.asarray(place).reshape(-1), times.astype(np.float64)


def _rate_and_shape(tanks: Index, below: Index, weight: Floats) -> tuple[float, float]:
    """Mean rate of slips from the tanks far below, and its shape by maximum likelihood on a grid."""
    rate = float((weight @ below + USUAL_RATE * WORTH_TANKS) / (weight @ tanks + WORTH_TANKS))
    likely = [
        float(weight @ np.log(_negative_binomial(below, np.full(len(tanks), shape), rate / shape * tanks)))
        for shape in SHAPES
    ]
    return rate, float(SHAPES[int(np.argmax(likely))])


def _both(slips: Slips, tanks: Index, *, above: Index, below: Index) -> tuple[Floats, Floats]:
    """Probability of the tanks far above by slips alone, and with more on top; those far below are known."""
    own_shape: Floats = np.asarray(slips.shape + below)
    own_scale: Floats = np.asarray(slips.above_to_below * tanks / (slips.shape / slips.rate + tanks))
    taken_shape: Floats = np.full(len(tanks), TAKEN_SHAPE)
    taken_scale: Floats = np.asarray(TAKEN_RATE / TAKEN_SHAPE * tanks)
    some = np.zeros(len(tanks))
    for taken in range(int(above.max()) + 1):
        slipped = _negative_binomial(np.maximum(above - taken, 0), own_shape, own_scale)
        more = _negative_binomial(np.full(len(tanks), taken), taken_shape, taken_scale)
        some += np.where(above >= taken, slipped * more, 0.0)
    return _negative_binomial(above, own_shape, own_scale), some


def _negative_binomial(count: Index, shape: Floats, scale: Floats) -> Floats:
    """Probability of a Poisson count whose mean is Gamma(shape) times scale, arrays of one shape."""
    log = -shape * np.log1p(scale)
    odds = np.log(scale) - np.log1p(scale)
    for nth in range(int(count.max())):
        log += np.where(count > nth, np.log((shape + nth) / (nth + 1.0)) + odds, 0.0)
    return np.asarray(np.exp(np.maximum(log, -600.0)))
