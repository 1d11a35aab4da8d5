"""What is open, what a step costs now and alone, what is gone: by hand on the small bay, and on the catalogue."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.plan.access import (
    NEVER_WAS,
    blocked_by,
    cautions_for,
    impossible,
    reach_minutes,
    standing,
    with_parents,
)
from lostgallon.plan.ways import minutes_alone, minutes_now, way_now
from lostgallon.shop.visit import Booked, StateChange
from tests.plan.bay import STATES
from tests.plan.bay import standing as bay_standing
from tests.plan.cast import NOW, case

CATALOGUE = catalogue()
ALL_STATES = {state.id: state for state in CATALOGUE.states}
# Operations whose trade figure is no hands-on time: a quote, a diagnosis of its own.
QUOTES = {"mechanical_repair_quote", "diagnose_code_first"}


def test_a_wheel_comes_off_a_lifted_vehicle():
    assert with_parents(["wheels_off", "engine_runs"], STATES) == ("lifted", "wheels_off")


def test_reach_is_what_is_not_open_anyway():
    # lifted 3 + 3, wheels 6 + 6, by hand; with the vehicle up only the wheels; with the wheels off nothing.
    assert reach_minutes(["wheels_off"], STATES) == 18.0
    assert reach_minutes(["wheels_off"], STATES, standing=bay_standing("lifted")) == 12.0
    assert reach_minutes(["wheels_off"], STATES, standing=bay_standing("lifted", "wheels_off")) == 0.0


def test_what_is_open_follows_the_booked_job_and_the_changes_up_to_now():
    visit = case(
        booked=Booked(operation="struts", apart=("wheels_off",)),
        states=(
            StateChange(at=NOW - timedelta(minutes=20), opened=("coils_off",)),
            StateChange(at=NOW - timedelta(minutes=10), closed=("coils_off",)),
            StateChange(at=NOW + timedelta(minutes=10), opened=("battery_off",)),
        ),
    )
    stands = standing(visit, STATES)
    assert stands.open == {"lifted", "wheels_off", "power_connected"}
    assert stands.by_booked == {"lifted", "wheels_off"}


def test_memory_is_gone_once_the_battery_was_off_even_when_it_is_on_again():
    visit = case(
        states=(
            StateChange(at=NOW - timedelta(minutes=30), opened=("battery_off",)),
            StateChange(at=NOW - timedelta(minutes=20), closed=("battery_off",)),
        )
    )
    stands = standing(visit, STATES)
    assert impossible(["power_connected"], standing=stands) == "the battery was disconnected"
    assert impossible(["lifted"], standing=stands) == ""


@pytest.mark.parametrize(("ago", "left"), [(5, 7.0), (11, 1.0), (12, None), (40, None)])
def test_arrival_heat_lasts_twelve_minutes(ago, left):
    visit = case(states=(StateChange(at=NOW - timedelta(minutes=ago), opened=("hot_arrival",)),))
    stands = standing(visit, STATES)
    assert stands.hot_minutes_left == left
    assert impossible(["hot_arrival"], standing=stands) == ("" if left else "the wheels have cooled since")


def test_a_cold_soak_is_not_assumed():
    assert impossible(["intact_cold"], standing=standing(case(), STATES)) == NEVER_WAS["intact_cold"]


def test_running_tests_are_blocked_by_what_is_open():
    stands = bay_standing("lifted", "coolant_drained")
    assert blocked_by(["engine_runs"], STATES, standing=stands) == ("coolant_drained",)
    assert blocked_by(["road_ready"], STATES, standing=stands) == ("coolant_drained", "lifted")


def test_a_step_carries_the_cautions_of_the_states_it_stands_in_first():
    listed = cautions_for(["wheels_off", "engine_runs"], ["brake_cleaner", "jacking"], states=ALL_STATES)
    assert listed == ("jacking", "wheel_nuts", "co_gas", "moving_fan", "belts_pulleys", "brake_cleaner")


@pytest.mark.parametrize(
    "operation", [each for each in CATALOGUE.operations if each.id not in QUOTES], ids=lambda each: each.id
)
def test_minutes_alone_computed_from_states_stay_near_the_trades_own_figure(operation):
    # The trade's figure is judgement; a quarter, or six minutes for the short ones, is as near as it is meant.
    computed = minutes_alone(operation, ALL_STATES)
    assert computed == pytest.approx(operation.minutes_alone, rel=0.25, abs=6.0)
    nothing_open = standing(case(), ALL_STATES)
    assert minutes_now(operation, ALL_STATES, standing=nothing_open) == computed


def test_an_open_place_makes_its_corrections_cheap():
    # The trade: a thermostat 60 alone and 8 with the coolant down; a slide 40 alone and 15 with the wheel off.
    visit = case(booked=Booked(operation="coolant hose", apart=("coolant_drained",)))
    stands = standing(visit, ALL_STATES)
    assert minutes_now(CATALOGUE.operation["thermostat_replace"], ALL_STATES, standing=stands) == 8.0
    visit = case(booked=Booked(operation="struts", apart=("lifted", "wheels_off")))
    stands = standing(visit, ALL_STATES)
    assert minutes_now(CATALOGUE.operation["brake_slide_service"], ALL_STATES, standing=stands) == 15.0


def test_the_way_follows_what_is_open():
    plugs = CATALOGUE.operation["spark_plug_replace"]
    stands = standing(case(booked=Booked(apart=("plenum_off",))), ALL_STATES)
    assert way_now(plugs, ALL_STATES, standing=stands).needs == ("plenum_off",)
    assert way_now(plugs, ALL_STATES, standing=standing(case(), ALL_STATES)).needs == ("coils_off",)


def test_the_cast_is_dated():
    assert replace(case().visit).now == NOW == datetime.fromisoformat("2026-01-15T14:40:00")
