"""The converter clutch from engine speed over road speed: gears found, slip in the top one, when it applied.

With the clutch locked, engine speed is a fixed multiple of road speed whatever the load. An open or slipping converter
adds turns that grow with torque and vanish without it. So engine speed is fitted as ratio times speed plus slip times
torque, and the slip is what it adds at the cruise's own torque.
"""

from dataclasses import dataclass

import numpy as np

from lostgallon.drives.evidence import ratios
from lostgallon.drives.overrun import Overrun
from lostgallon.drives.samples import Samples, air_share, rate, smooth
from lostgallon.drives.vehicle import Subject
from lostgallon.shop.driven import LockUp, Pattern
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Bools, Floats, Spread

NAME = "lock_up"
CRUISE_M_S = 16.0
WARM_C = 65.0
VETO_BELOW_C = 60.0
STEADY_M_S2 = 0.5
EVEN_S = 4.0
ENOUGH_S = 40.0
TOP_GEAR_BAND = 0.13
"""Neighboring gears lie at least 15 % apart (common practice); an open converter adds less than that at cruise."""
NO_TORQUE_FILLING = 0.17
"""Load at which the engine just turns itself: a sixth to a fifth (from memory)."""
SLIPS_RPM = 50.0
"""Slip in lock: 0 to 50, controlled slip up to about 80 (trade practice, from memory)."""
GEARS_RPM_PER_KMH, GEAR_CELL_LN = (8.0, 250.0), 0.025
NAMES_BY_GEARBOX = {"manual": "the clutch", "dual clutch": "the clutch"}


@dataclass(frozen=True)
class Slip:
    """What the top gear shows: ratio in rpm per m/s, slip at the cruise's torque and its sd, slip by sample there."""

    ratio: float
    slip_rpm: float
    sd_rpm: float
    where: Bools
    by_sample_rpm: Floats


def lock_up_of(samples: Samples, overrun: Overrun, subject: Subject) -> LockUp | NotEnough:
    """Gears, slip and lock-up of the drive.

    Args:
        samples: The drive.
        overrun: Where the foot is off.
        subject: What is known of the vehicle; a belt-driven gearbox has no fixed gears to find.
    """
    if subject.transmission == "cvt":
        return NotEnough(NAME, "fixed gears: this gearbox has none", "read the converter's slip by the scan tool")
    rpm, speed = samples.get("rpm"), samples.speed_m_s
    if rpm is None or speed is None:
        return NotEnough(NAME, "engine and road speed together", "log both")
    cruise = _cruise(samples, overrun)
    found = slip_of(samples, cruise)
    if isinstance(found, NotEnough):
        return found
    gears = _gears(samples, cruise)
    seconds = samples.seconds(found.where)
    applied = samples.seconds(found.where & (found.by_sample_rpm < SLIPS_RPM)) / seconds
    changes = _changes(samples, found)
    return LockUp(
        applied_share=applied,
        slip_rpm=found.slip_rpm,
        says=_says(found, samples, subject=subject, changes=changes),
        slip_spread_rpm=_normal(found.slip_rpm, found.sd_rpm),
        gears=gears,
        changes_per_min=changes,
    )


def _normal(mean: float, sd: float) -> Spread:
    return Spread(mean=mean, p05=mean - 1.645 * sd, p50=mean, p95=mean + 1.645 * sd)


def _cruise(samples: Samples, overrun: Overrun) -> Bools:
    """Warm, fast enough and steady; the overrun is left out because many units let go of the clutch there."""
    speed = samples.speed_m_s
    if speed is None:
        return np.zeros(len(samples.time_s), bool)
    where = (smooth(speed, samples, window_s=EVEN_S) > CRUISE_M_S) & samples.running()
    where &= np.abs(rate(speed, samples, window_s=EVEN_S)) < STEADY_M_S2
    coolant = samples.get("coolant_c")
    if coolant is not None and np.nanmax(coolant) > WARM_C:
        where &= coolant > WARM_C
    return np.asarray(where & ~overrun.where)


def slip_of(samples: Samples, cruise: Bools) -> Slip | NotEnough:
    """Ratio and slip in the highest gear that was held.

    Args:
        samples: The drive.
        cruise: Where it is steady and fast.
    """
    direct = _measured_slip(samples)
    rpm, speed = samples.get("rpm"), samples.speed_m_s
    would = "hold 60 to 110 km/h in top gear for two minutes, with a few gentle pulls"
    if rpm is None or speed is None or samples.seconds(cruise) < ENOUGH_S:
        seconds = samples.seconds(cruise)
        seen = f"only {seconds:.0f} s of warm steady cruise" if seconds >= 1.0 else "no warm steady cruise"
        return NotEnough(NAME, seen, would)
    even_rpm, even_speed = smooth(rpm, samples, window_s=EVEN_S), smooth(speed, samples, window_s=EVEN_S)
    turns = even_rpm / np.maximum(even_speed, 1.0)
    top = _top_gear(turns, cruise, samples)
    if samples.seconds(top) < ENOUGH_S:
        return NotEnough(NAME, "no gear was held long enough", would)
    if direct is not None:
        return _direct(direct, even_rpm, even_speed, top=top)
    torque = _torque(samples)
    if torque is None:
        return NotEnough(NAME, "load, manifold pressure or air flow, to tell slip from gearing", "log the load")
    return _fit(even_rpm, even_speed, torque, top=top, samples=samples)


def _measured_slip(samples: Samples) -> Floats | None:
    slip, rpm, inner = samples.get("slip_rpm"), samples.get("rpm"), samples.get("input_rpm")
    if slip is not None:
        return slip
    return rpm - inner if rpm is not None and inner is not None else None


def _direct(slip: Floats, rpm: Floats, speed: Floats, *, top: Bools) -> Slip:
    use = top & np.isfinite(slip)
    middle = float(np.median(slip[use]))
    ratio = float(np.median((rpm - slip)[use] / speed[use]))
    return Slip(ratio, middle, 5.0, use, slip)


def _top_gear(turns: Floats, cruise: Bools, samples: Samples) -> Bools:
    """Samples in the lowest ratio that was held, an open converter's extra turns included."""
    seen = turns[cruise & np.isfinite(turns)]
    if len(seen) < 8:
        return np.zeros(len(turns), bool)
    edges = np.exp(np.arange(np.log(np.quantile(seen, 0.005)) - 0.02, np.log(np.quantile(seen, 0.995)) + 0.03, 0.02))
    if len(edges) < 3:
        return np.asarray(cruise)
    place = np.clip(np.digitize(np.nan_to_num(turns, nan=edges[-1]), edges) - 1, 0, len(edges) - 1)
    held = np.bincount(place[cruise], weights=samples.weight_s[cruise], minlength=len(edges))
    neighbors = held + np.append(held[1:], 0.0) + np.insert(held[:-1], 0, 0.0)
    long_enough = np.flatnonzero(neighbors > max(0.08 * held.sum(), 10.0))
    lowest = edges[long_enough[0]] if len(long_enough) else edges[0]
    return np.asarray(cruise & (turns > 0.97 * lowest) & (turns < lowest * (1.0 + TOP_GEAR_BAND)))


def _torque(samples: Samples) -> Floats | None:
    """Engine torque over its mean, 0 where the engine only turns itself; from the filling. Shape (samples,)."""
    filling = air_share(samples)
    if filling is None:
        flow, rpm = samples.get("air_flow_g_s"), samples.get("rpm")
        if flow is None or rpm is None:
            return None
        by_turn = flow / np.maximum(rpm, 400.0)
        filling = by_turn / float(np.nanquantile(by_turn, 0.995))
    return smooth(filling, samples, window_s=EVEN_S) - NO_TORQUE_FILLING


def _fit(rpm: Floats, speed: Floats, torque: Floats, *, top: Bools, samples: Samples) -> Slip | NotEnough:
    """Least squares of rpm on speed and torque, twice, leaving out what lies far off the first time."""
    use = top & np.isfinite(rpm) & np.isfinite(speed) & np.isfinite(torque)
    if samples.seconds(use) < ENOUGH_S:
        return NotEnough(NAME, "engine speed, road speed and load at the same moments", "log the three together")
    mean_torque = max(float(np.average(torque[use], weights=samples.weight_s[use])), 0.02)
    pull = torque / mean_torque
    spread = float(np.std(pull[use]))
    ratio = slip = scatter = 0.0
    even, pulls, turns = speed[use], pull[use], rpm[use]
    kept = np.ones(len(even), bool)
    for _ in range(3):
        ratio, slip = _least_squares(even[kept], pulls[kept], turns[kept])
        off = np.abs(turns - even * ratio - pulls * slip)
        scatter = 1.4826 * float(np.median(off[kept]))
        kept &= off < max(4.0 * scatter, 15.0)
    use[use] = kept
    apart = max(samples.seconds(use) / (2.0 * EVEN_S), 4.0)
    sd = max(scatter, 4.0) / max(np.sqrt(apart) * spread, 1e-6)
    if sd > 40.0:
        missing = "the load hardly changed at cruise, so gearing and slip can't be told apart"
        return NotEnough(NAME, missing, "hold top gear over a rise or pull gently a few times")
    # The filling without torque is uncertain by a fifth of the mean torque, and so is the slip.
    return Slip(ratio, slip, float(np.hypot(sd, 0.2 * slip)), top, rpm - ratio * speed)


def _least_squares(speed: Floats, pull: Floats, rpm: Floats) -> tuple[float, float]:
    """Rpm per m/s and rpm per unit of pull; a pull that never changes is left to the speed."""
    scale = max(float(np.linalg.norm(speed)), 1e-12), max(float(np.linalg.norm(pull)), 1e-12)
    between = float(speed @ pull) / (scale[0] * scale[1])
    normal = np.array([[1.0, between], [between, 1.0]])
    seen = np.array([float(speed @ rpm) / scale[0], float(pull @ rpm) / scale[1]])
    found = np.linalg.lstsq(normal, seen, rcond=None)[0]
    return float(found[0]) / scale[0], float(found[1]) / scale[1]


def _gears(samples: Samples, cruise: Bools) -> tuple[float, ...]:
    """Ratios held for more than a twentieth of the moving time, rpm per km/h, top gear first."""
    rpm, speed = samples.get("rpm"), samples.speed_m_s
    if rpm is None or speed is None:
        return ()
    moving = (speed > 5.0) & samples.running() & (np.abs(rate(speed, samples, window_s=3.0)) < 1.5)
    turns = smooth(rpm, samples, window_s=2.0) / np.maximum(smooth(speed, samples, window_s=2.0) * 3.6, 1.0)
    low, width = np.log(GEARS_RPM_PER_KMH[0]), GEAR_CELL_LN
    cells = int((np.log(GEARS_RPM_PER_KMH[1]) - low) / width)
    seen = moving & (turns >= GEARS_RPM_PER_KMH[0]) & (turns < GEARS_RPM_PER_KMH[0] * np.exp(width * cells))
    place = ((np.log(turns[seen]) - low) / width).astype(np.int64)
    held = np.bincount(np.minimum(place, cells - 1), weights=samples.weight_s[seen], minlength=cells)
    if held.sum() <= 0.0 or not cruise.any():
        return ()
    around = np.convolve(held, np.ones(3), "same")
    peaks = [
        at
        for at in range(2, len(held) - 2)
        if held[at] > 0 and around[at] == max(around[at - 2 : at + 3]) and around[at] > 0.05 * held.sum()
    ]
    middles = [float(np.exp(low + width * (at + 0.5))) for at in peaks]
    return tuple(round(one, 2) for at, one in enumerate(middles) if at == 0 or one > 1.1 * middles[at - 1])


def _changes(samples: Samples, found: Slip) -> float:
    """How often a minute the slip crosses between applied and not while top gear is held."""
    applied = found.by_sample_rpm < SLIPS_RPM
    far = np.abs(found.by_sample_rpm - SLIPS_RPM) > 25.0
    states = applied[found.where & far]
    return 60.0 * float(np.count_nonzero(np.diff(states.astype(int)))) / max(samples.seconds(found.where), 1.0)


def was_vetoed(samples: Samples) -> bool:
    """Whether a cold reading held lock-up off: the coolant never passed the line below which it is not commanded."""
    coolant = samples.get("coolant_c")
    return coolant is not None and bool(np.nanmax(coolant) < VETO_BELOW_C)


def _says(found: Slip, samples: Samples, *, subject: Subject, changes: float) -> str:
    part = NAMES_BY_GEARBOX.get(subject.transmission or "", "the converter clutch")
    turns = f"{found.ratio / 3.6:.1f} rpm per km/h in the highest gear held"
    if was_vetoed(samples):
        return f"lock-up is not to be expected: the coolant read below {VETO_BELOW_C:.0f} °C throughout ({turns})"
    if found.slip_rpm - 1.645 * found.sd_rpm > SLIPS_RPM:
        commanded = samples.get("lock_up_commanded")
        never = commanded is not None and not np.any(commanded[found.where] > 0.0)
        why = "; it was never commanded" if never else ""
        return f"{part} slips about {found.slip_rpm:.0f} rpm at cruise{why} ({turns})"
    if changes > 2.0:
        return f"{part} applies and releases {changes:.0f} times a minute at cruise ({turns})"
    return f"{part} holds: {max(found.slip_rpm, 0.0):.0f} rpm of slip at cruise ({turns})"


def lock_up_patterns(lock_up: LockUp, samples: Samples) -> tuple[Pattern, ...]:
    """What the slip says. A veto by a cold reading is no fault of the clutch and says nothing here."""
    if lock_up.slip_rpm is None or lock_up.slip_spread_rpm is None or was_vetoed(samples):
        return ()
    sd = (lock_up.slip_spread_rpm.p95 - lock_up.slip_spread_rpm.p05) / 3.29
    found = ratios("slip_rpm", lock_up.slip_rpm, sd_measured=sd)
    because = f"{lock_up.slip_rpm:.0f} rpm of slip in the highest gear at cruise"
    return tuple(Pattern(cause, ratio, because, ("tcc_road",)) for cause, ratio in found.items())
