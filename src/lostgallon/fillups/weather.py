"""Outside temperature of every tank: the mean over its days."""

from dataclasses import replace

import numpy as np

from lostgallon.shop.filled import DailyTemperatures, FillLog, MonthlyTemperatures, Tank
from lostgallon.shop.spread import Floats

COVERED_SHARE = 0.8
"""Below this share of tanks with temperatures of their own the calendar is the better guide. Chosen."""


def with_temperatures(log: FillLog, known: DailyTemperatures | MonthlyTemperatures) -> FillLog | None:
    """The log with a temperature for every tank; None where the temperatures cover under 80 % of the tanks.

    A tank keeps the temperature written beside it. A tank outside the days known takes the mean of its month.
    """
    months = _monthly(known)
    own = [_of_days(tank, known) for tank in log.tanks]
    covered = [tank.ambient_c is not None or mean is not None for tank, mean in zip(log.tanks, own, strict=True)]
    if not covered or sum(covered) < COVERED_SHARE * len(covered):
        return None
    filled = []
    for tank, mean in zip(log.tanks, own, strict=True):
        told = tank.ambient_c if tank.ambient_c is not None else mean
        filled.append(replace(tank, ambient_c=float(months[tank.filled_on.month - 1]) if told is None else told))
    return replace(log, tanks=tuple(filled))


def _of_days(tank: Tank, known: DailyTemperatures | MonthlyTemperatures) -> float | None:
    last = tank.filled_on.toordinal()
    days = np.arange(last - max(int(tank.days), 1) + 1, last + 1)
    if isinstance(known, MonthlyTemperatures):
        return float(np.mean(_by_month(days, np.array(known.mean_c))))
    place = np.searchsorted(known.day, days)
    inside = place < len(known.day)
    hit = inside & (np.array(known.day)[np.minimum(place, len(known.day) - 1)] == days)
    if hit.sum() < 0.5 * len(days):
        return None
    return float(np.mean(np.array(known.mean_c)[place[hit]]))


def _by_month(days: np.ndarray[tuple[int], np.dtype[np.int64]], means: Floats) -> Floats:
    dates = (days - 719163).astype("datetime64[D]")  # ordinal of 1970-01-01
    return np.asarray(means[dates.astype("datetime64[M]").astype(int) % 12])


def _monthly(known: DailyTemperatures | MonthlyTemperatures) -> Floats:
    """Mean of each month; a month never seen takes the mean of all."""
    if isinstance(known, MonthlyTemperatures):
        return np.array(known.mean_c)
    days, means = np.array(known.day), np.array(known.mean_c)
    month = (days - 719163).astype("datetime64[D]").astype("datetime64[M]").astype(int) % 12
    return np.array([means[month == each].mean() if (month == each).any() else means.mean() for each in range(12)])
