"""A part of a fleet weighed: one row of numbers a vehicle. Parts go to workers and are kept for a resumed run."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lostgallon.fillups.mixtures import mixture_quantiles
from lostgallon.fillups.posterior import weigh
from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fillups.tanks import TankArrays, pooled_l_per_100km, stack
from lostgallon.shop.spread import Floats

COLUMNS = (
    "nothing",
    "vehicle_rise",
    "use_changed",
    "log_bayes_factor",
    "mean_log",
    "p05_log",
    "p50_log",
    "p95_log",
    "since_day",
    "km_per_year",
    "l_per_100km",
)
AT_ONCE = 16
"""Logs in a batch: their arrays stay in the processor's cache."""
DAYS_A_YEAR = 365.25


@dataclass(frozen=True)
class Part:
    """Some vehicles of a fleet: their logs, shared month effects taken out, and the season prior that is left."""

    logs: tuple[TankArrays, ...]
    season: SeasonPrior

    def mark(self) -> str:
        """Letters that differ where the logs or the prior differ."""
        told = hashlib.blake2b(repr(self.season).encode(), digest_size=12)
        for log in self.logs:
            for values in (log.end_day, log.distance_km, log.volume_l, log.chained):
                told.update(np.ascontiguousarray(values).tobytes())
        return told.hexdigest()


def weighed(part: Part) -> Floats:
    """One row a vehicle, shape (vehicles, len(COLUMNS)), in the order of the part."""
    found = np.empty((len(part.logs), len(COLUMNS)))
    order = np.argsort([len(log.days) for log in part.logs], kind="stable")
    for low in range(0, len(order), AT_ONCE):
        places = order[low : low + AT_ONCE]
        found[places] = _rows([part.logs[place] for place in places], part.season)
    return found


def _rows(logs: Sequence[TankArrays], season: SeasonPrior) -> Floats:
    batch = stack(logs)
    seen = weigh(batch, season)
    count = len(logs)
    weight = seen.weight[:, [0, 2]]
    own = [each[:, [0, 2]].reshape(count, -1) for each in (seen.weight, seen.own_mean, seen.own_sd)]
    points = mixture_quantiles(*own)
    mean = (own[0] * own[1]).sum(axis=1) / np.maximum(own[0].sum(axis=1), 1e-300)
    dates = weight.sum(axis=1)
    dates = dates[:, : dates.shape[1] // 2] + dates[:, dates.shape[1] // 2 :]
    middle = (np.cumsum(dates, axis=1) >= 0.5 * dates.sum(axis=1, keepdims=True)).argmax(axis=1)
    begun = (batch.end_day - batch.days)[np.arange(count), seen.starts.first[middle]]
    span = [log.end_day[-1] - log.end_day[0] + log.days[0] for log in logs]
    per_year = [log.distance_km.sum() / max(days, 1.0) * DAYS_A_YEAR for log, days in zip(logs, span, strict=True)]
    pooled = [pooled_l_per_100km(log, np.ones(len(log.days), dtype=np.bool_)) for log in logs]
    rival = seen.use + seen.both
    columns = (seen.nothing, seen.vehicle_rise, rival, seen.log_bayes_factor, mean, *points.T, begun, per_year, pooled)
    return np.column_stack(columns)
