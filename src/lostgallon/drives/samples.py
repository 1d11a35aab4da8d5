"""Channels made fit for sums: short holes closed, the time each sample stands for, what the engine is doing."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lostgallon.physics.air import STANDARD_PRESSURE_PA
from lostgallon.shop.channels import channels
from lostgallon.shop.driven import DriveLog
from lostgallon.shop.merging import merged
from lostgallon.shop.spread import Bools, Floats

Places = NDArray[np.int64]
HOLD_S = 5.0
"""A reading is held this long where samples are missing: port loggers ask for slow channels every few seconds."""
GAP_S = 15.0
CELL_S = 0.5
STANDING_M_S = 0.5
RUNNING_RPM = 300.0
STAMP_S = 0.5e-6
"""Stamps are told apart down to a microsecond, so half of one decides nothing but the rounding of a stamp."""
LEAST_WEIGHT_S = 1e-9


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
            reach_s = 0.5 * window_s + STAMP_S
            self.windows[window_s] = _even_window(self.time_s, reach_s) or _window(self.time_s, reach_s)
        return self.windows[window_s]

    @cached_property
    def floored_s(self) -> tuple[Floats, Floats]:
        """Weights that are never 0, and their sums up to each sample. Shapes (samples,) and (samples + 1,)."""
        floored = np.maximum(self.weight_s, LEAST_WEIGHT_S)
        return floored, sums(floored)

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
    """The log as samples, at most two a second; holes up to HOLD_S are closed by holding the last reading."""
    log = thinned(log)
    time = log.time_s
    steps = np.diff(time)
    longest = max(GAP_S, 6.0 * float(np.median(steps)))
    counted = np.where(steps <= longest, steps, 0.0)
    weight = np.zeros(len(time))
    weight[:-1] += 0.5 * counted
    weight[1:] += 0.5 * counted
    held = {name: hold(values, time) for name, values in log.channels.items()}
    return Samples(time, weight, held, float(steps[steps > longest].sum()))


def thinned(log: DriveLog) -> DriveLog:
    """A fast log with the lines of each half second as one: no saying looks closer, and most lines repeat the last.

    Readings are averaged; of a state or a counter the last one stands. A slower log is left as it is.
    """
    if not float(np.median(np.diff(log.time_s))) < 0.5 * CELL_S:
        return log
    starts = np.flatnonzero(np.diff(np.floor(log.time_s / CELL_S), prepend=-1.0))
    kinds = channels()
    values = {name: merged(of, starts, kind=kinds[name].kind) for name, of in log.channels.items()}
    return replace(log, time_s=merged(log.time_s, starts, kind="time"), channels=values)


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


def _window(time_s: Floats, reach_s: float) -> tuple[Places, Places]:
    first = np.searchsorted(time_s, time_s - reach_s)
    return first, np.searchsorted(time_s, time_s + reach_s, side="right")


def _even_window(time_s: Floats, reach_s: float) -> tuple[Places, Places] | None:
    """The same without a search where every sample reaches equally many others, as in an even log; else None."""
    size = len(time_s)
    count = int(np.searchsorted(time_s, time_s[0] + reach_s, side="right")) - 1
    if count + 1 >= size:
        return None
    all_inside = bool(np.all(time_s[count:] - time_s[: size - count] <= reach_s))
    if not all_inside or not np.all(time_s[count + 1 :] - time_s[: size - count - 1] > reach_s):
        return None
    here = np.arange(size)
    return np.maximum(here - count, 0), np.minimum(here + count + 1, size)


def sums(values: Floats) -> Floats:
    """Sums of all values before each place, and of all of them at the end. Shape (values + 1,)."""
    found = np.zeros(len(values) + 1)
    np.cumsum(values, out=found[1:])
    return found


def rate(values: Floats, samples: Samples, *, window_s: float) -> Floats:
    """Slope of a channel over a window around each sample, in units a second. Shape (samples,)."""
    time = samples.time_s
    first, last = samples.around(window_s)
    here = np.arange(len(time))
    before = np.minimum(first, np.maximum(here - 1, 0))
    after = np.maximum(last - 1, np.minimum(here + 1, len(time) - 1))
    span = time[after] - time[before]
    if not span.all():
        span[span == 0.0] = np.inf
    slope = values[after] - values[before]
    slope /= span
    return slope


def smooth(values: Floats, samples: Samples, *, window_s: float) -> Floats:
    """Time-weighted mean over a window around each sample; NaN only where the window holds no reading."""
    weight, summed = samples.floored_s
    present = np.isfinite(values)
    if present.all():
        total = sums(values * weight)
    else:
        weight = np.where(present, weight, 0.0)
        summed, total = sums(weight), sums(np.where(present, values, 0.0) * weight)
    first, last = samples.around(window_s)
    share = summed[last] - summed[first]
    mean = total[last] - total[first]
    with np.errstate(invalid="ignore", divide="ignore"):
        mean /= share
    mean[~(share > 0.0)] = np.nan
    return mean


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
