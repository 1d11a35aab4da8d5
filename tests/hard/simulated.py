"""Fill-up logs drawn from the prior of docs/fillups.md, with the truth kept beside them.

The covariance is built densely here, entry by entry from its definition, and never by the program's banded code.
"""

from dataclasses import dataclass, fields, replace

import numpy as np

from lostgallon.fillups import prior
from lostgallon.fillups.changes import size_prior, starts_of
from lostgallon.fillups.columns import columns_of
from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fillups.tanks import TankArrays, stack

KIND_NAMES = ("vehicle", "use", "both")


@dataclass(frozen=True)
class Truth:
    """What was put into a log: kind ("none" without a change), vehicle part, whole change, first tank changed."""

    kind: str
    own: float
    size: float
    first: int


def design(rng, tanks, *, km_per_day=45.0, use_change=True):
    """Days and kilometers of a log: tanks of about 480 km, use that wanders and sometimes moves for good."""
    pace = km_per_day * np.exp(0.3 * rng.normal())
    wander = np.cumsum(rng.normal(0, 0.04, tanks))
    shift = np.zeros(tanks)
    if use_change and rng.random() < 0.35:
        shift[rng.integers(3, tanks - 2) :] = rng.normal(0, 0.5)
    daily = pace * np.exp(wander + shift + rng.normal(0, 0.25, tanks))
    distance = 480 * np.exp(rng.normal(0, 0.2, tanks))
    days = np.maximum(np.round(distance / daily), 1.0)
    end = 738000.0 + rng.integers(0, 365) + np.cumsum(days)
    chained = rng.random(tanks) > 0.05
    chained[0] = False
    volume = distance / 10.0
    return TankArrays(end, days, distance, volume, chained, np.ones(tanks), *np.full((2, tanks), np.nan))


def errors(rng, log, *, scale, split, tails):
    """Scatter of one log by the definition of the model. `tails` is degrees of freedom, or None for normal."""
    volume, middle = log.volume_l, np.median(log.volume_l)
    count = len(volume)
    fill, slow, constant = prior.FILL_SHARE[split], prior.SLOW_SHARE[split], prior.SLOW_DAYS[split]
    size = np.sqrt(np.clip(np.median(log.distance_km) / log.distance_km, 0.5, 4.0))
    own = rng.normal(size=count) if tails is None else rng.standard_t(tails, size=count)
    found = np.sqrt((1 - fill - slow) * size) * own
    level_sd = np.sqrt(fill / 2.0) * middle
    end = rng.normal(0, level_sd, count)
    start = np.where(log.chained, np.roll(end, 1), rng.normal(0, level_sd, count))
    found += (end - start) / volume
    mid = log.end_day - log.days / 2
    wander = np.exp(-np.abs(mid[:, None] - mid[None]) / constant)
    found += np.linalg.cholesky(slow * wander + 1e-12 * np.eye(count)) @ rng.normal(size=count)
    return scale * found


def draw(rng, tanks, *, season=SeasonPrior(), change=0.5, tails=None, use_change=True):  # noqa: B008 - frozen
    """One log from the prior and its truth."""
    log = design(rng, tanks, use_change=use_change)
    batch = stack([log], most=tanks)
    columns = columns_of(batch, season)
    weights = columns.mean[0] + columns.sd[0] * rng.normal(size=columns.mean.shape[1])
    weights[0] = np.log(10.0)
    scale = np.clip(np.exp(rng.normal(prior.SCALE_LOG_MEAN, prior.SCALE_LOG_SD)), 0.02, 0.25)
    split = rng.choice(len(prior.SPLIT_WEIGHT), p=prior.SPLIT_WEIGHT)
    logs = columns.values[0] @ weights + errors(rng, log, scale=scale, split=split, tails=tails)
    truth = Truth("none", 0.0, 0.0, -1)
    if rng.random() < change:
        truth, shape = _change(rng, batch, tanks)
        logs = logs + truth.size * shape
    return with_logs(log, logs), truth


def _change(rng, batch, tanks):
    starts = starts_of(batch)
    sizes = size_prior(starts)
    weight = np.exp(sizes.log_weight[0])
    pick = rng.choice(weight.size, p=(weight / weight.sum()).ravel())
    kind, place = np.unravel_index(pick, weight.shape)
    first = int(np.tile(starts.first, 2)[place])
    own = rng.normal(0, prior.VEHICLE_SD) if kind != 1 else 0.0
    use = 0.0
    if kind:
        shrunk = starts.shrunk[0, place % len(starts.first)]
        sd = np.sqrt((prior.USE_SD_PER_DU * shrunk) ** 2 + prior.USE_SD_LEAST**2)
        use = rng.normal(prior.USE_MEAN_PER_DU * shrunk, sd)
    ramp = place >= len(starts.first)
    index = np.arange(tanks)
    shape = np.clip((index - first + 1) / (tanks - first), 0, None) if ramp else (index >= first).astype(float)
    return Truth(KIND_NAMES[kind], own, own + use, first), shape


def with_logs(log, logs):
    """The log with fuel per distance set: `logs` is ln(100 volume/distance)."""
    volume = np.exp(logs) * log.distance_km / 100.0
    return replace(log, volume_l=volume)


def with_rise(log, first, factor):
    """The log with every tank from `first` on using `factor` times the fuel."""
    volume = log.volume_l.copy()
    volume[first:] *= factor
    return replace(log, volume_l=volume)


def cut(log, low, high):
    """Tanks `low` to `high` of a log as a log of their own."""
    return TankArrays(*(getattr(log, field.name)[low:high] for field in fields(log)))
