"""Channels made fit for sums: short holes closed, the time each sample stands for, what the engine is doing."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lostgallon.physics.air import STANDARD_PRESSURE_PA
from lostgallon.shop.driven import DriveLog
from lostgallon.shop.spread import Bools, Floats

Places = NDArray[np.int64]
HOLD_S = 5.0
"""A reading is held this long where samples are missing: port loggers ask for slow channels every few seconds."""
GAP_S = 15.0
STANDING_M_S = 0.5
RUNNING_RPM = 300.0


@dataclass(frozen=True)
class Samples:
    """A drive on one clock. Every array has shape (samples,).

    `weight_s` is the time a sample stands for (half the way to each neighbor), 0 across gaps of the log. Channels are
    named in data/headings.csv; NaN where nothing was read within HOLD_S.
    """

    time_s: Floats
    weight_s: Floats
    channels: Mapping[str, Floats]
    gap_s: float
    windows: dict[float, tuple[Places, Places]] = field(default_factory=dict, repr=False, compare=False)

    def around(self, window_s: float) -> tuple[Places, Places]:
        """First sample and the one after the last within half a window of each; kept, because many ask for the same."""
        if window_s not in self.windows:
            first = np.searchsorted(self.time_s, self.time_s - 0.5 * window_s)
            last = np.searchsorted(self.time_s, self.time_s + 0.5 * window_s, side="right")
            self.windows[window_s] = (first, last)
        return self.windows[window_s]

    def get(self, name: str) -> Floats | None:
        """A channel, or None if the log has none."""
        return self.channels.get(name)

    @property
    def speed_m_s(self) -> Floats | None:
        """Road speed, by satellite where the port gives none. [m/s]."""
        found = self.get("speed_m_s")
        return found if found is not None else self.get("gps_speed_m_s")

    @property
    def duration_s(self) -> float:
        """From the first stamp to the last. [s]."""
        return float(self.time_s[-1] - self.time_s[0])

    def seconds(self, where: Bools) -> float:
        """The time for which a condition held. [s]."""
        return float(self.weight_s[where].sum())

    def running(self) -> Bools:
        """Engine turning; everywhere where the log has no engine speed."""
        rpm = self.get("rpm")
        return np.ones(len(self.time_s), bool) if rpm is None else rpm > RUNNING_RPM

    def standing(self) -> Bools | None:
        """Wheels at rest, or None without a speed."""
        speed = self.speed_m_s
        return None if speed is None else speed < STANDING_M_S


def samples_of(log: DriveLog) -> Samples:
    """The log as samples; holes up to HOLD_S are closed by holding the last reading."""
    time = log.time_s
    steps = np.diff(time)
    longest = max(GAP_S, 6.0 * float(np.median(steps)))
    counted = np.where(steps <= longest, steps, 0.0)
    weight = np.zeros(len(time))
    weight[:-1] += 0.5 * counted
    weight[1:] += 0.5 * counted
    held = {name: hold(values, time) for name, values in log.channels.items()}
    return Samples(time, weight, held, float(steps[steps > longest].sum()))


def hold(values: Floats, time_s: Floats, *, limit_s: float = HOLD_S) -> Floats:
    """Close holes by the last reading, for at most a few seconds (or twice the step of a slow log).

    Args:
        values: Readings, NaN where missing. Shape (samples,).
        time_s: Stamps. Shape (samples,).
        limit_s: How long a reading may stand. [s]
    """
    missing = np.isnan(values)
    if not missing.any():
        return values
    last = np.where(missing, 0, np.arange(len(values)))
    np.maximum.accumulate(last, out=last)
    limit = max(limit_s, 2.0 * float(np.median(np.diff(time_s))))
    filled = values[last]
    filled[time_s - time_s[last] > limit] = np.nan
    return filled


def rate(values: Floats, samples: Samples, *, window_s: float) -> Floats:
    """Slope of a channel over a window around each sample, in units a second. Shape (samples,)."""
    time = samples.time_s
    first, last = samples.around(window_s)
    here = np.arange(len(time))
    before = np.minimum(first, np.maximum(here - 1, 0))
    after = np.maximum(last - 1, np.minimum(here + 1, len(time) - 1))
    span = time[after] - time[before]
    return np.asarray((values[after] - values[before]) / np.where(span > 0, span, np.inf), np.float64)


def smooth(values: Floats, samples: Samples, *, window_s: float) -> Floats:
    """Time-weighted mean over a window around each sample; NaN only where the window holds no reading."""
    present = np.isfinite(values)
    weight = np.where(present, np.maximum(samples.weight_s, 1e-9), 0.0)
    total = np.concatenate(([0.0], np.cumsum(np.where(present, values, 0.0) * weight)))
    summed = np.concatenate(([0.0], np.cumsum(weight)))
    before, after = samples.around(window_s)
    share = summed[after] - summed[before]
    return np.asarray((total[after] - total[before]) / np.where(share > 0, share, np.nan), np.float64)


def distance_m(samples: Samples) -> float | None:
    """Distance driven by the log's clock: the speed summed over the time it stands for. [m]."""
    speed = samples.speed_m_s
    if speed is None or not np.isfinite(speed).any():
        return None
    return float(np.nansum(speed * samples.weight_s))


def air_share(samples: Samples) -> Floats | None:
    """How full the cylinders are, 0 to 1 of what they hold: load by the port, else manifold over outside pressure."""
    for name in ("load_pct", "absolute_load_pct"):
        load = samples.get(name)
        if load is not None:
            return load / 100.0
    manifold = samples.get("manifold_pa")
    if manifold is None:
        return None
    outside = samples.get("barometer_pa")
    return manifold / (float(np.nanmedian(outside)) if outside is not None else STANDARD_PRESSURE_PA)
