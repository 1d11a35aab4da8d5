"""The time loop on drives that a pocket calculator can follow, and what must hold for any."""

from dataclasses import replace

import numpy as np
import pytest

from lostgallon.physics.lanes import LANE_FIELDS, Lanes
from lostgallon.physics.schedules import schedule, speeds_m_s, standing, steady, trace_from_speeds
from lostgallon.physics.setting import Surroundings, lanes_for
from lostgallon.physics.trip import PARTS, Leg, drive
from lostgallon.physics.vehicle import central_member, prior_members
from lostgallon.physics.warm_up import cold_soaked, soaked, warm
from lostgallon.shop.trouble import BadInput
from tests.physics.cast import FLEET, WAGON


def plain_lane(**changes):
    """One lane whose numbers are easy: everything off but what a test sets."""
    zero, one = np.zeros(1), np.ones(1)
    usual = dict.fromkeys(LANE_FIELDS, zero) | {
        "gain_open": one, "gain_locked": one, "unlocked": one, "fuel_per_w": one, "energy_j_per_l": one, "driveline_s": one,
        "tire_s": one, "plateau_c": np.full(1, 90.0), "heat_capacity_j_per_k": np.full(1, 1e5),
        "loss_w_per_k": np.full(1, 1e-9), "ambient_c": np.full(1, 20.0),
    }  # fmt: skip
    return Lanes(**(usual | {name: np.full(1, value) for name, value in changes.items()}))


def test_steady_driving_by_hand():
    # 20 m/s: road force 150 + 0.4 x 20^2 = 310 N, 6200 W; through gears of 0.8: 7750 W; engine at 1500 rpm (75 rpm per
    # m/s) loses 1500 x (1.2 + 0.0004 x 1500) = 2700 W; 500 W of load; 10 950 W over an efficiency of 0.4: 27 375 W.
    lane = plain_lane(
        tire_n=150.0, square_n_s2_m2=0.4, gain_open=1.25, gain_locked=1.25, top_rpm_s_m=75.0,
        friction_a_w_per_rpm=1.2, friction_b_w_per_rpm2=0.0004, load_w=500.0, fuel_per_w=2.5,
    )  # fmt: skip
    found = drive(lane, [Leg(steady(20.0, length_s=100))], warm(lane))
    assert found.fuel_j[0] == pytest.approx(27_375.0 * 100.0, rel=1e-12)
    assert found.distance_m[0] == pytest.approx(2000.0, rel=1e-12)


def test_a_strained_engine_by_hand():
    # The same 310 N at 20 m/s, 6200 W, with nothing else; beyond 5000 W each watt costs half as much again: 6800 W.
    lane = plain_lane(tire_n=150.0, square_n_s2_m2=0.4, strain_from_w=5000.0, strain=0.5)
    found = drive(lane, [Leg(steady(20.0, length_s=100))], warm(lane), split=True)
    assert found.fuel_j[0] == pytest.approx(6800.0 * 100.0, rel=1e-12)
    assert found.parts_j["friction"][0] == pytest.approx(600.0 * 100.0, rel=1e-9)


@pytest.mark.parametrize(("engine_c", "power_w"), [(40.0, 6200.0), (20.0, 6200.0 / 0.95)])
def test_a_cold_converter_does_not_lock(engine_c, power_w):
    # 6200 W at the wheels; slipping by 5 % the engine gives 1 / 0.95 of it.
    lane = plain_lane(tire_n=150.0, square_n_s2_m2=0.4, lock_from_c=30.0, unlocked=1.0 / 0.95)
    start = replace(warm(lane), engine_c=np.full(1, engine_c))
    found = drive(lane, [Leg(steady(20.0, length_s=9))], start)
    assert found.fuel_j[0] == pytest.approx(power_w * 9.0, rel=1e-12)


def test_a_standing_engine_warms_by_hand():
    # 2000 W of load over 0.4: 5000 W; 30 % of it into 100 kJ/K for 600 s: 9 K.
    lane = plain_lane(load_w=2000.0, fuel_per_w=2.5, heat_share=0.3)
    found = drive(lane, [Leg(standing(600.0))], cold_soaked(lane))
    assert found.fuel_j[0] == pytest.approx(5000.0 * 600.0, rel=1e-9)
    assert found.temperatures.engine_c[0] == pytest.approx(29.0, abs=1e-6)


def test_braking_burns_only_the_overrun():
    # From 20 to 10 m/s at 1 m/s2 with 1500 kg: the wheels drive the engine; 40 % of its 1000 W of load is saved while
    # it moves faster than 7 m/s.
    lane = plain_lane(inertia_kg=1500.0, load_w=1000.0, overrun_cut=0.4)
    found = drive(lane, [Leg(trace_from_speeds("brake", np.arange(20.0, 9.0, -1.0)))], warm(lane))
    assert found.fuel_j[0] == pytest.approx(0.6 * 1000.0 * 10.0, rel=1e-12)


def test_a_soak_by_hand():
    # One time constant (9000 s) leaves 1/e of the rise: 20 + 70 / e = 45.75.
    lane = plain_lane()
    assert soaked(lane, warm(lane), soak_s=9000.0).engine_c[0] == pytest.approx(20.0 + 70.0 / np.e)


def test_extra_mass_costs_by_hand():
    # 1 m/s2 from standing for 10 s with 1000 kg: kinetic energy 1000 x 10^2 / 2 = 50 kJ, and nothing else.
    lane = plain_lane(inertia_kg=1000.0)
    found = drive(lane, [Leg(trace_from_speeds("pull away", np.arange(0.0, 11.0)))], warm(lane), split=True)
    assert found.fuel_j[0] == pytest.approx(50_000.0, rel=1e-12)
    assert found.parts_j["inertia"][0] == pytest.approx(50_000.0, rel=1e-12)


@pytest.mark.parametrize("ambient_c", [-20.0, 10.0, 40.0])
@pytest.mark.parametrize("name", ["city", "highway", "aggressive"])
def test_the_parts_add_up_for_any_vehicle(ambient_c, name):
    members = prior_members(WAGON, 64, rng=np.random.default_rng(3))
    lanes = lanes_for(members, Surroundings(ambient_c), {"drag_force_n": 40.0, "grade": 0.01, "electrical_w": 300.0})
    found = drive(lanes, [Leg(schedule(name))], cold_soaked(lanes), split=True)
    assert sum(found.parts_j[part] for part in PARTS) == pytest.approx(found.fuel_j, rel=1e-12)
    assert (found.parts_j["warm_up"] > 0.0).all()


def test_blocks_of_ten_seconds_lose_nothing_that_matters():
    # Independent of the block: the same schedule at one second a block, from the coldest start; 0.2 % ours, most of it
    # where the cold converter begins to lock in the middle of a block.
    members = central_member(WAGON)
    lanes = lanes_for(members, Surroundings(-20.0), {})
    fine = trace_from_speeds("city", speeds_m_s("city"), block_s=1, highway=False)
    coarse = drive(lanes, [Leg(schedule("city"))], cold_soaked(lanes)).fuel_j
    assert coarse == pytest.approx(drive(lanes, [Leg(fine)], cold_soaked(lanes)).fuel_j, rel=2e-3)


def test_a_warm_trip_of_any_length_uses_the_same_per_distance():
    lanes = lanes_for(central_member(WAGON), Surroundings(30.0), {})
    lanes = replace(lanes, driveline_s=np.full(1, 1e9), tire_s=np.full(1, 1e9))
    start = warm(lanes)
    whole, half = (drive(lanes, [Leg(schedule("highway"), np.array([s]))], start) for s in (1.0, 0.5))
    assert whole.fuel_j / whole.distance_m == pytest.approx(half.fuel_j / half.distance_m, rel=1e-3)


@pytest.mark.parametrize(
    ("condition", "amount"),
    [
        ("tire_pressure_pa", 40_000.0), ("rolling_resistance", 0.2), ("drag_area_m2", 0.3), ("drag_force_n", 50.0),
        ("mass_kg", 100.0), ("efficiency", 0.05), ("friction", 0.2), ("coolant_drop_k", 30.0), ("cold_reading", 0.8),
        ("electrical_w", 300.0), ("mechanical_w", 900.0), ("converter_slip", 0.05), ("driveline", 0.03),
        ("cruise_speed_m_s", 4.0), ("aggression", 0.3), ("road_state", 0.3), ("wind_m_s", 8.0), ("headwind_m_s", 5.0),
        ("grade", 0.01),
    ],
)  # fmt: skip
@pytest.mark.parametrize("vehicle", FLEET.values(), ids=list(FLEET))
def test_every_condition_costs_fuel_and_more_of_it_more(vehicle, condition, amount):
    members = central_member(vehicle)
    legs = [Leg(schedule("highway"))]

    def fuel(value):
        lanes = lanes_for(members, Surroundings(5.0), {condition: value})
        outcome = drive(lanes, legs, cold_soaked(lanes))
        return float(outcome.fuel_j[0] / outcome.distance_m[0])

    assert fuel(0.0) < fuel(amount) < fuel(1.5 * amount)


def test_thin_air_and_a_warm_start_save_fuel():
    members = central_member(WAGON)
    legs = [Leg(schedule("highway"))]

    def fuel(**amounts):
        lanes = lanes_for(members, Surroundings(-5.0), amounts)
        return float(drive(lanes, legs, cold_soaked(lanes)).fuel_j[0])

    assert fuel(elevation_m=1500.0) < fuel()
    assert fuel(start_warmer_k=30.0) < fuel()


@pytest.mark.parametrize("speeds", [[1.0], [0.0, float("nan"), 1.0], [0.0, -1.0], [0.0, 120.0]])
def test_a_trace_that_can_t_be_is_refused(speeds):
    with pytest.raises(BadInput, match="expected"):
        trace_from_speeds("drive", speeds)


def test_an_unknown_schedule_is_answered_with_the_nearest():
    with pytest.raises(BadInput, match=r"did you mean highway\?"):
        speeds_m_s("higway")
