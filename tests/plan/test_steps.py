"""Steps in words: waits beside work, cautions before every part of a check, the last ten minutes after this work."""

from datetime import datetime

import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.plan.access import Standing
from lostgallon.plan.schedule import booked_first, schedule
from lostgallon.plan.steps import Telling, clock, steps_of
from lostgallon.plan.tasks import check_task
from lostgallon.plan.work import Task, Terms
from tests.plan.beliefs import worth

CATALOGUE = catalogue()
NOW = datetime.fromisoformat("2026-01-15T14:40:00")
SHUT = Standing(frozenset({"power_connected"}), frozenset(), {})


def told(tasks, *, apart=(), corrected=()):
    standing = Standing(frozenset({"power_connected", *apart}), frozenset(apart), {})
    terms = Terms(CATALOGUE.state, standing, 180.0, looking_minutes=60.0)
    found = booked_first(schedule(tasks, terms), tasks, terms)
    return steps_of(found, Telling({task.id: task for task in tasks}, CATALOGUE, corrected, NOW))


def check(name):
    return check_task(worth(name, 60.0, 0.0), CATALOGUE.check[name], catalogue=CATALOGUE, standing=SHUT)


@pytest.mark.parametrize(("minutes", "said"), [(0.0, "14:40"), (1.5, "14:42"), (0.4, "14:40"), (80.0, "16:00")])
def test_a_clock_is_to_the_whole_minute(minutes, said):
    assert clock(NOW, minutes) == f"2026-01-15T{said}:00"


def test_an_order_without_a_clock_has_no_times():
    assert clock(None, 10.0) == ""


def test_a_wait_is_a_step_of_its_own_between_start_and_reading():
    leak_down = check("fuel_leakdown")
    steps = told([Task("booked", "Booked: oil", "booked", 15.0, must=True), leak_down])
    names = [step.what for step in steps]
    start, wait, read = (names.index(name) for name in _three(leak_down.what))
    assert start < wait < read
    assert steps[wait].kind == "wait"
    assert steps[wait].start == steps[start].end
    assert steps[wait].end == steps[read].start
    # Gasoline is in the open while it runs: the caution stands before the start and before the reading.
    assert any("no sparks" in caution for caution in steps[start].cautions)
    assert steps[read].cautions == steps[start].cautions


def _three(what):
    return what, f"Runs by itself: {what}", f"Read: {what}"


def test_a_wheel_that_was_off_asks_for_its_nuts_and_the_pedal():
    work = Task("booked", "Booked: struts", "booked", 15.0, needs=("lifted", "wheels_off"), must=True)
    release = told([work], apart=("lifted", "wheels_off"))[-1]
    assert "wheel nuts on the ground; pump the pedal" in release.says
    assert "wheel nuts" not in told([Task("booked", "Booked: oil", "booked", 15.0, must=True)])[-1].says


def test_the_release_names_the_torques_and_the_measurement_of_this_work():
    brake = CATALOGUE.operation["brake_slide_service"]
    release = told([Task("booked", "Booked: oil", "booked", 15.0, must=True)], corrected=(brake,))[-1]
    assert "caliper bolt torque" in release.says
    assert CATALOGUE.check["drag_scale"].name in release.says


def test_opening_a_wheel_carries_the_cautions_of_the_lift_too():
    steps = told([Task("booked", "Booked: x", "booked", 15.0, needs=("lifted", "wheels_off"), must=True)])
    wheels = next(step for step in steps if step.what.startswith("Take the wheels off"))
    assert any("lift points" in caution for caution in wheels.cautions)
    assert any("star pattern" in caution for caution in wheels.cautions)


def test_the_booked_job_comes_before_the_looks_and_after_what_vanishes():
    booked = Task("booked", "Booked: oil", "booked", 30.0, must=True)
    heat = Task("heat", "Wheel heat", "check", 3.0, value_money=30.0, latest_minutes=12.0)
    names = [step.what for step in told([check("trims_three"), booked, heat])]
    assert names.index("Wheel heat") < names.index("Booked: oil") < names.index(CATALOGUE.check["trims_three"].name)


@pytest.mark.parametrize("state", [each for each in CATALOGUE.states if each.open_minutes], ids=lambda each: each.id)
def test_every_place_that_is_opened_says_how(state):
    assert state.to_open
    assert state.to_close
