"""Tanks as arrays: one log, or many stacked at their last tank. Axes: logs first, then tanks."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lostgallon.fillups.machine import MACHINE
from lostgallon.fillups.prior import HISTORY_TANKS
from lostgallon.shop.filled import FillLog, Tank
from lostgallon.shop.spread import Bools, Floats

LEAST_DAYS = 0.5
USE_DAYS, USE_TANKS, USE_CLIP = 60.0, 4, 1.5


@dataclass(frozen=True)
class TankArrays:
    """One log, every field of shape (tanks,). Days are ordinals of dates; a tank ends at its fill."""

    end_day: Floats
    days: Floats
    distance_km: Floats
    volume_l: Floats
    chained: Bools
    variance_times: Floats
    ambient_c: Floats
    ethanol_share: Floats


@dataclass(frozen=True)
class Batch:
    """Many logs, each field of shape (logs, tanks), stacked at the last tank; `valid` is False before the first.

    `log_fuel` is ln(100 volume/distance) [L/100 km]; `gap_days` the time between mid dates of neighbors;
    `use` the tank's km per day against its surroundings, a clipped log; `local_pace` ln km per day around it.
    """

    valid: Bools
    log_fuel: Floats
    mid_day: Floats
    end_day: Floats
    gap_days: Floats
    days: Floats
    distance_km: Floats
    volume_l: Floats
    chained: Bools
    variance_times: Floats
    ambient_c: Floats
    ethanol_share: Floats
    use: Floats
    local_pace: Floats

    @property
    def count(self) -> Floats:
        """Tanks of each log, shape (logs,)."""
        return np.asarray(self.valid.sum(axis=1), dtype=np.float64)


def arrays_of(tanks: Sequence[Tank]) -> TankArrays:
    """One log's tanks as arrays, in their order."""

    def column(values: Sequence[float]) -> Floats:
        return np.array(values, dtype=np.float64)

    return TankArrays(
        end_day=column([tank.filled_on.toordinal() for tank in tanks]),
        days=column([tank.days for tank in tanks]),
        distance_km=column([tank.distance_km for tank in tanks]),
        volume_l=column([tank.volume_l for tank in tanks]),
        chained=np.array([tank.chained for tank in tanks], dtype=np.bool_),
        variance_times=column([2.0 if tank.reconstructed else 1.0 for tank in tanks]),
        ambient_c=column([np.nan if tank.ambient_c is None else tank.ambient_c for tank in tanks]),
        ethanol_share=column([np.nan if tank.ethanol_share is None else tank.ethanol_share for tank in tanks]),
    )


def stack(logs: Sequence[TankArrays], *, most: int = HISTORY_TANKS) -> Batch:
    """Logs of any lengths as one batch, each cut to its last `most` tanks."""
    length = min(most, max((len(log.days) for log in logs), default=0))
    shape = (len(logs), length)
    fields = ("end_day", "days", "distance_km", "volume_l", "variance_times", "ambient_c", "ethanol_share")
    fill = {"distance_km": 1.0, "volume_l": 1.0, "variance_times": 1.0, "ambient_c": np.nan, "ethanol_share": np.nan}
    held = {name: np.full(shape, fill.get(name, 0.0)) for name in fields}
    chained, valid = np.zeros(shape, dtype=np.bool_), np.zeros(shape, dtype=np.bool_)
    for row, log in enumerate(logs):
        count = min(length, len(log.days))
        if not count:
            continue
        for name in fields:
            held[name][row, -count:] = getattr(log, name)[-count:]
        chained[row, -count:] = log.chained[-count:]
        chained[row, -count] = False
        valid[row, -count:] = True
    return batch_of(held, chained, valid)


def batch_of(held: dict[str, Floats], chained: Bools, valid: Bools) -> Batch:
    """A batch from padded arrays of shape (logs, tanks); see Batch for the derived fields."""
    end_day, days = held["end_day"], held["days"]
    mid_day = end_day - days / 2.0
    gap_days = np.zeros_like(mid_day)
    gap_days[:, 1:] = np.where(valid[:, :-1], np.maximum(np.diff(mid_day, axis=1), 0.0), 0.0)
    use, local_pace = _use(mid_day, end_day, held=held, valid=valid)
    log_fuel = np.where(valid, np.log(100.0 * held["volume_l"] / held["distance_km"]), 0.0)
    return Batch(
        valid=valid,
        log_fuel=log_fuel,
        mid_day=mid_day,
        end_day=end_day,
        gap_days=gap_days,
        days=days,
        distance_km=held["distance_km"],
        volume_l=held["volume_l"],
        chained=chained,
        variance_times=held["variance_times"],
        ambient_c=held["ambient_c"],
        ethanol_share=held["ethanol_share"],
        use=use,
        local_pace=local_pace,
    )


def _use(mid_day: Floats, end_day: Floats, *, held: dict[str, Floats], valid: Bools) -> tuple[Floats, Floats]:
    """Log of a tank's km per day (tanks of one date pooled) over km per day within 60 days or 4 tanks, and of that."""
    driven = np.stack([held["distance_km"] * valid, held["days"]], axis=-1)
    local, own = _nearby(mid_day, end_day, driven=driven, valid=valid)
    pace = own[..., 0] / np.maximum(own[..., 1], LEAST_DAYS)
    usual = local[..., 0] / np.maximum(local[..., 1], LEAST_DAYS)
    local_pace = np.log(np.where(valid, np.maximum(usual, 1e-3), 1.0))
    own_pace = np.log(np.where(valid, np.maximum(pace, 1e-3), 1.0))
    return np.clip(own_pace - local_pace, -USE_CLIP, USE_CLIP), local_pace


def _nearby(mid_day: Floats, end_day: Floats, *, driven: Floats, valid: Bools) -> tuple[Floats, Floats]:
    """Distance and days near each tank, and of its own date, shape (logs, tanks, 2) each. Twin in loops.py."""
    if MACHINE.loops:
        local, own = np.empty_like(driven), np.empty_like(driven)
        MACHINE.loops.nearby(mid_day, end_day, driven, valid, np.array([USE_DAYS, USE_TANKS]), local, own)
        return local, own
    place = np.arange(valid.shape[1])
    near = np.abs(mid_day[:, :, None] - mid_day[:, None, :]) <= USE_DAYS
    near |= np.abs(place[:, None] - place[None, :]) <= USE_TANKS
    near &= valid[:, None, :]
    same = (end_day[:, :, None] == end_day[:, None, :]) & valid[:, None, :]
    return near.astype(np.float64) @ driven, same.astype(np.float64) @ driven


def pooled_l_per_100km(log: TankArrays, chosen: Bools) -> float:
    """Fuel over distance of the chosen tanks in L/100 km, summed before dividing.

    Args:
        log: The log.
        chosen: Which tanks, shape (tanks,).
    """
    return float(100.0 * log.volume_l[chosen].sum() / log.distance_km[chosen].sum())


def tanks_of_log(log: FillLog) -> TankArrays:
    """The tanks of a log as read."""
    return arrays_of(log.tanks)
