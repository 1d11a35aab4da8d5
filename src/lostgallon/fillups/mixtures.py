"""Points of a mixture of normals, by Newton's method inside a shrinking bracket."""

import numpy as np

from lostgallon.fillups.loops import FAR_SD, NEAR_ENOUGH, ROUNDS, START
from lostgallon.fillups.machine import MACHINE
from lostgallon.fillups.normal import normal_below
from lostgallon.shop.spread import Floats

LEVELS = np.array([0.05, 0.5, 0.95])


def mixture_quantiles(weight: Floats, mean: Floats, sd: Floats) -> Floats:
    """5, 50 and 95 % points of a mixture of normals.

    Args:
        weight: Of the components, shape (logs, components); any positive sum.
        mean: Same shape.
        sd: Same shape.

    Returns:
        Shape (logs, 3).
    """
    found = np.zeros((len(weight), len(LEVELS)))
    if MACHINE.loops:
        MACHINE.loops.quantiles(*(np.ascontiguousarray(each) for each in (weight, mean, sd)), LEVELS, found)
        return found
    for row in range(len(weight)):
        some = weight[row] > 0.0
        if some.any():
            found[row] = _points(weight[row, some] / weight[row, some].sum(), mean[row, some], sd[row, some])
    return found


def _points(weight: Floats, mean: Floats, sd: Floats) -> Floats:
    """The points of one mixture whose weights sum to one, shape (3,)."""
    center = float(weight @ mean)
    wide = np.sqrt(max(float(weight @ (mean**2 + sd**2)) - center**2, 1e-300))
    left, right = (np.full(3, end) for end in ((mean - FAR_SD * sd).min(), (mean + FAR_SD * sd).max()))
    at, open_still = center + wide * START * (LEVELS - 0.5), np.ones(3, dtype=np.bool_)
    for _ in range(ROUNDS):
        score = (at[:, None] - mean) / sd
        off = normal_below(score) @ weight - LEVELS
        steep = np.exp(-0.5 * np.minimum(np.abs(score), 38.0) ** 2) @ (weight / sd) / np.sqrt(2.0 * np.pi)
        left, right = np.where(off > 0.0, left, at), np.where(off > 0.0, at, right)
        step = at - off / np.maximum(steep, 1e-300)
        better = np.where((left <= step) & (step <= right), step, 0.5 * (left + right))
        at = np.where(open_still, better, at)
        open_still &= np.abs(off) >= NEAR_ENOUGH
        if not open_still.any():
            break
    return np.asarray(at)
