"""The time loop: fuel over traces for many lanes at once, and where the energy went.

A trip is a list of legs. A leg is a trace, driven once through or scaled to each lane's own distance or time.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from lostgallon.physics.lanes import Lanes
from lostgallon.physics.schedules import Block, Trace
from lostgallon.physics.tires import RUNNING_REFERENCE_C
from lostgallon.physics.warm_up import DRIVELINE_WARM_C, RATING_C, Temperatures, after_block, joined_temperatures
from lostgallon.shop.spread import Bools, Floats

CHUNK = 512  # lanes at a time, so that a block's arrays stay in the processor's cache
OVERRUN_W, OVERRUN_M_S = -500.0, 7.0  # below this wheel power and above this speed fuel is cut
PARTS = ("rolling", "aero", "inertia", "idle", "friction", "warm_up", "electrical", "driveline")


@dataclass(frozen=True)
class Leg:
    """A trace and how much of it each lane drives.

    `scale`, shape (lanes,), stretches or shortens every block alike, in time and distance, so that a trip of any
    length keeps the trace's mix of speeds; None is once through.
    """

    trace: Trace
    scale: Floats | None = None

    def part(self, start: int, stop: int) -> "Leg":
        """The leg for the lanes from `start` up to `stop`."""
        return Leg(self.trace, None if self.scale is None else self.scale[start:stop])


@dataclass(frozen=True)
class Outcome:
    """Fuel and way of each lane, where it ended, and the energy split if it was asked for.

    `fuel_j`, `distance_m` and each of `parts_j` have shape (lanes,); the parts add up to the fuel.
    """

    fuel_j: Floats
    distance_m: Floats
    temperatures: Temperatures
    parts_j: dict[str, Floats]


@dataclass(frozen=True)
class _Warmth:
    """What a block's temperatures mean for the lanes, each of shape (lanes,)."""

    road_n: Floats
    spin_n: Floats
    friction: Floats
    rich: Floats
    idle_rpm: Floats
    unlocked: Floats


@dataclass(frozen=True)
class _Moving:
    """The moving seconds of a block; sums of shape (lanes,), the rest (seconds, lanes)."""

    need_j: Floats
    way_m: Floats
    speed_m_s: Floats
    pulling: Bools
    gain: Floats
    within_w: Floats
    kept: Floats


@dataclass
class Machine:
    """Where a compiled form of the loop is put once it is there; compiled.py does so. It gives the same digits."""

    drive: "Callable[[Lanes, Sequence[Leg], Temperatures, bool], Outcome] | None" = None


MACHINE = Machine()


def drive(
    lanes: Lanes, legs: Sequence[Leg], start: Temperatures, *, starting: bool = True, split: bool = False
) -> Outcome:
    """Drive the legs one after the other, the engine running throughout.

    Args:
        lanes: The lanes, `count` of them.
        legs: What is driven.
        start: Temperatures at the start.
        starting: Whether the engine is started; a cold start costs fuel of its own.
        split: Also account for the energy, part by part.

    Returns:
        The outcome; the parts are empty unless asked for.

    Source: docs/physics.md, equations 1 to 9.
    """
    if MACHINE.drive is not None and not split:
        return MACHINE.drive(lanes, legs, start, starting)
    ends = [*range(0, lanes.count, CHUNK), lanes.count]
    outcomes = [
        _drive_together(
            lanes.part(a, b), [leg.part(a, b) for leg in legs], start.part(a, b), starting=starting, split=split
        )
        for a, b in pairwise(ends)
    ]
    return outcomes[0] if len(outcomes) == 1 else _joined(outcomes)


def _joined(outcomes: Sequence[Outcome]) -> Outcome:
    names = outcomes[0].parts_j
    return Outcome(
        fuel_j=np.concatenate([one.fuel_j for one in outcomes]),
        distance_m=np.concatenate([one.distance_m for one in outcomes]),
        temperatures=joined_temperatures([one.temperatures for one in outcomes]),
        parts_j={name: np.concatenate([one.parts_j[name] for one in outcomes]) for name in names},
    )


def _drive_together(lanes: Lanes, legs: Sequence[Leg], start: Temperatures, *, starting: bool, split: bool) -> Outcome:
    fuel = starting * lanes.start_j_per_x * np.maximum(RATING_C - start.engine_c, 0.0) / 100.0
    parts = {name: np.zeros(lanes.count) for name in PARTS} if split else {}
    if split:
        parts["warm_up"] += fuel
    distance, now = np.zeros(lanes.count), start
    for leg in legs:
        share = np.ones(lanes.count) if leg.scale is None else leg.scale
        for block in leg.trace.blocks:
            fuel_block, way, now = _block(lanes, block, now, share=share, parts=parts)
            fuel, distance = fuel + fuel_block, distance + way
    return Outcome(fuel, distance, now, parts)


def _block(
    lanes: Lanes, block: Block, now: Temperatures, *, share: Floats, parts: dict[str, Floats]
) -> tuple[Floats, Floats, Temperatures]:
    warmth = _warmth(lanes, now)
    moving = _moving(lanes, block, warmth)
    standing_w = lanes.load_w + lanes.idle_load_w + _friction_w(lanes, warmth.idle_rpm) * warmth.friction
    to_fuel = warmth.rich * lanes.fuel_per_w
    fuel = (moving.need_j + standing_w * block.standing_s) * to_fuel
    if parts:
        _account(lanes, block, warmth, moving, share=share, parts=parts)
    after = after_block(
        lanes,
        now,
        fuel_w=fuel / block.length_s,
        speed_m_s=block.distance_m / block.length_s,
        length_s=share * block.length_s,
    )
    return fuel * share, moving.way_m * share, after


def _warmth(lanes: Lanes, now: Temperatures) -> _Warmth:
    ahead_c = now.engine_c + 0.5 * now.engine_drift_k
    cold = np.maximum(RATING_C - ahead_c, 0.0) / 100.0
    believed = cold + lanes.cold_reading * np.maximum((RATING_C - lanes.ambient_c) / 100.0 - cold, 0.0)
    stiff = np.maximum(DRIVELINE_WARM_C - now.driveline_c, 0.0) / 100.0
    return _Warmth(
        road_n=lanes.tire_n * (1.0 - lanes.tire_per_k * (now.tire_c - RUNNING_REFERENCE_C)) + lanes.steady_n,
        spin_n=lanes.spin_n * stiff * (lanes.cold_linear + lanes.cold_cubic * stiff * stiff),
        friction=1.0 + cold * (lanes.cold_linear + lanes.cold_cubic * cold * cold),
        rich=1.0 + lanes.enrichment * believed * believed,
        idle_rpm=lanes.idle_rpm * (1.0 + lanes.idle_cold * believed * believed),
        unlocked=np.where(ahead_c < lanes.lock_from_c, lanes.unlocked, 1.0),
    )


def _friction_w(lanes: Lanes, rpm: Floats) -> Floats:
    return rpm * (lanes.friction_a_w_per_rpm + lanes.friction_b_w_per_rpm2 * rpm)


def _moving(lanes: Lanes, block: Block, warmth: _Warmth) -> _Moving:
    speed = block.speed_m_s
    if lanes.speed_added_m_s.any():
        speed = speed + lanes.speed_added_m_s * block.fast
    wheel = speed * (warmth.road_n + speed * (lanes.linear_n_s_m + lanes.square_n_s2_m2 * speed))
    wheel += lanes.inertia_kg * (block.acceleration_m_s2 * speed)
    pull = np.maximum(wheel + warmth.spin_n * speed, 0.0)
    gain = np.where(speed < lanes.lock_speed_m_s, lanes.gain_open, lanes.gain_locked * warmth.unlocked)
    engine = pull * gain
    rpm = np.minimum(lanes.lug_rpm, lanes.low_rpm_s_m * speed)
    np.maximum(rpm, lanes.top_rpm_s_m * warmth.unlocked * speed, out=rpm)
    np.maximum(rpm, lanes.shift_rpm_per_w * engine, out=rpm)
    np.maximum(rpm, warmth.idle_rpm, out=rpm)
    friction = _friction_w(lanes, rpm)
    overrun = (wheel < OVERRUN_W) & (speed > OVERRUN_M_S)
    kept = np.where(overrun, 1.0 - lanes.overrun_cut, 1.0)
    strained = lanes.strain * np.maximum(engine - lanes.strain_from_w, 0.0)
    need = (engine + strained + lanes.load_w + friction * warmth.friction) * kept
    way = np.broadcast_to(speed, need.shape).sum(axis=0)
    return _Moving(need.sum(axis=0), way, speed, pull > 0.0, gain, friction + strained, kept)


def _account(
    lanes: Lanes, block: Block, warmth: _Warmth, moving: _Moving, *, share: Floats, parts: dict[str, Floats]
) -> None:
    """Add a block's fuel to the parts. What a warm engine would burn is accounted part by part; warm-up is the rest."""
    speed, pulled = moving.speed_m_s, moving.pulling * moving.kept
    to_fuel = share * lanes.fuel_per_w
    tire_j = (warmth.road_n * pulled * speed).sum(axis=0)
    air_j = (pulled * speed * speed * (lanes.linear_n_s_m + lanes.square_n_s2_m2 * speed)).sum(axis=0)
    change_j = (pulled * lanes.inertia_kg * block.acceleration_m_s2 * speed).sum(axis=0)
    wheel_w = speed * (warmth.road_n + speed * (lanes.linear_n_s_m + lanes.square_n_s2_m2 * speed))
    through_j = (
        pulled * moving.gain * (wheel_w + lanes.inertia_kg * block.acceleration_m_s2 * speed + warmth.spin_n * speed)
    ).sum(axis=0)
    idle_w = _friction_w(lanes, lanes.idle_rpm) + lanes.idle_load_w
    worth = {
        "rolling": tire_j,
        "aero": air_j,
        "inertia": change_j,
        "driveline": through_j - tire_j - air_j - change_j,
        "friction": (moving.within_w * moving.kept).sum(axis=0),
        "electrical": lanes.load_w * (moving.kept.sum(axis=0) + block.standing_s),
        "idle": idle_w * block.standing_s,
    }
    for name, energy_j in worth.items():
        parts[name] += energy_j * to_fuel
    standing_w = lanes.load_w + lanes.idle_load_w + _friction_w(lanes, warmth.idle_rpm) * warmth.friction
    whole = (moving.need_j + standing_w * block.standing_s) * warmth.rich
    parts["warm_up"] += (whole - sum(worth.values())) * to_fuel
