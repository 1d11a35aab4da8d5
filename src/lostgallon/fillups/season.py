"""What the log itself says about the season: per 10 degrees of cold, and winter over summer."""

import numpy as np

from lostgallon.fillups.columns import with_steps
from lostgallon.fillups.evidence import null_of
from lostgallon.fillups.posterior import Model
from lostgallon.fillups.prior import SCALES
from lostgallon.shop.spread import Floats, Spread

Z90 = 1.6449
"""95 % point of the standard normal."""


def season_of(model: Model, step: Floats | None) -> tuple[Spread | None, Spread | None]:
    """Posterior of the season of one log: per 10 degrees colder [%] (with temperatures), winter over summer [%].

    Args:
        model: The batch of one log.
        step: The likeliest change as a column, shape (tanks,), taken out of the season; None for none.
    """
    columns = model.columns if step is None else with_steps(model.columns, step[None, :, None])
    null = null_of(model.batch, columns, model.whitener)
    grid = (null.log_prior + null.log_likelihood)[0]
    weight = np.exp(grid - grid.max())
    weight /= weight.sum()
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


def _percent(log: float, sd: float) -> Spread:
    points = 100.0 * np.expm1([log - Z90 * sd, log, log + Z90 * sd])
    return Spread(float(100.0 * np.expm1(log + sd**2 / 2.0)), *map(float, points))
