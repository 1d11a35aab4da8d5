"""Coasting stretches, and the road load they show against a sound vehicle's or the same vehicle's own earlier one.

Simplified from SAE J1263 and J2263: speed from the port at its own step, no anemometer, no grade survey. Stretches are
paired in the order driven and taken as there and back over one piece of road, so that grade and steady wind cancel to
first order. One stretch alone carries the uncertainty of an unknown grade and wind, which is large, and says so.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lostgallon.drives.coast_stretches import COMPARED_AT_M_S, Stretch, fit, known_load, stretches_of
from lostgallon.drives.evidence import SPEAKS_AGAINST, SPEAKS_FOR, capped, normal_density
from lostgallon.drives.overrun import Overrun
from lostgallon.drives.samples import Samples
from lostgallon.drives.vehicle import STANDARD_GRAVITY_M_S2, RoadLoad, Subject
from lostgallon.drives.words import force
from lostgallon.physics.coefficients import coefficients, value_of
from lostgallon.shop.driven import CoastDown, Curve, Pattern
from lostgallon.shop.marks import Mark
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Spread

NAME, DRAG, NAME_OF_CAUSE = "coast_down", "drag", "dragging_brake"
TOLD_N = 40.0
"""The drag of a plainly dragging brake; where it could not be told, the program says so."""
SCALE = "read the drag at each wheel with a spring scale"
TO_KNOW = (
    "give the certified road load ([vehicle] road_load in the case file) or an earlier drive with coast-downs"
    f" (--against), or {SCALE}"
)
GRADE_SD, PAIR_GRADE_SD = 0.005, 0.0004
WIND_SD_M_S = 2.0
MASS_SD = 0.02
"""Sd of grade on a road called level, left after there and back, of the wind along it, of the mass. From memory."""
STAGED_DRAG_N = (8.0, 15.0, 25.0, 40.0, 60.0, 90.0)
STAGED_WEIGHTS = (0.10, 0.20, 0.25, 0.22, 0.15, 0.08)
"""Drag at the tread of a dragging brake: a wheel stiff to turn by hand is 30 to 80 N (service manuals, derived)."""
OTHER_RESISTANCE_N = 8.0
"""Scatter of sound vehicles for tires, pressure, load and road surface, beside the road load's own uncertainty."""
SHOWS, PRIOR_STRAY = 0.95, 0.02
_PARTS = ("f0_n", "f2_n_s2_m2")


@dataclass(frozen=True)
class Coasting:
    """All coast-downs of a drive, what they say together about drag, and what was missing."""

    coast_downs: tuple[CoastDown, ...]
    pattern: tuple[Pattern, ...]
    not_enough: NotEnough | None


def coasting_of(samples: Samples, overrun: Overrun, subject: Subject, *, marked: Sequence[Mark] = ()) -> Coasting:
    """All coast-downs of the drive: pairs in the order driven, a last one alone if their number is odd.

    Args:
        samples: The drive.
        overrun: Where the foot is off and the injectors are stopped.
        subject: What is known of the vehicle; its mass and road load are needed.
        marked: Start and end of stretches in seconds from the first line, where a person marked them.

    Raises:
        OutOfRange: If a marked stretch can't be read.
    """
    spans = stretches_of(samples, overrun, subject, marked=marked)
    if not spans:
        return Coasting((), (), None)
    if subject.mass_kg is None or subject.road_load is None:
        seconds = sum(float(samples.time_s[stop - 1] - samples.time_s[start]) for start, stop in spans)
        missing = f"the vehicle's weight, to read {len(spans)} coasting stretches ({seconds:.0f} s)"
        return Coasting((), (), NotEnough(NAME, missing, "give the vehicle with --vehicle CASE.toml"))
    fitted = [fit(samples, span, subject=subject) for span in spans]
    pairs = [fitted[at : at + 2] for at in range(0, len(fitted), 2)]
    found = tuple(_coast_down(samples, pair, subject=subject) for pair in pairs)
    weighed = _weighed(pairs, subject)
    return Coasting(found, (weighed.pattern,), weighed.undecided)


def _extra_n(pair: list[Stretch], load: RoadLoad) -> float:
    """Force at the speed of comparison beyond the sound vehicle's. [N]."""
    forces = [one.f0_n + one.f2_n_s2_m2 * COMPARED_AT_M_S**2 for one in pair]
    return float(np.mean(forces)) - load.force_n(COMPARED_AT_M_S)


def own_road_load(samples: Samples, overrun: Overrun, subject: Subject, *, source: str) -> RoadLoad | None:
    """The road load that the coast-downs of an earlier drive show, to compare a later drive with; None without any.

    What two drives of one vehicle share (mass, kind) is in both and cancels; what is left are fit, grade and wind.

    Args:
        samples: The earlier drive.
        overrun: Of that drive.
        subject: What is known of the vehicle.
        source: How the earlier drive is called.
    """
    spans = stretches_of(samples, overrun, subject, marked=())
    if not spans or subject.mass_kg is None or subject.road_load is None:
        return None
    used = _both_ways([fit(samples, span, subject=subject) for span in spans])
    f0_n, f2 = (float(np.mean([np.mean([getattr(one, name) for one in pair]) for pair in used])) for name in _PARTS)
    own = RoadLoad(f0_n, f2, 0.0, f"its own coast-down in {source}", own=True)
    own_sd_n = _shared_sd_n(used, subject, own)
    return replace(own, relative_sd=own_sd_n / own.force_n(COMPARED_AT_M_S))


def _coast_down(samples: Samples, pair: list[Stretch], *, subject: Subject) -> CoastDown:
    load = known_load(subject)
    f0_n = float(np.mean([one.f0_n for one in pair]))
    f2 = float(np.mean([one.f2_n_s2_m2 for one in pair]))
    own_sd_n = _own_sd_n(pair, subject, load)
    extra = _normal(_extra_n(pair, load), math.hypot(own_sd_n, _common_sd_n(load)))
    fuel_pct = fuel_pct_of_force(extra, load, displacement_l=subject.displacement_l or 2.0)
    weight_n = (subject.mass_kg or 1.0) * STANDARD_GRAVITY_M_S2
    f0_sd = math.hypot(own_sd_n, coefficients()["drag_area_log"].spread * load.f2_n_s2_m2 * COMPARED_AT_M_S**2)
    return CoastDown(
        f0_n=f0_n,
        f2_n_per_kmh2=f2 / 3.6**2,
        rolling_coefficient=_normal(f0_n / weight_n, f0_sd / weight_n),
        says=_says(pair, extra, fuel_pct=fuel_pct, load=load),
        extra_drag_n=extra,
        extra_fuel_pct=fuel_pct,
        stretches=len(pair),
        curve=_picture(samples, pair),
        expected=tuple((float(v), round(load.force_n(v / 3.6), 1)) for v in range(30, 121, 10)),
    )


def _normal(mean: float, sd: float) -> Spread:
    return Spread(mean=mean, p05=mean - 1.645 * sd, p50=mean, p95=mean + 1.645 * sd)


def _common_sd_n(load: RoadLoad) -> float:
    """Uncertainty that all coast-downs of a drive share: the sound road load itself, and the mass. [N]."""
    return math.hypot(load.relative_sd, 0.0 if load.own else MASS_SD) * load.force_n(COMPARED_AT_M_S)


def _both_ways(fitted: list[Stretch]) -> list[list[Stretch]]:
    """Stretches in pairs, there and back; the single ones only where there is no pair."""
    pairs = [fitted[at : at + 2] for at in range(0, len(fitted), 2)]
    return [pair for pair in pairs if len(pair) == 2] or pairs


def _shared_sd_n(used: list[list[Stretch]], subject: Subject, load: RoadLoad) -> float:
    """Uncertainty of the mean of several pairs: their own shrinks with their number. [N]."""
    return math.sqrt(sum(_own_sd_n(pair, subject, load) ** 2 for pair in used)) / len(used)


def _own_sd_n(pair: list[Stretch], subject: Subject, load: RoadLoad) -> float:
    """Uncertainty of one pair or one stretch: fit, grade, wind. [N]."""
    weight_n = (subject.mass_kg or 1.0) * STANDARD_GRAVITY_M_S2
    fit_sd = math.sqrt(sum(one.f0_sd_n**2 for one in pair)) / len(pair)
    if len(pair) == 1:
        grade = GRADE_SD * weight_n
        wind = 2.0 * load.f2_n_s2_m2 * COMPARED_AT_M_S * WIND_SD_M_S
    else:
        grade = PAIR_GRADE_SD * weight_n
        # What there and back leaves of a wind along the road is its own square: F2 w2.
        wind = load.f2_n_s2_m2 * WIND_SD_M_S**2
    return math.sqrt(fit_sd**2 + grade**2 + wind**2)


def fuel_pct_of_force(extra_n: Spread, load: RoadLoad, *, displacement_l: float) -> Spread:
    """Fuel that an extra force costs at a steady 80 km/h, against the sound vehicle's fuel there. [%].

    Power at the piston is road load over the driveline, accessories and friction; its marginal efficiency cancels.

    Args:
        extra_n: The extra force. [N]
        load: The sound vehicle's road load.
        displacement_l: Displacement, for friction. [L]

    Source: the Willans line of docs/physics.md with its table of coefficients, in top gear at 1300 rpm.
    """
    rpm, speed = 1300.0, 80.0 / 3.6
    friction_pa = value_of("friction_a") + value_of("friction_b") * rpm
    friction_w = friction_pa * displacement_l * 1e-3 * rpm / 120.0
    road_w = load.force_n(speed) * speed / value_of("driveline_efficiency")
    per_n = 100.0 * speed / value_of("driveline_efficiency") / (road_w + friction_w + value_of("accessory_power"))
    return Spread(per_n * extra_n.mean, per_n * extra_n.p05, per_n * extra_n.p50, per_n * extra_n.p95)


def _picture(samples: Samples, pair: list[Stretch]) -> Curve:
    """Mean force of a pair, or the force of one stretch, over the speeds it was seen at: km/h against newtons."""
    seen = samples.speed_m_s
    if seen is None:
        return ()
    parts = [seen[one.start : one.stop] for one in pair]
    slow, fast = (float(end(np.concatenate(parts))) for end in (np.nanmin, np.nanmax))
    forces = [(v, np.mean([one.f0_n + one.f2_n_s2_m2 * v**2 for one in pair])) for v in np.linspace(slow, fast, 8)]
    return tuple((round(3.6 * float(v), 1), round(float(force_n), 1)) for v, force_n in forces)


def _says(pair: list[Stretch], extra: Spread, *, fuel_pct: Spread, load: RoadLoad) -> str:
    ways = "taken as there and back" if len(pair) == 2 else "one way only, so grade and wind are in it"
    engine = float(np.mean([one.engine_n for one in pair]))
    gear = f", in gear with {force(engine)} of the engine's own drag taken off" if engine else ""
    against = f"against {load.source}, {ways}{gear}"
    if extra.p05 <= 0.0:
        return f"drag {extra.p50:+.0f} N off the expected, likely {extra.p05:+.0f} to {extra.p95:+.0f} N, {against}"
    likely = f"likely {extra.p05:.0f} to {extra.p95:.0f} N"
    return f"about {force(extra.p50)} more drag than expected, {likely}, near {fuel_pct.p50:.0f} % of fuel, {against}"


@dataclass(frozen=True)
class _Weighed:
    """What all coast-downs together say about a dragging brake, and why they can't tell, where they can't."""

    pattern: Pattern
    undecided: NotEnough | None


def _weighed(pairs: list[list[Stretch]], subject: Subject) -> _Weighed:
    """All coast-downs of a drive as one physical fact with one ratio.

    Pairs go before single stretches. Their own scatter shrinks with their number; what they are compared with does not.
    """
    load = known_load(subject)
    used = _both_ways([one for pair in pairs for one in pair])
    extra_n = float(np.mean([_extra_n(pair, load) for pair in used]))
    own_n, common_n = _shared_sd_n(used, subject, load), _common_sd_n(load)
    sd_n = math.sqrt(own_n**2 + common_n**2 + OTHER_RESISTANCE_N**2)
    ratio = drag_ratio(extra_n, sd_n)
    because = f"{extra_n:+.0f} N of drag against the expected, by coasting"
    blind = SPEAKS_AGAINST < ratio < SPEAKS_FOR and drag_ratio(TOLD_N, sd_n) < SPEAKS_FOR
    notice = _blind(used, load, sd_n=sd_n, own_n=own_n, common_n=common_n) if blind else None
    return _Weighed(Pattern(NAME_OF_CAUSE, ratio, because, ("coast_down",)), notice)


def _blind(used: list[list[Stretch]], load: RoadLoad, *, sd_n: float, own_n: float, common_n: float) -> NotEnough:
    """Why 40 N could hide here, and what would show them; the larger doubt is named."""
    doubt = f"sure to {1.645 * sd_n:.0f} N only, so a brake that drags {TOLD_N:.0f} N can't be told from none"
    if common_n >= own_n:
        known = f"drag by coasting is {doubt}: what a sound one needs is known from {load.source} alone"
        return NotEnough(DRAG, known, TO_KNOW)
    if any(one.engine_n for pair in used for one in pair):
        return NotEnough(DRAG, f"drag by coasting in gear is {doubt}", "coast in neutral, there and back, or " + SCALE)
    return NotEnough(
        DRAG, f"drag by these coast-downs is {doubt}", "coast there and back on one level road, or " + SCALE
    )


def drag_ratio(extra_n: float, sd_n: float) -> float:
    """Likelihood ratio of an extra force for a dragging brake.

    Args:
        extra_n: Measured force less the expected. [N]
        sd_n: Its standard deviation on a sound vehicle. [N]
    """
    stray = PRIOR_STRAY / 400.0
    dragging = sum(
        weight * normal_density(extra_n, force_n, sd_n)
        for weight, force_n in zip(STAGED_WEIGHTS, STAGED_DRAG_N, strict=True)
    )
    without = (1.0 - PRIOR_STRAY) * normal_density(extra_n, 0.0, sd_n) + stray
    return capped(SHOWS * (dragging + stray) / without + (1.0 - SHOWS))
