"""The rise as the account takes it: two pooled figures with honest widths, and the lasting change between them."""

import numpy as np

from lostgallon.fillups import prior
from lostgallon.fillups.evidence import candidates_of
from lostgallon.fillups.posterior import Model
from lostgallon.fillups.scatter import whiten
from lostgallon.fillups.season import Settled, grid_weight, season_doubt
from lostgallon.fillups.tanks import TankArrays, pooled_l_per_100km
from lostgallon.shop.filled import Rise
from lostgallon.shop.spread import Bools, Floats

NEAR_TANKS = 2
BACK_TANKS = 40
"""The good days are at most this many tanks before the change."""
LEAST_SEASON_SD = 0.012
"""What a month's own weather adds to a season known to the last digit; the residual of the season's prior."""


def rise_of(log: TankArrays, first: int, *, model: Model, settled: Settled, good_from: int | None = None) -> Rise:
    """The rise at the tank `first`.

    `mean_log` and `sd_log` are those of the likelihood (a flat belief about the size), so that whoever weighs causes
    adds his own prior once. Dates within two tanks of `first` count by how well they fit.

    Args:
        log: The log.
        first: Index of the first tank of "now".
        model: The same log as a batch of one.
        settled: What is settled about it, with the change taken out.
        good_from: Index of the first tank of the good days; the last BACK_TANKS before `first` where it is None.
    """
    grid = grid_weight(settled)
    length = model.batch.valid.shape[1]
    at = first - (len(log.days) - length)
    near = np.arange(max(at - NEAR_TANKS, 1), min(at + NEAR_TANKS, length - 1) + 1)
    place = np.arange(int(near.min()), length)
    steps = (place[None, None] >= near[None, :, None]).astype(np.float64)
    found = candidates_of(model.null, whiten(model.whitener, steps))
    information, estimate = found.information[0], found.estimate[0]
    weight = grid[..., None] * _fit(information, estimate)
    weight /= weight.sum()
    mean = float((weight * estimate).sum())
    variance = float((weight * (1.0 / information + estimate**2)).sum()) - mean**2
    index = np.arange(len(log.days))
    good_from = first - BACK_TANKS if good_from is None else good_from
    good, now = (index < first) & (index >= good_from), index >= first
    then_l_per_100km, now_l_per_100km = pooled_l_per_100km(log, good), pooled_l_per_100km(log, now)
    season_log = float(np.log(now_l_per_100km / then_l_per_100km)) - mean
    return Rise(
        mean_log=mean,
        sd_log=float(np.sqrt(max(variance, 1e-8))),
        then_l_per_100km=then_l_per_100km,
        then_log_sd=pooled_log_sd(log, good, grid=grid),
        now_l_per_100km=now_l_per_100km,
        now_log_sd=pooled_log_sd(log, now, grid=grid),
        tanks_then=int(good.sum()),
        tanks_now=int(now.sum()),
        season_log=season_log,
        season_sd=LEAST_SEASON_SD + abs(season_log) * season_doubt(settled),
    )


def _fit(information: Floats, estimate: Floats) -> Floats:
    """How well each date fits within its own (split, scale), shape of the candidates."""
    score = 0.5 * information * estimate**2 - 0.5 * np.log(information)
    return np.asarray(np.exp(score - score.max(axis=-1, keepdims=True)))


def pooled_log_sd(log: TankArrays, chosen: Bools, *, grid: Floats) -> float:
    """Standard deviation of the log of a pooled figure around the vehicle's lasting use, season aside.

    Own scatter falls with the number of tanks, the fill level only counts at the two ends, and slow wander of
    time constant T averages over D days to (2T/D)(1 - (T/D)(1 - exp(-D/T))) of its variance.

    Args:
        log: The log.
        chosen: Which tanks, shape (tanks,).
        grid: Weights of (split, scale), any positive sum.
    """
    count = max(int(chosen.sum()), 1)
    spells = max(float(log.days[chosen].sum()), 1.0) / prior.SLOW_DAYS
    slow = prior.SLOW_SHARE * 2.0 / spells * (1.0 - (1.0 - np.exp(-spells)) / spells)
    own = (1.0 - prior.FILL_SHARE - prior.SLOW_SHARE) / count
    variance = (own + prior.FILL_SHARE / count**2 + slow)[:, None] * prior.SCALES**2
    return float(np.sqrt((grid * variance).sum() / grid.sum()))
