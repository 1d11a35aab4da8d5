"""The owner's own driving: trips of their usual length, part streets and part highway, from cold or half-cold starts.

A trip stands for its warm-up idle, then drives the city schedule, then the highway schedule, each shortened or
stretched to the distance that the owner's share asks, so that its mix of speeds stays.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lostgallon.physics.coefficients import value_of
from lostgallon.physics.lanes import joined
from lostgallon.physics.schedules import schedule, standing
from lostgallon.physics.setting import Surroundings, lanes_for
from lostgallon.physics.trip import Leg, drive
from lostgallon.physics.vehicle import Amounts, Members
from lostgallon.physics.warm_up import cold_soaked, soaked
from lostgallon.shop.spread import Floats
from lostgallon.shop.visit import Use

SHORTEST_TRIP_M = 400.0
IDLE_TRACE_S = 60.0


@dataclass(frozen=True)
class Setup:
    """Members in surroundings, with amounts of conditions, on trips longer by a natural log. [-]"""

    members: Members
    surroundings: Surroundings
    amounts: Amounts
    longer_log: Floats | float = 0.0


@dataclass(frozen=True)
class _Trips:
    """Trips as lanes drive them; each field has shape (lanes,). Distances are of one trip, idle stands at its start."""

    city_m: Floats
    highway_m: Floats
    idle_s: Floats


def owner_l_per_100km(use: Use, setups: Sequence[Setup]) -> list[Floats]:
    """Fuel per distance of the owner's own driving, for several setups in one run.

    Args:
        use: Trip length, highway share and warm-up idle.
        setups: What is driven; each gives as many lanes as it has members.

    Returns:
        For each setup, shape (members,). [L/100 km]

    Source: docs/physics.md, section on the owner's use; shares of cold starts and soaks are chosen.
    """
    lanes = joined([lanes_for(setup.members, setup.surroundings, _parked(use, setup)) for setup in setups])
    trips = [_trips(use, setup) for setup in setups]
    legs = _legs(
        _Trips(
            np.concatenate([trip.city_m for trip in trips]),
            np.concatenate([trip.highway_m for trip in trips]),
            np.concatenate([trip.idle_s for trip in trips]),
        )
    )
    cold = drive(lanes, legs, cold_soaked(lanes))
    again = drive(lanes, legs, soaked(lanes, cold.temperatures, soak_s=value_of("restart_soak")))
    share = value_of("cold_start_share")
    fuel_j = share * cold.fuel_j + (1.0 - share) * again.fuel_j
    fuel = fuel_j / lanes.energy_j_per_l / cold.distance_m * 1e5
    ends = np.cumsum([setup.members.count for setup in setups])[:-1]
    return np.split(fuel, ends)


def start_warmer_k(use: Use, ambient_c: float) -> float:
    """How much warmer than the air the engine is at the owner's first start: block heater, garage. [K]

    Source: the rises are from memory, in the table of coefficients; in full from 0 degC down, none from 15 degC up.
    """
    rise = use.block_heater * value_of("block_heater_rise") + use.garage * value_of("garage_rise")
    return rise * min(max((15.0 - ambient_c) / 15.0, 0.0), 1.0)


def _parked(use: Use, setup: Setup) -> Amounts:
    warmer = start_warmer_k(use, setup.surroundings.ambient_c)
    if not warmer:
        return setup.amounts
    return {**setup.amounts, "start_warmer_k": setup.amounts.get("start_warmer_k", 0.0) + warmer}


def _trips(use: Use, setup: Setup) -> _Trips:
    count = setup.members.count
    length_m = np.maximum(1e3 * use.trip_km * np.exp(np.broadcast_to(setup.longer_log, count)), SHORTEST_TRIP_M)
    added_s = np.broadcast_to(setup.amounts.get("idle_s_per_trip", 0.0), count)
    idle_s = np.maximum(use.warm_up_idle_s + added_s, 0.0)
    return _Trips(length_m * (1.0 - use.highway_share), length_m * use.highway_share, idle_s)


def _legs(trips: _Trips) -> list[Leg]:
    legs = []
    if trips.idle_s.any():
        legs.append(Leg(standing(IDLE_TRACE_S), trips.idle_s / IDLE_TRACE_S))
    for name, way_m in (("city", trips.city_m), ("highway", trips.highway_m)):
        if way_m.any():
            legs.append(Leg(schedule(name), way_m / schedule(name).distance_m))
    return legs
