"""What the log itself says about the season: per 10 degrees of cold, and winter over summer."""

from dataclasses import dataclass

import numpy as np

from lostgallon.fillups.columns import Columns, with_steps
from lostgallon.fillups.evidence import Null, null_of
from lostgallon.fillups.posterior import Model
from lostgallon.fillups.prior import SCALES
from lostgallon.shop.spread import Floats, Spread

Z90 = 1.6449
"""95 % point of the standard normal."""


@dataclass(frozen=True)
class Settled:
    """One log with its likeliest change, if any, taken in as a column."""

    columns: Columns
    null: Null


def settled_on(model: Model, step: Floats | None) -> Settled:
    """The log with its likeliest change as a column.

    Args:
        model: The batch of one log.
        step: The change, shape (tanks,); None for none.
    """
    if step is None:
        return Settled(model.columns, model.null)
    columns = with_steps(model.columns, step[None, :, None])
    return Settled(columns, null_of(model.batch, columns, model.whitener))


def grid_weight(settled: Settled) -> Floats:
    """Weight of each (split, scale), summing to one."""
    grid = (settled.null.log_prior + settled.null.log_likelihood)[0]
    weight = np.exp(grid - grid.max())
    return np.asarray(weight / weight.sum())


def season_of(settled: Settled) -> tuple[Spread | None, Spread | None]:
    """Posterior of the season of one log: per 10 degrees colder [%] (with temperatures), winter over summer [%]."""
    columns, null, weight = settled.columns, settled.null, grid_weight(settled)
    spread = null.eigen[0, :, None, :] + (SCALES**2)[None, :, None]
    root = columns.sd[0]
    rotated = null.rotated_target[0, :, None, :] / spread
    mean = columns.mean[0] + root * np.einsum("hpq,hsq->hsp", null.rotation[0], rotated)
    variance = root**2 * np.einsum("hpq,hsq->hsp", null.rotation[0] ** 2, (SCALES**2)[None, :, None] / spread)
    average = np.einsum("hs,hsp->p", weight, mean)
    square = np.einsum("hs,hsp->p", weight, variance + mean**2) - average**2
    names = columns.names
    if "cold_per_k" in names:
        at = names.index("cold_per_k")
        return _percent(10.0 * average[at], 10.0 * float(np.sqrt(square[at]))), None
    at = names.index("wave_0")
    return None, _percent(2.0 * average[at], 2.0 * float(np.sqrt(square[at])))


def season_doubt(settled: Settled) -> float:
    """Standard deviation of the season over its size: how well one log knows it. [-]"""
    per_10c, winter = season_of(settled)
    known = per_10c or winter
    if known is None or known.p50 == 0.0:
        return 1.0
    return min(1.0, abs((known.p95 - known.p05) / (2.0 * Z90 * known.p50)))


def _percent(log: float, sd: float) -> Spread:
    points = 100.0 * np.expm1([log - Z90 * sd, log, log + Z90 * sd])
    return Spread(float(100.0 * np.expm1(log + sd**2 / 2.0)), *map(float, points))
