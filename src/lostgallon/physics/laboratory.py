"""Laboratory tests of a vehicle: the city test in its three phases, the highway and the aggressive schedule."""

from collections.abc import Callable, Mapping
from functools import cache

import numpy as np

from lostgallon.physics.lanes import Lanes
from lostgallon.physics.schedules import Trace, schedule, speeds_m_s, trace_from_speeds
from lostgallon.physics.setting import Surroundings, lanes_for
from lostgallon.physics.trip import Leg, Outcome, drive
from lostgallon.physics.vehicle import Members
from lostgallon.physics.warm_up import cold_soaked, soaked, warm
from lostgallon.shop.spread import Floats

# Road-load coefficients refer to air of 1.167 kg/m3 (SAE J1263: 20 degC and 98.21 kPa; from memory), which the rollers
# impose at any temperature; at 24 degC the standard atmosphere is as thin at 152 m.
TEST_CELL = Surroundings(ambient_c=24.0, elevation_m=152.0)
FIRST_PHASE_S = 505  # 40 CFR 86.115
SOAK_S = 600.0  # before the first phase is driven again: 40 CFR 86.135
HIGHWAY_WARM_M_S = 21.0  # the highway test is driven twice, the second time measured: 40 CFR 600.111
COLD_START_SHARE = 0.43  # 40 CFR 600.113


def l_per_100km(outcome: Outcome, lanes: Lanes) -> Floats:
    """Fuel per distance of an outcome, shape (lanes,). [L/100 km]"""
    fuel: Floats = outcome.fuel_j / lanes.energy_j_per_l / outcome.distance_m * 1e5
    return fuel


@cache
def city_phases() -> tuple[Trace, Trace]:
    """The first 505 s of the city schedule, and the rest."""
    speeds = speeds_m_s("city")
    first = trace_from_speeds("first phase", speeds[: FIRST_PHASE_S + 1])
    return first, trace_from_speeds("second phase", speeds[FIRST_PHASE_S:])


def city_bags(members: Members, surroundings: Surroundings = TEST_CELL) -> tuple[Floats, Floats, Floats]:
    """Fuel of the three phases of the city test, each of shape (members,). [L/100 km]

    Source: 40 CFR 86.135: cold first phase, second phase, ten minutes of soak, first phase again.
    """
    return city_bags_of(lanes_for(members, surroundings, {}))


def city_bags_of(lanes: Lanes) -> tuple[Floats, Floats, Floats]:
    """The same for lanes as they are, each of shape (lanes,). [L/100 km]"""
    first, second = city_phases()
    one = drive(lanes, [Leg(first)], cold_soaked(lanes))
    two = drive(lanes, [Leg(second)], one.temperatures, starting=False)
    three = drive(lanes, [Leg(first)], soaked(lanes, two.temperatures, soak_s=SOAK_S))
    return l_per_100km(one, lanes), l_per_100km(two, lanes), l_per_100km(three, lanes)


def weighted_city(bags: tuple[Floats, Floats, Floats]) -> Floats:
    """City fuel of the three phases, shape (lanes,). [L/100 km]

    Source: 40 CFR 600.113: cold and hot start weighted 0.43 and 0.57, each over first and second phase.
    """
    first, second = (trace.distance_m for trace in city_phases())
    weighted = COLD_START_SHARE * bags[0] + (1.0 - COLD_START_SHARE) * bags[2]
    fuel: Floats = (weighted * first + bags[1] * second) / (first + second)
    return fuel


def _city(members: Members) -> Floats:
    return weighted_city(city_bags(members))


def _highway(members: Members) -> Floats:
    lanes = lanes_for(members, TEST_CELL, {})
    return l_per_100km(drive(lanes, [Leg(schedule("highway"))], warm(lanes, speed_m_s=HIGHWAY_WARM_M_S)), lanes)


def _aggressive(members: Members) -> Floats:
    lanes = lanes_for(members, TEST_CELL, {})
    return l_per_100km(drive(lanes, [Leg(schedule("aggressive"))], warm(lanes, speed_m_s=HIGHWAY_WARM_M_S)), lanes)


TESTS: Mapping[str, Callable[[Members], Floats]] = {"city": _city, "highway": _highway, "aggressive": _aggressive}


def residual_log(members: Members, name: str) -> Floats:
    """What the model does not know of a kind of driving, as a natural log of fuel, shape (members,). [-]"""
    return members.of(f"{name}_residual" if name in TESTS else "other_residual")


def laboratory_log(members: Members, name: str) -> Floats:
    """Natural log of laboratory fuel on a schedule at 24 degC, shape (members,). [log of L/100 km]

    Source: 40 CFR 600.113.
    """
    log: Floats = np.log(TESTS[name](members)) + residual_log(members, name)
    return log
