"""The booked job's own steps, by the case and by the words of the order."""

from dataclasses import replace

import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.plan.access import standing
from lostgallon.plan.booked import booked_tasks, job_of
from lostgallon.plan.tasks import closing_scaled
from lostgallon.shop.visit import Booked, BookedStep
from tests.plan.cast import case

KNOWN = catalogue()


def tasks(booked):
    told = replace(case(), booked=booked)
    stands = standing(told, KNOWN.state)
    closing = closing_scaled(KNOWN.state, stands, booked.minutes_left or 0.0)
    return booked_tasks(told, KNOWN, standing=stands, closing=closing)


def test_the_steps_of_the_case_stand_as_told_without_what_is_done():
    steps = (
        BookedStep("old hose off", 8.0, needs=("coolant_drained",), done=True),
        BookedStep("new hose on", 12.0, needs=("coolant_drained",)),
        BookedStep("look for leaks", 4.0, wait_minutes=10.0),
    )
    found = tasks(Booked("coolant hose", ("coolant_drained",), 16.0, steps=steps))
    assert [(task.what, task.hands_minutes, task.wait_minutes) for task in found] == [
        ("Booked: new hose on", 12.0, 0.0),
        ("Booked: look for leaks", 4.0, 10.0),
    ]
    assert found[1].after == (found[0].id,)


def test_a_usual_job_has_its_last_steps_left():
    # Coolant hose: 8 + 12 min of work and 30 of closing, of which at most half of the 40 min left: 20 remain, all of it.
    whole = tasks(Booked("Coolant Hose", ("coolant_drained",), 40.0))
    assert [task.hands_minutes for task in whole] == [8.0, 12.0]
    # 30 min left, 15 of them closing: the last 15 of the 20, so 3 of the first step and 12 of the second.
    part = tasks(Booked("coolant hose", ("coolant_drained",), 30.0))
    assert [task.hands_minutes for task in part] == pytest.approx([3.0, 12.0])
    # Half of 60 is closing at most 30: 30 for 20 usual minutes, each step half as long again.
    longer = tasks(Booked("coolant hose", ("coolant_drained",), 60.0))
    assert [task.hands_minutes for task in longer] == pytest.approx([12.0, 18.0])


def test_a_job_of_unknown_words_is_one_piece():
    found = tasks(Booked("rear bush", ("lifted",), 20.0))
    # 20 less the 2 of lowering the vehicle.
    assert [(task.what, task.hands_minutes) for task in found] == [("Booked: rear bush", 18.0)]


def test_the_longest_words_name_the_job():
    assert job_of(Booked("oil service and radiator hose"), KNOWN).id == "coolant_hose"
    assert job_of(Booked("timing belt"), KNOWN).id == "timing_belt"
    assert job_of(Booked("wash"), KNOWN) is None


def test_a_usual_step_asks_only_for_what_the_job_has_open():
    assert {need for task in tasks(Booked("water pump", ("coolant_drained",), 60.0)) for need in task.needs} == {
        "coolant_drained"
    }
