"""Steps older than the candidates: found one by one while they are plain, then held as columns.

A vehicle that changed hands of use or tires three years ago must not have that step spread over its season and
scatter. Greedy: the best date enters while its ln Bayes factor exceeds 3; its date is exact to one tank.
"""

import numpy as np

from lostgallon.fillups import prior
from lostgallon.fillups.columns import Columns, with_steps
from lostgallon.fillups.evidence import Null, candidates_of, log_bayes_factor, null_of
from lostgallon.fillups.scatter import Whitener, whiten
from lostgallon.fillups.tanks import Batch
from lostgallon.shop.spread import Floats

SPLIT = 3
"""The split of scatter in the middle of the grid: fill share .25, slow share .15, 60 days."""


def with_older_steps(batch: Batch, columns: Columns, whitener: Whitener) -> Columns:
    """The columns, and up to four older steps where a log is long enough to have them."""
    length = batch.valid.shape[1]
    first = np.arange(prior.OLDER_EDGE, length - prior.CANDIDATE_TANKS - prior.OLDER_EDGE + 1)
    if not len(first):
        return columns
    one = _one_split(whitener)
    place = np.arange(length)
    steps = (place[None, :] >= first[:, None]).astype(np.float64)
    white = whiten(one, steps[None])
    allowed = first[None, :] - (length - batch.count[:, None]) >= prior.OLDER_EDGE
    for _ in range(prior.OLDER_MOST):
        factor = _log_factors(null_of(batch, columns, one), white, allowed)
        best = factor.argmax(axis=1)
        found = factor[np.arange(len(best)), best] > prior.OLDER_LN_BAYES_FACTOR
        if not found.any():
            break
        near = np.abs(first[None, :] - first[best][:, None]) < prior.OLDER_EDGE
        allowed &= ~(near & found[:, None])
        columns = with_steps(columns, (steps[best] * found[:, None] * batch.valid)[..., None])
    return columns


def _one_split(whitener: Whitener) -> Whitener:
    chosen = slice(SPLIT, SPLIT + 1)
    return Whitener(
        diagonal=whitener.diagonal[:, chosen],
        below_1=whitener.below_1[:, chosen],
        below_2=whitener.below_2[:, chosen],
        carry=whitener.carry[:, chosen],
        log_det=whitener.log_det[:, chosen],
    )


def _log_factors(null: Null, white: Floats, allowed: np.ndarray[tuple[int, int], np.dtype[np.bool_]]) -> Floats:
    """Log Bayes factor of each step at the scale its log likes best, shape (logs, candidates)."""
    factor = log_bayes_factor(candidates_of(null, white), mean=0.0, variance=prior.OLDER_SD**2)[:, 0]
    score = factor + null.log_likelihood[:, 0, :, None] + null.log_prior[SPLIT, :, None]
    base = (null.log_likelihood[:, 0] + null.log_prior[SPLIT]).max(axis=1)
    return np.where(allowed, score.max(axis=1) - base[:, None], -np.inf)
