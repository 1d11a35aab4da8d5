"""Fuel over a way of driving, with its energy split, for a vehicle in given conditions."""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from lostgallon.physics.conditions import condition_named, require_credible
from lostgallon.physics.laboratory import residual_log
from lostgallon.physics.multipliers import exact_log
from lostgallon.physics.schedules import standing
from lostgallon.physics.setting import Surroundings, lanes_for
from lostgallon.physics.trip import PARTS, Leg, Outcome, drive
from lostgallon.physics.vehicle import Members
from lostgallon.physics.warm_up import cold_soaked, warm
from lostgallon.shop.prediction import EnergySplit, Predicted
from lostgallon.shop.spread import Floats, spread_of
from lostgallon.shop.units import MPG_TIMES_L_PER_100KM

COLD_TEST_C, TEST_C = -7.0, 24.0  # the two temperatures at which the list's cold tests were run


@dataclass(frozen=True)
class Way:
    """A way of driving: legs from a warm start or after a full cold soak. A leg's scale has shape (1,)."""

    name: str
    legs: tuple[Leg, ...]
    start: Literal["warm", "cold"]


@dataclass(frozen=True)
class Circumstances:
    """Air, fuel and amounts of conditions by id, the same for every member."""

    surroundings: Surroundings
    amounts: dict[str, float]


def predicted(members: Members, way: Way, circumstances: Circumstances) -> Predicted:
    """Fuel of a vehicle over a way of driving.

    Args:
        members: The vehicle's members.
        way: What is driven.
        circumstances: Air, fuel and conditions.

    Returns:
        Spread over the members, and the split of its mean into the parts.

    Raises:
        OutOfRange: If a condition is outside what the physics is trusted for.

    Source: docs/physics.md.
    """
    for name, amount in circumstances.amounts.items():
        require_credible(name, amount)
    lanes = lanes_for(members, circumstances.surroundings, circumstances.amounts)
    mean_m_s = sum(leg.trace.distance_m for leg in way.legs) / sum(leg.trace.length_s for leg in way.legs)
    start = warm(lanes, speed_m_s=mean_m_s) if way.start == "warm" else cold_soaked(lanes)
    legs = [leg if leg.scale is None else replace(leg, scale=np.repeat(leg.scale, lanes.count)) for leg in way.legs]
    idle_s = circumstances.amounts.get("idle_s_per_trip", 0.0)
    if idle_s and way.start == "cold":
        legs.insert(0, Leg(standing(idle_s)))
    outcome = drive(lanes, legs, start, split=True)
    scale = np.exp(_beyond_log(members, way, circumstances)) / lanes.energy_j_per_l / outcome.distance_m * 1e5
    fuel = outcome.fuel_j * scale
    return Predicted(
        name=way.name,
        l_per_100km=spread_of(fuel),
        mpg_us=spread_of(MPG_TIMES_L_PER_100KM / fuel),
        distance_km=float(outcome.distance_m.mean()) / 1e3,
        energy_split=_split(outcome, scale),
    )


def _split(outcome: Outcome, scale: Floats) -> EnergySplit:
    return EnergySplit(**{name: float((outcome.parts_j[name] * scale).mean()) for name in PARTS})


def _beyond_log(members: Members, way: Way, circumstances: Circumstances) -> Floats:
    """What acts outside the time loop: exact conditions, and what the model does not know, shape (members,)."""
    log = residual_log(members, way.name)
    if way.start == "cold":
        cold = np.clip((TEST_C - circumstances.surroundings.ambient_c) / (TEST_C - COLD_TEST_C), 0.0, 1.5)
        log = log + cold * members.of("cold_residual")
    for name, amount in circumstances.amounts.items():
        if condition_named(name).exact:
            waste_and_sound = np.stack([members.of("misfire_waste"), np.full(members.count, np.inf)])
            log = log + exact_log(name, np.full(members.count, amount), waste_and_sound)
    return log
