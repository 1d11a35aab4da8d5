"""Three explanations of a log side by side: nothing beyond scatter and season, use changed, the vehicle."""

from dataclasses import dataclass

import numpy as np

from lostgallon.fillups import prior
from lostgallon.fillups.changes import KINDS, SizePrior, Starts, size_prior, starts_of, step_columns
from lostgallon.fillups.columns import Columns, columns_of
from lostgallon.fillups.evidence import Candidate, Null, candidates_of, log_bayes_factor, null_of
from lostgallon.fillups.machine import MACHINE
from lostgallon.fillups.normal import log_sum, normal_below
from lostgallon.fillups.older import with_older_steps
from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fillups.scatter import Whitener, own_variance, tail_weights, whiten, whitener_of
from lostgallon.fillups.tanks import Batch
from lostgallon.shop.spread import Floats

LEAST_LOG_WEIGHT = -11.0
"""A kind or date with less prior weight than this (1 in 60 000) is not worked on."""
OWN_VARIANCE = np.array([prior.VEHICLE_SD**2, 1e-12, prior.VEHICLE_SD**2])
"""Prior variance of the vehicle's part of a change, by kind."""
GRID_LOG_SCALES = np.tile(np.log(prior.SCALES), len(prior.SPLIT_WEIGHT))
"""ln scale of every (split, scale)."""


@dataclass(frozen=True)
class Model:
    """Everything of a batch that does not depend on a change."""

    batch: Batch
    columns: Columns
    whitener: Whitener
    null: Null


@dataclass(frozen=True)
class Posterior:
    """What the tanks say, per log.

    `nothing`, `vehicle`, `use`, `both` add up to one; `vehicle_rise` is the probability of a rise on the vehicle's
    side, `any_rise` of any; `log_bayes_factor` natural, any change over none. `weight` (logs, kinds, candidates)
    sums to one over all given a change; `size_mean`, `size_sd` (logs, kinds, candidates) describe the whole change,
    `own_mean`, `own_sd` its part on the vehicle's side; steps come first, then ramps.
    """

    starts: Starts
    nothing: Floats
    vehicle: Floats
    use: Floats
    both: Floats
    vehicle_rise: Floats
    any_rise: Floats
    log_bayes_factor: Floats
    weight: Floats
    size_mean: Floats
    size_sd: Floats
    own_mean: Floats
    own_sd: Floats
    scatter: Floats


def model_of(batch: Batch, season: SeasonPrior) -> Model:
    """Columns, scatter and the marginal likelihood without a change, older steps taken up first."""
    columns = columns_of(batch, season)
    own = own_variance(batch, tail_weights(batch, columns))
    whitener = whitener_of(batch, own)
    columns = with_older_steps(batch, columns, whitener)
    return Model(batch, columns, whitener, null_of(batch, columns, whitener))


def weigh(batch: Batch, season: SeasonPrior, *, since_day: Floats | None = None) -> Posterior:
    """Weighs the three explanations of every log of a batch.

    Args:
        batch: The logs; each needs at least 5 tanks (3 before a change, 2 after).
        season: Priors of the season; temperature slopes are used where every tank has a temperature.
        since_day: Owner's dates as ordinals, shape (logs,), NaN where none.
    """
    model = model_of(batch, season)
    starts = starts_of(batch, since_day=since_day)
    return posterior_of(model.null, starts, candidates_at(model, starts))


def candidates_at(model: Model, starts: Starts) -> Candidate:
    """Information and estimate of every step and ramp."""
    length = model.batch.valid.shape[1]
    steps = step_columns(starts, length)
    last = np.zeros((1, 1, steps.shape[-1]))
    last[..., -1] = 1.0
    white = whiten(model.whitener, np.concatenate([last, steps], axis=1))
    return candidates_of(model.null, white, ramps=True)


def posterior_of(null: Null, starts: Starts, candidate: Candidate) -> Posterior:
    """Sums over the grid, dates and kinds; moment-matched normals per date and kind."""
    sizes = size_prior(starts)
    grid = null.log_prior + null.log_likelihood
    log_none = log_sum(grid, axis=(1, 2))
    grid = (grid - log_none[:, None, None]).reshape(len(grid), -1)
    sums = _kind_sums(grid, candidate, sizes)
    top = np.maximum(sums.log_weight.max(axis=(1, 2)), -700.0)
    joint = np.exp(sums.log_weight - top[:, None, None])
    some = np.maximum(joint.sum(axis=(1, 2)), 1e-300)
    log_factor = np.log(some) + top
    odds = np.exp(np.clip(-log_factor, -700.0, 700.0)) * (1.0 - prior.P_CHANGE) / prior.P_CHANGE
    changed = 1.0 / (1.0 + odds)
    weight = joint / some[:, None, None]
    kind = weight.sum(axis=2)
    own_rise = (weight * normal_below(sums.own_mean / sums.own_sd))[:, [0, 2]].sum(axis=(1, 2))
    any_rise = (weight * normal_below(sums.size_mean / sums.size_sd)).sum(axis=(1, 2))
    return Posterior(
        starts=starts,
        nothing=1.0 - changed,
        vehicle=changed * kind[:, 0],
        use=changed * kind[:, 1],
        both=changed * kind[:, 2],
        vehicle_rise=changed * own_rise,
        any_rise=changed * any_rise,
        log_bayes_factor=log_factor,
        weight=weight,
        size_mean=sums.size_mean,
        size_sd=sums.size_sd,
        own_mean=sums.own_mean,
        own_sd=sums.own_sd,
        scatter=_scatter(grid, weight, sums, changed),
    )


def _scatter(grid: Floats, weight: Floats, sums: "_KindSums", changed: Floats) -> Floats:
    """Geometric mean of the scatter of a usual tank, with and without a change, as a log, shape (logs,)."""
    without = np.exp(grid) @ GRID_LOG_SCALES
    return np.asarray(np.exp(changed * (weight * sums.log_scale).sum(axis=(1, 2)) + (1.0 - changed) * without))


@dataclass(frozen=True)
class _KindSums:
    """The grid summed out: ln weight, matched normals and mean ln scale, shape (logs, kinds, candidates) each."""

    log_weight: Floats
    size_mean: Floats
    size_sd: Floats
    own_mean: Floats
    own_sd: Floats
    log_scale: Floats


def _kind_sums(grid: Floats, candidate: Candidate, sizes: SizePrior) -> _KindSums:
    """Only pairs of log and candidate that have weight are worked on.

    Args:
        grid: ln weight of (split, scale) given no change, shape (logs, splits x scales).
        candidate: See candidates_of.
        sizes: See size_prior.
    """
    logs, _, _, candidates = candidate.information.shape
    both = np.stack([candidate.information, candidate.estimate]).reshape(2, logs, -1, candidates)
    held = np.zeros((6, *sizes.mean.shape))
    held[0] = -np.inf
    held[2] = held[4] = 1.0
    if MACHINE.loops:
        told = np.stack([sizes.log_weight, sizes.mean, sizes.variance])
        MACHINE.loops.summed(grid, both, told, OWN_VARIANCE, GRID_LOG_SCALES, LEAST_LOG_WEIGHT, held)
        return _KindSums(*held)
    information, estimate = np.moveaxis(both, 3, 2)
    for kind in range(len(KINDS)):
        log, place = np.nonzero(sizes.log_weight[:, kind] > LEAST_LOG_WEIGHT)
        if not len(log):
            continue
        believed = (sizes.log_weight[log, kind, place], sizes.mean[log, kind, place], sizes.variance[log, kind, place])
        found = _summed(grid[log], Candidate(information[log, place], estimate[log, place]), believed, kind)
        held[:, log, kind, place] = found
    return _KindSums(*held)


def _summed(grid: Floats, candidate: Candidate, believed: tuple[Floats, Floats, Floats], kind: int) -> Floats:
    """Log weight, size mean and sd, vehicle part mean and sd, mean ln scale of pairs, shape (6, pairs)."""
    log_weight, mean, variance = (each[:, None] for each in believed)
    score = log_bayes_factor(candidate, mean=mean, variance=variance) + grid
    top = score.max(axis=1, keepdims=True)
    share = np.exp(score - top)
    total = share.sum(axis=1, keepdims=True)
    share /= total
    noise = 1.0 / candidate.information
    surplus = (candidate.estimate - mean) / (variance + noise)
    shrink = 1.0 / (variance + noise)
    size = _moments(share, mean + variance * surplus, variance - variance**2 * shrink)
    own_variance = OWN_VARIANCE[kind]
    own = _moments(share, own_variance * surplus, own_variance - own_variance**2 * shrink)
    return np.stack([(log_weight + top + np.log(total))[:, 0], *size, *own, share @ GRID_LOG_SCALES])


def _moments(share: Floats, mean: Floats, variance: Floats) -> tuple[Floats, Floats]:
    middle = (share * mean).sum(axis=1)
    square = (share * (mean**2 + variance)).sum(axis=1) - middle**2
    return middle, np.sqrt(np.maximum(square, 1e-12))


def evidence_of(null: Null) -> Floats:
    """Log marginal likelihood without a change, the grid summed out, shape (logs,)."""
    return np.asarray(log_sum(null.log_prior + null.log_likelihood, axis=(1, 2)))
