"""The physics against published measurements, each with its source; the fleet stands at the table's central values.

Where a source gives one figure for many vehicles it is compared with the fleet's median.
"""

from dataclasses import replace

import numpy as np
import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.physics.coefficients import value_of
from lostgallon.physics.laboratory import TEST_CELL, city_bags_of, city_phases, l_per_100km, weighted_city
from lostgallon.physics.multipliers import blend_energy
from lostgallon.physics.schedules import schedule, standing, steady
from lostgallon.physics.setting import Surroundings, lanes_for
from lostgallon.physics.tires import rolling_factor
from lostgallon.physics.trip import Leg, drive
from lostgallon.physics.vehicle import GASOLINE_J_PER_L, central_member
from lostgallon.physics.warm_up import cold_soaked, warm
from lostgallon.shop.units import L_PER_US_GALLON, PA_PER_PSI
from lostgallon.shop.visit import Period
from tests.physics.cast import FLEET

MPH = 0.44704
COMPACT, TURBO, PICKUP = "1.3 t compact, 1.8 L", "1.55 t sedan, 2.0 L turbo", "2.3 t pickup, 5.3 L"


def fuel(vehicle, trace, ambient_c=24.0, *, cold=False, miles=None, **amounts):
    """L/100 km of one vehicle, from warm or from a full soak, over a trace or a part of it that is `miles` long."""
    lanes = lanes_for(central_member(vehicle), Surroundings(ambient_c), amounts)
    mean = trace.distance_m / trace.length_s
    start = cold_soaked(lanes) if cold else warm(lanes, speed_m_s=mean)
    scale = None if miles is None else np.array([miles * 1609.344 / trace.distance_m])
    return float(l_per_100km(drive(lanes, [Leg(trace, scale)], start, starting=cold), lanes)[0])


def fleet(ask):
    return {name: ask(vehicle) for name, vehicle in FLEET.items()}


def median(asked):
    return float(np.median(list(asked.values())))


def on_unchanged_rollers(vehicle, ambient_c, *, miles):
    """L/100 km of a city trip from cold on rollers set to the road load of 25 degC, whose tires don't stiffen."""
    mild = lanes_for(central_member(vehicle), Surroundings(25.0), {})
    there = lanes_for(central_member(vehicle), Surroundings(ambient_c), {})
    there = replace(there, square_n_s2_m2=mild.square_n_s2_m2, tire_per_k=np.zeros(1))
    city = schedule("city")
    legs = [Leg(city, np.array([miles * 1609.344 / city.distance_m]))]
    return float(l_per_100km(drive(there, legs, cold_soaked(there)), there)[0])


@pytest.mark.parametrize(("row", "miles", "expected", "within"), [(4, 7.45, 0.88, 0.03), (5, 3.5, 0.78, 0.05)])
def test_a_city_trip_at_20_degf_as_tests_find_it(published, row, miles, expected, within):
    # US DOE Fact 818 (2014): "fuel economy tests" give mpg x 0.88 in ordinary city driving (12 km; +/- 3 points ours)
    # and x 0.78 on trips of 3 to 4 miles (+/- 5 ours), 20 degF over 77 degF, from cold. Tests are run on rollers; that
    # their load was left alone is from memory.
    kept = fleet(
        lambda one: on_unchanged_rollers(one, 25.0, miles=miles) / on_unchanged_rollers(one, -6.67, miles=miles)
    )
    what = f"mpg at 20 over 77 °F, {miles:g} mi from cold, on rollers"
    published(row, what, median(kept), expected=expected, within=within, source="US DOE Fact 818 (2014)")


@pytest.mark.parametrize(("miles", "low", "high"), [(7.45, 0.82, 0.88), (3.5, 0.73, 0.83)])
def test_a_city_trip_at_20_degf_on_the_road(miles, low, high):
    # On the road air is denser and tires are stiff: the consumer page that followed Fact 818 says about 15 % for the
    # trip of 12 km, +/- 3 points ours. The list's own cold tests, from cold, give 0.82 (quartiles 0.79 and 0.85):
    # docs/physics.md shows why 0.88 on the road can't be met together with them.
    city = schedule("city")
    kept = fleet(
        lambda one: fuel(one, city, 25.0, cold=True, miles=miles) / fuel(one, city, -6.67, cold=True, miles=miles)
    )
    assert low <= median(kept) <= high


def test_the_lists_own_cold_test_over_a_trip_from_cold():
    # EPA test-car list 2022, the 30 odd vehicle ids with a cold test: first and second phase from cold, mpg at -7 over
    # 24 degC: median 0.821, quartiles 0.792 and 0.847.
    first, second = (trace.distance_m for trace in city_phases())

    def from_cold(bags):
        return (bags[0] * first + bags[1] * second)[0]

    kept = fleet(
        lambda one: float(from_cold(_laboratory_bags(one, cold=False)) / from_cold(_laboratory_bags(one, cold=True)))
    )
    assert 0.792 <= median(kept) <= 0.847


@pytest.mark.parametrize(("ambient_c", "low", "high"), [(24.0, 1.13, 1.27), (-6.7, 1.40, 1.80)])
def test_the_first_miles_from_cold_against_from_hot(published, ambient_c, low, high):
    # Taylor and Stewart, SAE 2001-01-0221: +20 % at 24 degC (7 points ours), +40 to +80 % at -6.7 degC, over 3.59 mi.
    first, _ = city_phases()
    more = fleet(lambda one: fuel(one, first, ambient_c, cold=True) / fuel(one, first, ambient_c))
    row, what = (9 if ambient_c > 0.0 else 10), f"fuel of the first 3.59 mi, cold over hot, {ambient_c:g} °C"
    published(row, what, median(more), ends=(low, high), source="Taylor and Stewart, SAE 2001-01-0221")


@pytest.mark.parametrize(("minutes", "low", "high"), [(5, 1.07, 1.14), (10, 1.12, 1.19)])
def test_warming_up_at_a_stand_costs_fuel(published, minutes, low, high):
    # Environment Canada test, quoted by Natural Resources Canada: at -18 degC 5 min cost 7 to 14 %, 10 min 12 to 19 %.
    def more(vehicle):
        lanes = lanes_for(central_member(vehicle), Surroundings(-18.0), {})
        city = Leg(schedule("city"))
        plain = drive(lanes, [city], cold_soaked(lanes)).fuel_j
        return float((drive(lanes, [Leg(standing(60.0 * minutes)), city], cold_soaked(lanes)).fuel_j / plain)[0])

    what, source = f"fuel with {minutes} min of warm-up idle at -18 °C, over without", "Natural Resources Canada"
    published(11, what, median(fleet(more)), ends=(low, high), source=source)


@pytest.mark.parametrize(("name", "liters", "gal_per_h"), [(COMPACT, 2.0, 0.16), (PICKUP, 4.6, 0.39)])
def test_warm_idle(published, name, liters, gal_per_h):
    # US DOE Fact 861 (2015), Argonne: 0.16 gal/h at 2.0 L and 0.39 at 4.6 L, no load; +/- 25 % ours. In neutral: no
    # converter drag. The fit knows these two figures (tools/fit_epa.py), at +/- 10 % each.
    vehicle = replace(FLEET[name], displacement_l=liters)
    lanes = lanes_for(central_member(vehicle), Surroundings(24.0), {})
    lanes = replace(lanes, idle_load_w=np.zeros(1))
    hour = drive(lanes, [Leg(standing(3600.0))], warm(lanes), starting=False)
    used_l = float((hour.fuel_j / lanes.energy_j_per_l)[0])
    expected_l = gal_per_h * L_PER_US_GALLON
    published(
        12,
        f"warm idle at {liters:g} L, L/h",
        used_l,
        expected=expected_l,
        within=0.25 * expected_l,
        source="US DOE Fact 861 (2015)",
    )


def test_a_blocked_air_filter_costs_no_fuel(published):
    # ORNL/TM-2009/021 (US DOE Fact 568): no change of fuel on three closed-loop cars; 1 point ours. The physics knows
    # no filter: a throttle that opens further for the same air moves nothing in it. What the catalogue lets a filter
    # cost at its worst (99 of 100 cases) stays within that point.
    filter_at_worst = next(cause for cause in catalogue().causes if cause.id == "clogged_air_filter")
    worst = {filter_at_worst.condition: filter_at_worst.severity.p99}
    for name in ("city", "highway", "aggressive"):
        more = fleet(lambda one, name=name: fuel(one, schedule(name), **worst) / fuel(one, schedule(name)) - 1.0)
        percent = 100.0 * median(more)
        published(
            20,
            f"blocked air filter at its worst, {name}, % fuel",
            percent,
            expected=0.0,
            within=1.0,
            source="ORNL/TM-2009/021",
        )


@pytest.mark.parametrize("psi", [24.0, 30.0, 35.0])
def test_rolling_resistance_by_pressure(published, psi):
    # TRB Special Report 286 (2006), chapter 3, after Schuring (1980): +1.4 % per psi lost, 24 to 36 psi; +/- 0.5 ours.
    low, high = (
        rolling_factor(
            pressure_pa=np.array([p * PA_PER_PSI]),
            placard_pa=33.0 * PA_PER_PSI,
            exponent=np.array([value_of("inflation_exponent")]),
        )
        for p in (psi, psi + 1.0)
    )
    percent, what = 100.0 * float((low / high)[0] - 1.0), f"rolling resistance per psi lost at {psi:g} psi, %"
    published(15, what, percent, expected=1.4, within=0.5, source="TRB Special Report 286 (2006)")


def test_radials_at_20_psi_against_28_on_a_track(published):
    # EPA-AA-SDSB-80-9 (1980): -3 % mpg on all four from 28 to 20 psi; 1 point ours. Mean of city and highway.
    def kept(vehicle):
        placard = vehicle.tire_placard_pa or 33.0 * PA_PER_PSI
        short = {p: placard - p * PA_PER_PSI for p in (20.0, 28.0)}
        ways = [
            fuel(vehicle, schedule(name), tire_pressure_pa=short[28.0])
            / fuel(vehicle, schedule(name), tire_pressure_pa=short[20.0])
            for name in ("city", "highway")
        ]
        return float(np.mean(ways))

    found = median(fleet(kept))
    published(16, "mpg at 20 over 28 psi", found, expected=0.97, within=0.01, source="EPA-AA-SDSB-80-9 (1980)")


@pytest.mark.parametrize("name", ["city", "highway"])
def test_fuel_by_rolling_resistance(published, name):
    # TRB Special Report 286 (2006): 10 % of rolling resistance is 1 to 2 % of fuel, city to highway.
    more = fleet(lambda one: fuel(one, schedule(name), rolling_resistance=0.1) / fuel(one, schedule(name)))
    percent, source = 100.0 * (median(more) - 1.0), "TRB Special Report 286 (2006)"
    published(17, f"10 % rolling resistance, {name}, % fuel", percent, ends=(1.0, 2.0), source=source)


@pytest.mark.parametrize(("slow", "fast", "loss"), [(50, 60, 0.124), (60, 70, 0.140), (70, 80, 0.154)])
def test_steady_speed(published, slow, fast, loss):
    # US DOE Fact 772 (ORNL, 74 vehicles): mpg falls by 12.4, 14.0 and 15.4 % a step; 4 points ours.
    kept = fleet(lambda one: fuel(one, steady(slow * MPH)) / fuel(one, steady(fast * MPH)))
    percent, source = 100.0 * (1.0 - median(kept)), "US DOE Fact 772 (ORNL)"
    published(18, f"{slow} to {fast} mph, % less mpg", percent, expected=100.0 * loss, within=4.0, source=source)


@pytest.mark.parametrize(("name", "loss"), [(COMPACT, 0.22), (PICKUP, 0.08)])
def test_a_roof_box_costs_the_small_car_more(published, name, loss):
    # Thomas et al., SAE 2014-01-1614 (ORNL): sedan -22 %, utility vehicle -8 % mpg at 60 mph; 5 points ours.
    # 0.35 m2 is what that box needs in this model; that both vehicles then fit is the test.
    way = steady(60.0 * MPH)
    kept = fuel(FLEET[name], way) / fuel(FLEET[name], way, drag_area_m2=value_of("roof_box_drag_area"))
    what, source = f"roof box at 60 mph on the {name}, % less mpg", "Thomas et al., SAE 2014-01-1614"
    published(19, what, 100.0 * (1.0 - kept), expected=100.0 * loss, within=5.0, source=source)


@pytest.mark.parametrize(
    ("share", "by_energy", "measured"), [(0.10, 0.034, 0.037), (0.15, 0.051, 0.053), (0.20, 0.068, 0.077)]
)
def test_ethanol(published, share, by_energy, measured):
    # By hand from US DOE 115 000 and 76 000 Btu/gal; dynamometer: US DOE intermediate-blends program, 1 point ours.
    members = central_member(FLEET[COMPACT])
    energy = float(blend_energy(members, Period(8.0, "fill-ups", 20.0, ethanol_share=share))[0])
    assert 1.0 - energy == pytest.approx(by_energy, abs=0.0015)
    what, source = f"{share:.0%} ethanol measured, % less energy", "US DOE intermediate-blends program"
    published(22, what, 100.0 * (1.0 - energy), expected=100.0 * measured, within=1.0, source=source)


def test_winter_gasoline(published):
    # Natural Resources Canada: 1.5 to 3 % less energy a liter.
    members = central_member(FLEET[COMPACT])
    energy = float(blend_energy(members, Period(8.0, "fill-ups", 0.0, fuel_blend="winter"))[0])
    percent = 100.0 * (1.0 - energy)
    published(23, "winter gasoline, % less energy", percent, ends=(1.5, 3.0), source="Natural Resources Canada")


@pytest.mark.parametrize(("name", "l_per_kwh"), [(COMPACT, 0.264), (TURBO, 0.280)])
def test_electrical_load_at_the_margin(published, name, l_per_kwh):
    # WLTP correction practice: Willans slope 0.264 L/kWh, turbo 0.280, of mechanical energy; 10 %.
    lanes = lanes_for(central_member(FLEET[name]), Surroundings(24.0), {})
    found, what = float(lanes.fuel_per_w[0]) * 3.6e6 / GASOLINE_J_PER_L, f"one more kWh on the {name}, L"
    published(24, what, found, expected=l_per_kwh, within=0.1 * l_per_kwh, source="WLTP correction practice")


def test_a_hundred_watts(published):
    # The same: 100 W at an alternator of 73.8 % is about 0.060 L/100 km at 60 km/h; 10 %.
    way = steady(60.0 / 3.6)
    more = fleet(lambda one: fuel(one, way, mechanical_w=100.0 / 0.738) - fuel(one, way))
    what, source = "100 W at 60 km/h, L/100 km", "WLTP correction practice"
    published(24, what, median(more), expected=0.060, within=0.006, source=source)


def _laboratory_bags(vehicle, *, cold):
    lanes = lanes_for(central_member(vehicle), TEST_CELL, {})
    if not cold:
        return city_bags_of(lanes)
    there = lanes_for(central_member(vehicle), replace(TEST_CELL, ambient_c=-7.0), {})
    # On rollers the road load is imposed, and raised by a tenth in the cold test (40 CFR 86.229).
    return city_bags_of(replace(there, tire_n=1.1 * lanes.tire_n, square_n_s2_m2=1.1 * lanes.square_n_s2_m2))


def test_the_cold_city_test_over_the_normal_one(published):
    # EPA test-car list, model year 2022, 114 gasoline pairs: median mpg ratio 0.845, quartiles 0.79 to 0.88.
    ratio = fleet(
        lambda one: float(
            (weighted_city(_laboratory_bags(one, cold=False)) / weighted_city(_laboratory_bags(one, cold=True)))[0]
        )
    )
    source = "EPA test-car list 2022, 114 pairs, quartiles"
    published(35, "city test, mpg at -7 over 24 °C", median(ratio), ends=(0.79, 0.88), source=source)


@pytest.mark.parametrize(("cold", "low", "high"), [(False, 0.845, 0.89), (True, 0.68, 0.76)])
def test_the_first_phase_over_the_third(published, cold, low, high):
    # The same list: mpg of phase 1 over phase 3, quartiles at 75 and at 20 degF.
    bags = fleet(lambda one: _laboratory_bags(one, cold=cold))
    found = median({name: float((bag[2] / bag[0])[0]) for name, bag in bags.items()})
    what, source = f"mpg of phase 1 over 3, {'20' if cold else '75'} °F", "EPA test-car list 2022, quartiles"
    published(36, what, found, ends=(low, high), source=source)
