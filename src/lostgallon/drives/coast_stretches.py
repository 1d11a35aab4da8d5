"""Coasting stretches of a drive, found or marked by hand, and the road load that each shows.

In gear with the injectors stopped the engine's own drag is in it; that is taken off, and known to a fifth only.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lostgallon.drives.fitting import fitted
from lostgallon.drives.fuel import outside_pa
from lostgallon.drives.overrun import Overrun
from lostgallon.drives.samples import Samples, rate, smooth
from lostgallon.drives.vehicle import RoadLoad, Subject
from lostgallon.drives.warm_up import outside_c
from lostgallon.physics.air import REFERENCE_DENSITY_KG_M3, density_kg_m3
from lostgallon.physics.coefficients import coefficients, value_of
from lostgallon.shop.marks import Mark, written
from lostgallon.shop.spread import Bools, Floats
from lostgallon.shop.trouble import OutOfRange

Span = tuple[int, int]
"""First sample of a stretch and the one after its last."""

FROM_M_S, FALL_M_S, LONG_S, FEWEST_SAMPLES = 15.0, 3.5, 7.0, 5
HARDEST_M_S2 = 0.75
COMPARED_AT_M_S = 70.0 / 3.6
SPEED_STEP_SD_M_S = 0.12
IDLE_RPM = 800.0
ENGINE_DRAG_SD = 0.2
"""Relative sd of the drag of a motored engine by displacement and speed alone. From memory."""
CLOSED_THROTTLE_PA = 33_000.0
"""Manifold pressure of a motored engine with the throttle shut, where none is logged. From memory."""
GEAR_INERTIA, GEAR_INERTIA_SD = 0.03, 0.015
"""Mass of the engine's turning parts as felt in the highest gear, as a share of the vehicle's. From memory."""
SAME_GEAR = 0.04
"""How far engine turns a meter may wander within one gear, and above the lowest ratio held, as a share; chosen."""


@dataclass(frozen=True)
class Stretch:
    """One coasting stretch: samples from start to stop, and F0 [N], F2 [N s2/m2] at the reference air density.

    `engine_n` is the engine's drag at the wheels that was taken off; 0 in neutral.
    """

    start: int
    stop: int
    f0_n: float
    f2_n_s2_m2: float
    f0_sd_n: float
    engine_n: float = 0.0


def stretches_of(samples: Samples, overrun: Overrun, subject: Subject, *, marked: Sequence[Mark]) -> list[Span]:
    """The stretches to read: those marked by hand; else those in neutral; else those in gear with the fuel cut.

    Args:
        samples: The drive.
        overrun: Where the foot is off and the injectors are stopped.
        subject: What is known of the vehicle.
        marked: Start and end of stretches in seconds from the first line of the log.

    Raises:
        OutOfRange: If a marked stretch is too short or falls too little to be read.
    """
    if marked:
        return marked_spans(samples, marked)
    found = stretches(samples, neutral(samples))
    in_gear = subject.displacement_l is not None
    return found or (stretches(samples, fuel_cut_in_gear(samples, overrun)) if in_gear else [])


def marked_spans(samples: Samples, marked: Sequence[Mark]) -> list[Span]:
    """Stretches marked by hand.

    Raises:
        OutOfRange: If one of them is too short, too slow or falls too little to be read.
    """
    return [_marked(samples, ends) for ends in marked]


def _marked(samples: Samples, ends: Mark) -> Span:
    start, stop = (int(place) for place in np.searchsorted(samples.time_s, ends))
    place = f"coasting marked {written(ends)}"
    speed = samples.speed_m_s
    if speed is None or not _readable(samples, (start, stop)):
        seen = np.array([]) if speed is None else speed[start:stop][np.isfinite(speed[start:stop])]
        fall = 3.6 * (float(seen.max()) - float(seen.min())) if seen.size else 0.0
        expected = f"{LONG_S:.0f} s or more, from {3.6 * FROM_M_S:.0f} km/h or more, a fall of {3.6 * FALL_M_S:.0f}"
        raise OutOfRange(place, found=f"{seen.size} readings that fall by {fall:.0f} km/h", expected=expected)
    return start, stop


def idle_rpm(samples: Samples) -> float:
    """Engine speed standing at idle. [rpm]."""
    rpm, speed = samples.get("rpm"), samples.speed_m_s
    if rpm is None or speed is None:
        return IDLE_RPM
    idle = rpm[(speed < 0.5) & (rpm > 400.0)]
    return float(np.nanmedian(idle)) if idle.size else IDLE_RPM


def neutral(samples: Samples) -> Bools:
    """Rolling fast with the engine at idle speed or stopped: the driveline is open. No brake by its switch."""
    rpm = samples.get("rpm")
    if rpm is None:
        return np.zeros(len(samples.time_s), bool)
    open_driveline = rpm < max(1.25 * idle_rpm(samples), 950.0)
    return _unbraked(samples) & _slowing(samples, hardest_m_s2=HARDEST_M_S2) & open_driveline


def fuel_cut_in_gear(samples: Samples, overrun: Overrun) -> Bools:
    """Foot off in the highest gear held, the injectors seen stopped, the brake seen not applied.

    Without a brake switch in the log a light foot on the brake can't be told from drag, so nothing is taken.
    """
    nowhere = np.zeros(len(samples.time_s), bool)
    rpm, speed, brake = samples.get("rpm"), samples.speed_m_s, samples.get("brake")
    if overrun.cut is None or rpm is None or speed is None or brake is None:
        return nowhere
    moving = speed > 9.0
    turns = np.divide(rpm, speed, out=np.full(len(speed), np.nan), where=moving)
    if not np.isfinite(turns).any():
        return nowhere
    highest = float(np.nanquantile(turns[moving & (rpm > 1.25 * idle_rpm(samples))], 0.02))
    in_highest = np.abs(turns / highest - 1.0) < SAME_GEAR
    return np.asarray(overrun.where & overrun.cut & in_highest & _slowing(samples, hardest_m_s2=1.2) & (brake == 0.0))


def _unbraked(samples: Samples) -> Bools:
    brake = samples.get("brake")
    return np.ones(len(samples.time_s), bool) if brake is None else ~(brake > 0.0)


def _slowing(samples: Samples, *, hardest_m_s2: float) -> Bools:
    speed = samples.speed_m_s
    if speed is None:
        return np.zeros(len(samples.time_s), bool)
    slowing = rate(smooth(speed, samples, window_s=2.5), samples, window_s=4.0)
    return np.asarray((speed > 9.0) & (slowing < 0.02) & (slowing > -hardest_m_s2))


def stretches(samples: Samples, where: Bools) -> list[Span]:
    """Runs of coasting long and fast enough to read."""
    if samples.speed_m_s is None or not where.any():
        return []
    edges = np.flatnonzero(np.diff(np.concatenate(([0], where.astype(int), [0]))))
    spans = zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)
    return [span for span in spans if _readable(samples, span)]


def _readable(samples: Samples, span: Span) -> bool:
    speed, (start, stop) = samples.speed_m_s, span
    if speed is None or stop - start < FEWEST_SAMPLES or not np.isfinite(speed[start:stop]).any():
        return False
    seen = speed[start:stop]
    fall = float(np.nanmax(seen) - np.nanmin(seen))
    long_enough = samples.time_s[stop - 1] - samples.time_s[start] >= LONG_S
    return bool(long_enough and fall >= FALL_M_S and np.nanmax(seen[:FEWEST_SAMPLES]) >= FROM_M_S)


def coast(time_s: Floats, *, v0_m_s: float, f0_n: float, f2_n_s2_m2: float, mass_kg: float) -> Floats:
    """Speed of a coasting vehicle. [m/s], shape (samples,).

    Args:
        time_s: From the start. Shape (samples,). [s]
        v0_m_s: Speed at the start. [m/s]
        f0_n: Constant part of the road load. [N]
        f2_n_s2_m2: Part that grows with speed squared. [N s2/m2]
        mass_kg: Mass with the turning parts. [kg]

    Source: integral of m dv/dt = -(F0 + F2 v2): v = sqrt(F0/F2) tan(atan(v0 sqrt(F2/F0)) - t sqrt(F0 F2)/m)
    (Gillespie, Fundamentals of Vehicle Dynamics, SAE 1992, chapter 4, coast-down; worked by hand in the tests).
    """
    f0, f2 = max(f0_n, 1.0), max(f2_n_s2_m2, 1e-3)
    angle = math.atan(v0_m_s * math.sqrt(f2 / f0)) - time_s * math.sqrt(f0 * f2) / mass_kg
    return np.asarray(math.sqrt(f0 / f2) * np.tan(np.clip(angle, 0.0, 1.55)))


def fit(samples: Samples, span: Span, *, subject: Subject) -> Stretch:
    """Least squares for start speed, F0 and F2, with F2 held near the sound vehicle's (a stretch shows mostly F0)."""
    load, (start, stop) = known_load(subject), span
    engine_n, turning = _engine(samples, span, subject=subject)
    mass_kg = (subject.mass_kg or 0.0) * (value_of("rotating_mass") + turning)
    time = samples.time_s[start:stop] - samples.time_s[start]
    speed = samples.speed_m_s[start:stop] if samples.speed_m_s is not None else np.zeros(0)
    use = np.isfinite(speed)
    time, speed = time[use], speed[use]
    thin = air_factor(samples, subject)
    expected_f2 = load.f2_n_s2_m2 * thin
    sd = math.sqrt(SPEED_STEP_SD_M_S**2 * max(1.0, len(time) / max(float(time[-1]), 1.0)))

    def off(guess: Floats) -> Floats:
        modeled = coast(time, v0_m_s=guess[0], f0_n=guess[1], f2_n_s2_m2=guess[2], mass_kg=mass_kg)
        held = (guess[2] / expected_f2 - 1.0) / coefficients()["drag_area_log"].spread
        return np.append((modeled - speed) / sd, held)

    start_at = np.array([float(speed[0]), load.f0_n + engine_n, expected_f2])
    found = fitted(off, start_at, scale=np.array([1.0, 50.0, 0.1]))
    at = np.array([0.0, 1.0, COMPARED_AT_M_S**2])
    force_sd = math.sqrt(float(at @ found.covariance @ at))
    if engine_n:
        inertia_n = GEAR_INERTIA_SD * (subject.mass_kg or 0.0) * HARDEST_M_S2
        force_sd = math.sqrt(force_sd**2 + (ENGINE_DRAG_SD * engine_n) ** 2 + inertia_n**2)
    return Stretch(start, stop, float(found.at[1]) - engine_n, float(found.at[2]) / thin, force_sd, engine_n)


def _engine(samples: Samples, span: Span, *, subject: Subject) -> tuple[float, float]:
    """Mean drag of the motored engine at the wheels [N] and its inertia as a share of the mass; nothing in neutral.

    Source: the friction of docs/physics.md and pumping from the manifold to the outside, over the driveline.
    """
    rpm, speed, (start, stop) = samples.get("rpm"), samples.speed_m_s, span
    if rpm is None or speed is None or subject.displacement_l is None:
        return 0.0, 0.0
    turns, fast = float(np.nanmean(rpm[start:stop])), float(np.nanmean(speed[start:stop]))
    if not turns > max(1.25 * idle_rpm(samples), 950.0):
        return 0.0, 0.0
    manifold = samples.get("manifold_pa")
    seen = manifold is not None and np.isfinite(manifold[start:stop]).any()
    inside_pa = float(np.nanmean(manifold[start:stop])) if manifold is not None and seen else CLOSED_THROTTLE_PA
    pumping_pa = max(0.0, outside_pa(samples, subject) - inside_pa)
    effective_pa = value_of("friction_a") + value_of("friction_b") * turns + pumping_pa
    power_w = effective_pa * subject.displacement_l * 1e-3 * turns / 120.0 + value_of("accessory_power")
    return power_w / fast / value_of("driveline_efficiency"), GEAR_INERTIA


def known_load(subject: Subject) -> RoadLoad:
    """The road load to compare with.

    Raises:
        TypeError: If the subject has none.
    """
    if subject.road_load is None:
        raise TypeError("a coast-down needs a road load to compare with")
    return subject.road_load


def air_factor(samples: Samples, subject: Subject) -> float:
    """Density of today's air over the one that road loads refer to."""
    pressure_pa, temperature_c = outside_pa(samples, subject), outside_c(samples, subject)
    return float(density_kg_m3(pressure_pa=pressure_pa, temperature_c=temperature_c)) / REFERENCE_DENSITY_KG_M3
