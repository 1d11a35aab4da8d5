"""Did the fuel come back, where no log tells how it was before: the figures promised at the hand-back stand in for it.

ln(fuel per distance pooled over n whole tanks) is taken as normal about ln(as before) - share x fall, with the
variances of both figures (taken as independent) and scatter^2 / n of the tanks. The rule is that of proof.py: the
same shares, the same two E-values, said from 20 on. The promise is for the six weeks after the visit, so tanks are
counted for WEEKS of them only: later weather is another weather. Sources as in proof.py.
"""

import math
from dataclasses import dataclass

import numpy as np

from lostgallon.fillups.proof import SHARES, Returned, first_whole_tank, returned_by, share_prior
from lostgallon.fillups.tanks import TankArrays
from lostgallon.shop.spread import Floats, Spread

WEEKS = 12
"""Twice the six weeks that the promise speaks of. Chosen, no source."""
_Z90 = 1.6449


@dataclass(frozen=True)
class Promise:
    """What was written down before the fills: use had the work done nothing, and how much the work should take away.

    Both as the natural log's mean and standard deviation; `scatter` is the log's of one tank.
    """

    as_before: tuple[float, float]
    fall: tuple[float, float]
    scatter: float


def promise_of(as_before_l_per_100km: Spread, fall_pct: Spread, *, scatter: float) -> Promise:
    """A promise from its two figures.

    Args:
        as_before_l_per_100km: Use at the coming weather had the work done nothing.
        fall_pct: How much of it the work should take away, per cent.
        scatter: Standard deviation of one tank's use, as a fraction.
    """
    low, middle, high = (-math.log1p(-min(end, 90.0) / 100.0) for end in (fall_pct.p05, fall_pct.p50, fall_pct.p95))
    before = as_before_l_per_100km
    return Promise(
        as_before=(math.log(before.p50), math.log(before.p95 / before.p05) / (2.0 * _Z90)),
        fall=(middle, (high - low) / (2.0 * _Z90)),
        scatter=scatter,
    )


def whole_tanks(log: TankArrays, work_day: float) -> slice:
    """The tanks that count: begun on or after the day of the work, ended within WEEKS of it."""
    first = first_whole_tank(log, work_day)
    last = int((log.end_day <= work_day + 7.0 * WEEKS).sum())
    return slice(first, max(first, last))


def returned_by_promise(log: TankArrays, work_day: float, promise: Promise) -> Returned:
    """What the tanks after the work say of the promise.

    Args:
        log: The log; tanks before the work are not looked at.
        work_day: Ordinal of the day of the work.
        promise: What was promised.
    """
    counted = whole_tanks(log, work_day)
    tanks = counted.stop - counted.start
    if not tanks:
        return Returned(1.0, 1.0, share_prior(), 0)
    pooled = math.log(100.0 * float(log.volume_l[counted].sum()) / float(log.distance_km[counted].sum()))
    return returned_by(_scores(pooled, tanks, promise), tanks)


def _scores(pooled_log: float, tanks: int, promise: Promise) -> Floats:
    mean = promise.as_before[0] - SHARES * promise.fall[0]
    variance = promise.as_before[1] ** 2 + (SHARES * promise.fall[1]) ** 2 + promise.scatter**2 / tanks
    return np.asarray(-0.5 * (pooled_log - mean) ** 2 / variance - 0.5 * np.log(variance))
