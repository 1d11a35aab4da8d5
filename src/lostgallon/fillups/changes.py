"""Candidate changes: when a step or a ramp may have begun, how use moved there, and what is believed of its size.

Axes: logs, then candidates. Candidate j begins with the tank `length - j - 2` places before the last but one, so
that candidate 0 has two tanks after it; steps come first, then ramps.
"""

from dataclasses import dataclass

import numpy as np

from lostgallon.fillups import prior
from lostgallon.fillups.columns import middle
from lostgallon.fillups.tanks import Batch
from lostgallon.shop.spread import Bools, Floats

Index = np.ndarray[tuple[int], np.dtype[np.int64]]
KINDS = ("vehicle", "use", "both")
LEAST_USE_VARIANCE = 0.06**2
SPELL_DAYS = 120.0
KIN_TANKS = 2.0
"""Km per day of neighboring tanks is alike: this many tanks count as one."""


@dataclass(frozen=True)
class Starts:
    """Candidate dates: index of the first tank changed, whether allowed, log prior, and how use moved there.

    `first` shape (candidates,); `allowed_step`, `allowed_ramp`, `log_prior`, `moved`, `moved_sd`, `shrunk` shape
    (logs, candidates). Moves are natural logs of km per day after over before.
    """

    first: Index
    allowed_step: Bools
    allowed_ramp: Bools
    log_prior: Floats
    moved: Floats
    moved_sd: Floats
    shrunk: Floats


def starts_of(batch: Batch, *, since_day: Floats | None = None) -> Starts:
    """Every tank that a change may have begun with.

    Args:
        batch: The logs.
        since_day: The owner's date as an ordinal, shape (logs,), NaN where none is given.
    """
    length = batch.valid.shape[1]
    most = max(min(prior.CANDIDATE_TANKS, length - prior.LEAST_BEFORE), prior.LEAST_AFTER)
    first = np.arange(length - prior.LEAST_AFTER, max(length - most, prior.LEAST_BEFORE) - 1, -1)
    before = first[None, :] - (length - batch.count[:, None])
    begin = batch.end_day - batch.days
    recent = batch.end_day[:, -1:] - begin[:, first] <= prior.CANDIDATE_DAYS
    recent[:, 0] = True  # a log that stopped for years still has its last fills to judge
    allowed = (before >= prior.LEAST_BEFORE) & recent
    moved, moved_sd = use_moves(batch, first, back=prior.USE_BACK_TANKS)
    doubt = moved_sd**2 + _wander(batch, first)
    shrunk = moved * np.maximum(0.0, 1.0 - doubt / np.maximum(moved**2, 1e-12))
    return Starts(
        first=first,
        allowed_step=allowed,
        allowed_ramp=allowed & (length - first >= prior.LEAST_RAMP)[None, :],
        log_prior=_date_prior(begin[:, first], allowed, since_day),
        moved=moved,
        moved_sd=moved_sd,
        shrunk=shrunk,
    )


def _date_prior(begin: Floats, allowed: Bools, since_day: Floats | None) -> Floats:
    """Log prior of each date: uniform, with 80 % around an owner's date where there is one."""
    count = np.maximum(allowed.sum(axis=1, keepdims=True), 1)
    uniform = allowed / count
    if since_day is None:
        return np.asarray(np.log(np.maximum(uniform, 1e-300)))
    apart = (begin - np.nan_to_num(since_day)[:, None]) / prior.OWNER_SD_DAYS
    bell = np.exp(-0.5 * np.minimum(apart**2, 1400.0)) * allowed
    total = bell.sum(axis=1, keepdims=True)
    told = np.isfinite(since_day)[:, None] & (total > 0)
    mixed = prior.OWNER_SHARE * bell / np.maximum(total, 1e-300) + (1.0 - prior.OWNER_SHARE) * uniform
    return np.asarray(np.log(np.maximum(np.where(told, mixed, uniform), 1e-300)))


def use_moves(batch: Batch, first: Index, *, back: int) -> tuple[Floats, Floats]:
    """Log km per day after over before each date, at most `back` tanks each way, and its standard deviation."""
    length = batch.valid.shape[1]
    distance = _running(batch.distance_km * batch.valid)
    days = _running(batch.days)
    low = np.maximum(first - back, 0)
    high = np.minimum(first + back, length)
    after = _pace(distance[:, high] - distance[:, first], days[:, high] - days[:, first])
    earlier = _pace(distance[:, first] - distance[:, low], days[:, first] - days[:, low])
    scatter = (1.4826 * middle(np.abs(batch.use), batch.valid.astype(np.float64))) ** 2
    variance = np.maximum(scatter, LEAST_USE_VARIANCE)[:, None] * KIN_TANKS
    tanks_before = np.maximum(np.minimum(first[None, :] - (length - batch.count[:, None]), back), 1.0)
    tanks_after = (high - first)[None, :]
    return np.log(after / earlier), np.sqrt(variance * (1.0 / tanks_before + 1.0 / tanks_after))


def _wander(batch: Batch, first: Index) -> Floats:
    """Variance of a move of use that this log shows at any time, shape (logs, candidates).

    Robust variance of local km per day, over as many spells of 120 days as each side holds.
    """
    valid = batch.valid.astype(np.float64)
    center = middle(batch.local_pace, valid)
    variance = (1.4826 * middle(np.abs(batch.local_pace - center[:, None]), valid)) ** 2
    days = _running(batch.days)
    length = batch.valid.shape[1]
    before = days[:, first] - days[:, np.maximum(first - prior.USE_BACK_TANKS, 0)]
    after = days[:, np.minimum(first + prior.USE_BACK_TANKS, length)] - days[:, first]
    spells = 1.0 / np.maximum(before / SPELL_DAYS, 1.0) + 1.0 / np.maximum(after / SPELL_DAYS, 1.0)
    return variance[:, None] * spells


def _running(values: Floats) -> Floats:
    return np.concatenate([np.zeros((len(values), 1)), np.cumsum(values, axis=1)], axis=1)


def _pace(distance_km: Floats, days: Floats) -> Floats:
    return np.maximum(distance_km, 1.0) / np.maximum(days, 1.0)


def step_columns(starts: Starts, length: int) -> Floats:
    """Steps as columns over the last tanks that any of them touches, shape (1, candidates, tanks)."""
    place = np.arange(int(starts.first.min()), length)
    return (place[None, None, :] >= starts.first[None, :, None]).astype(np.float64)


@dataclass(frozen=True)
class SizePrior:
    """Log prior weight of (kind, candidate) given a change, and mean and variance of its size.

    Shapes: `log_weight` (logs, kinds, candidates); `mean`, `variance` (logs, kinds, candidates).
    """

    log_weight: Floats
    mean: Floats
    variance: Floats


def size_prior(starts: Starts) -> SizePrior:
    """What is believed of a change's kind and size at each candidate, steps then ramps."""
    logs, dates = starts.shrunk.shape
    relevant = 1.0 - np.exp(-((starts.shrunk / prior.DU_SCALE) ** 2))
    ramps = starts.allowed_ramp
    mean, variance = np.zeros((2, logs, len(KINDS), 2, dates))
    mean[:, 1:] = (prior.USE_MEAN_PER_DU * starts.shrunk)[:, None, None]
    variance[:, 1:] = ((prior.USE_SD_PER_DU * starts.shrunk) ** 2 + prior.USE_SD_LEAST**2)[:, None, None]
    variance[:, ::2] += prior.VEHICLE_SD**2
    share = np.empty((logs, len(KINDS), 2, dates))
    share[:, 0] = (1.0 - 0.5 * relevant)[:, None]
    share[:, 1:] = relevant[:, None, None] * np.array([prior.SHARE_USE, prior.SHARE_BOTH])[:, None, None]
    ramp_share = np.where(ramps, prior.RAMP_SHARE, 0.0)
    share[:, :, 0] *= ((1.0 - ramp_share) * starts.allowed_step)[:, None]
    share[:, :, 1] *= ramp_share[:, None]
    with np.errstate(divide="ignore"):
        log_weight = np.log(share) + starts.log_prior[:, None, None]
    flat = (logs, len(KINDS), 2 * dates)
    return SizePrior(log_weight.reshape(flat), mean.reshape(flat), variance.reshape(flat))
