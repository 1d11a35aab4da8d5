"""The coolant from start to plateau, against what a sound thermostat would show with the heat this drive gave.

One lump of coolant and the metal around it takes its share of the fuel's heat; a sound thermostat keeps the radiator
out until its rating. docs/drives.md gives the equation, its numbers and where they come from.
"""

from dataclasses import dataclass

import numpy as np

from lostgallon.drives.evidence import SPEAKS_FOR, ratios
from lostgallon.drives.fuel import FuelFlow
from lostgallon.drives.samples import Samples, rate, smooth
from lostgallon.drives.vehicle import Subject
from lostgallon.drives.words import temperature, warmth
from lostgallon.shop.driven import Curve, Pattern, WarmUp
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Bools, Floats

HALF_WARM_C = 70.0
COLD_START_C = 50.0
FAULT_BELOW_RATING_K = 20.0 * 5.0 / 9.0
"""A thermostat fault is coolant more than 20 degF under its rating when warm (13 CCR 1968.2(e)(10))."""
RATING_C = 88.0
HEATING_VALUE_J_L = 32.0e6
"""Gasoline, lower heating value a liter, rounded between E0 and E10 (docs/physics.md has the exact arithmetic)."""
HEAT_CAPACITY_J_K = (12_000.0, 14_000.0)
"""Coolant and the metal around it: constant, and a liter of displacement. From memory; hence the wide band."""
SHARE_TO_COOLANT = 0.33
LOSS_W_K = (6.0, 1.0)
"""Lost to the air standing, and more a m/s. From memory."""
HEATER_W_K = 20.0
SLOW, FAST = 1.7, 0.6
"""The band: the lump takes this many times longer or shorter."""
STEADY_K_PER_S = 1.2 / 60.0
ENOUGH_STEADY_S = 100.0
IDLES_COLD_C = 5.0
"""Below this a sound engine that only idles may never get warm (common practice, no source)."""
PICTURE_POINTS = 60


@dataclass(frozen=True)
class Plateau:
    """Where the coolant settled. [degC], [s]; `falls_k` is how far it falls at road speed, 0 if it does not."""

    coolant_c: float
    seconds: float
    falls_k: float


def below_fault_line(plateau_c: float, rating_c: float) -> bool:
    """Whether warm coolant lies more than 20 degF under the thermostat's rating.

    Source: 13 CCR 1968.2(e)(10).
    """
    return rating_c - plateau_c > FAULT_BELOW_RATING_K


def warm_up_of(
    samples: Samples, settled: Plateau | None, *, flow: FuelFlow | None, subject: Subject
) -> WarmUp | NotEnough:
    """The warm-up as read, with the band a sound thermostat would have stayed in.

    Args:
        samples: The drive.
        settled: Where the coolant settled (plateau_of).
        flow: Fuel flow where known; without it a usual one is taken.
        subject: What is known of the vehicle.
    """
    coolant = samples.get("coolant_c")
    if coolant is None or not np.isfinite(coolant).any():
        return NotEnough("warm_up", "the coolant temperature", "log the coolant temperature from a cold start")
    start = float(coolant[np.isfinite(coolant)][0])
    minutes = _minutes_to(samples, coolant, start)
    low, high = _band(samples, coolant, flow=flow, subject=subject) if start < COLD_START_C else ((), ())
    return WarmUp(
        start_c=start,
        plateau_c=settled.coolant_c if settled else None,
        minutes_to_70c=minutes,
        says=_says(start, settled, minutes),
        curve=_picture(samples.time_s, coolant),
        expected_low=low,
        expected_high=high,
    )


def plateau_of(samples: Samples) -> Plateau | None:
    """Where the coolant settled, or None if it was still rising at the end of the log."""
    coolant = samples.get("coolant_c")
    if coolant is None:
        return None
    even = smooth(coolant, samples, window_s=40.0)
    reached = _from_settling(even, samples)
    running = samples.running()
    seconds = samples.seconds(reached & running)
    if seconds < ENOUGH_STEADY_S:
        return None
    return Plateau(float(np.nanmedian(even[reached])), seconds, _fall_at_speed(even, reached, samples))


def _from_settling(even: Floats, samples: Samples) -> Bools:
    """From the first moment near the highest level on, if the coolant no longer rises there."""
    top = float(np.nanquantile(even, 0.97))
    first = int(np.argmax(even >= top - 3.0))
    after = np.arange(len(even)) >= first
    slope = rate(np.nan_to_num(even, nan=top), samples, window_s=90.0)
    rising = np.median(slope[after]) > STEADY_K_PER_S
    return np.zeros(len(even), bool) if rising else after


def _fall_at_speed(even: Floats, reached: Bools, samples: Samples) -> float:
    speed = samples.speed_m_s
    if speed is None:
        return 0.0
    road = smooth(speed, samples, window_s=60.0)
    fast, slow = reached & (road > 18.0), reached & (road < 8.0)
    if samples.seconds(fast) < 60.0 or samples.seconds(slow) < 60.0:
        return 0.0
    return max(float(np.nanmedian(even[slow]) - np.nanmedian(even[fast])), 0.0)


def _minutes_to(samples: Samples, coolant: Floats, start: float) -> float | None:
    running = samples.running()
    warm = np.flatnonzero(running & (coolant >= HALF_WARM_C))
    if start >= HALF_WARM_C or not len(warm) or not running.any():
        return None
    first = int(np.argmax(running))
    return float(samples.time_s[warm[0]] - samples.time_s[first]) / 60.0


def _heat_w(samples: Samples, flow: FuelFlow | None, subject: Subject) -> Floats:
    """Fuel heat at each sample; without a fuel flow, idle fuel times three while rolling (from memory). [W]."""
    if flow is not None:
        return flow.flow_l_s * HEATING_VALUE_J_L
    liters = subject.displacement_l or 2.0
    speed = samples.speed_m_s
    rolling = np.zeros(len(samples.time_s), bool) if speed is None else speed > 2.0
    return np.where(rolling, 3.0, 1.2) * 0.31 * liters / 3600.0 * HEATING_VALUE_J_L * samples.running()


def _band(samples: Samples, coolant: Floats, *, flow: FuelFlow | None, subject: Subject) -> tuple[Curve, Curve]:
    """The slowest and the fastest course with a sound thermostat, on the minutes of the picture."""
    heat = _heat_w(samples, flow, subject)
    ambient = outside_c(samples, subject)
    speed = samples.speed_m_s
    road = np.zeros(len(heat)) if speed is None else np.nan_to_num(speed)
    loss = LOSS_W_K[0] + LOSS_W_K[1] * road + HEATER_W_K * float(np.clip((18.0 - ambient) / 25.0, 0.0, 1.0))
    capacity = HEAT_CAPACITY_J_K[0] + HEAT_CAPACITY_J_K[1] * (subject.displacement_l or 2.0)
    start = float(coolant[np.isfinite(coolant)][0])
    grid = np.linspace(samples.time_s[0], samples.time_s[-1], 240)
    share = SHARE_TO_COOLANT * _between(heat, samples, grid)
    course = [
        _course(
            share,
            _between(loss, samples, grid),
            step_s=float(grid[1] - grid[0]),
            scale=capacity * factor,
            start=start,
            ambient=ambient,
        )
        for factor in (SLOW, FAST)
    ]
    return _picture(grid, np.minimum(course[0], 80.0)), _picture(grid, np.minimum(course[1], 102.0))


def _between(values: Floats, samples: Samples, grid: Floats) -> Floats:
    """Time-weighted mean of a channel over each cell of a coarse grid. Shape (cells,)."""
    total = np.concatenate(([0.0], np.cumsum(np.nan_to_num(values) * samples.weight_s)))
    at = np.searchsorted(samples.time_s, grid)
    spent = np.concatenate(([0.0], np.cumsum(samples.weight_s)))
    share = np.diff(total[at]) / np.maximum(np.diff(spent[at]), 1e-9)
    return np.append(share, share[-1])


def _course(heat_w: Floats, loss_w_k: Floats, *, step_s: float, scale: float, start: float, ambient: float) -> Floats:
    """Temperature of the lump, stepped forward implicitly. [degC], shape (cells,)."""
    temperature = np.empty(len(heat_w))
    now = start
    for at, (heat, loss) in enumerate(zip(heat_w, loss_w_k, strict=True)):
        temperature[at] = now
        now = min((now + step_s / scale * (heat + loss * ambient)) / (1.0 + step_s * loss / scale), 105.0)
    return temperature


def outside_c(samples: Samples, subject: Subject) -> float:
    """Outside temperature: logged, else the intake air when coolest, else what the case says, else 20. [degC]."""
    for name in ("ambient_c", "intake_air_c"):
        found = samples.get(name)
        if found is not None and np.isfinite(found).any():
            return float(np.nanquantile(found, 0.05))
    return 20.0 if subject.ambient_c is None else subject.ambient_c


def _picture(time_s: Floats, values: Floats) -> Curve:
    grid = np.linspace(time_s[0], time_s[-1], PICTURE_POINTS)
    present = np.isfinite(values)
    at = np.interp(grid, time_s[present], values[present])
    return tuple((round(float(x - grid[0]) / 60.0, 3), round(float(y), 2)) for x, y in zip(grid, at, strict=True))


def _says(start: float, settled: Plateau | None, minutes: float | None) -> str:
    if settled is None:
        return "the coolant was still rising at the end: log until it holds still for two minutes"
    begun = f"from {temperature(start)}" if start < COLD_START_C else f"already at {temperature(start)}"
    took = f", past {HALF_WARM_C:.0f} °C in {minutes:.1f} min" if minutes else ""
    held = f"{begun}{took}, held at {temperature(settled.coolant_c)}"
    if below_fault_line(settled.coolant_c, RATING_C):
        low = RATING_C - FAULT_BELOW_RATING_K
        fall = f" and falls {warmth(settled.falls_k)} at road speed" if settled.falls_k > 5.0 else ""
        line = f"the {low:.0f} °C that an {RATING_C:.0f} °C thermostat must pass"
        return f"{held}{fall}: below {line}; compare with its rating"
    return f"{held}: as a sound thermostat does"


def warm_up_patterns(samples: Samples, settled: Plateau | None, *, subject: Subject) -> tuple[Pattern, ...]:
    """What the plateau says about thermostat and coolant sensor: one physical fact, one ratio a cause.

    An open thermostat shows in cold air and at speed; on a warm day or standing it may not, and the ratio says so. An
    engine that idles in the cold says nothing: a sound one may stay cold too.
    """
    if settled is None:
        return ()
    outside = outside_c(samples, subject)
    speed = samples.speed_m_s
    driven = speed is not None and float(np.nanmean(speed)) > 5.0
    if not driven and outside < IDLES_COLD_C:
        return ()
    shows = float(np.clip(0.95 - 0.02 * max(outside - 5.0, 0.0), 0.4, 0.95)) * (1.0 if driven else 0.5)
    found = ratios("plateau_c", settled.coolant_c, sd_measured=1.5, shows={"thermostat_stuck_open": shows})
    because = f"coolant held at {temperature(settled.coolant_c)} for {settled.seconds / 60:.0f} min"
    if not driven:
        because += ", hardly driven"
    if found["thermostat_stuck_open"] >= SPEAKS_FOR and settled.falls_k > 5.0:
        because += f", {warmth(settled.falls_k)} lower at road speed"
    return tuple(Pattern(cause, ratio, because, ("warmup_trace",)) for cause, ratio in found.items())
