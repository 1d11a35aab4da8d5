"""Stops are raised by any report or look, and cleared only by the look that finds it safe."""

from datetime import datetime

import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.stops import stop_of
from lostgallon.shop.trouble import BadInput
from lostgallon.shop.visit import Finding
from tests.causes.worlds import case_with, found, quantity

CAT = catalogue()


def _at(hour, check, result=None, *readings):
    return Finding(check, result, reading=readings, at_time=datetime(2026, 1, 15, hour))  # noqa: DTZ001


RAISING = [
    (raised.check, reading, stop.id) for stop in CAT.stops for raised in stop.raised_by for reading in raised.readings
]


@pytest.mark.parametrize(("check", "reading", "stop"), RAISING)
def test_every_raising_reading_stops(check, reading, stop):
    stands = stop_of(case_with([found(check, reading)]), CAT)
    assert stands is not None
    assert stands.id == stop
    assert stands.because


def test_a_plain_found_on_the_leak_look_stops():
    stands = stop_of(case_with([found("leak_smell_walk")]), CAT)
    assert stands is not None
    assert stands.cleared_by == "leak_smell_walk"


def test_a_report_is_enough_and_a_normal_look_clears_it():
    report = _at(9, "ask_smell_security", None, "smell_or_wet")
    assert stop_of(case_with([report]), CAT) is not None
    assert stop_of(case_with([report, _at(10, "leak_smell_walk", "normal")]), CAT) is None


def test_a_look_before_the_report_clears_nothing():
    report = _at(11, "ask_smell_security", None, "smell_or_wet")
    assert stop_of(case_with([report, _at(10, "leak_smell_walk", "normal")]), CAT) is not None


def test_looks_that_were_not_made_clear_nothing():
    report = _at(9, "ask_smell_security", "found")
    for silent in ("skipped", "not possible", "not looked at"):
        assert stop_of(case_with([report, _at(10, "leak_smell_walk", silent)]), CAT) is not None


def test_another_look_clears_nothing():
    report = _at(9, "ask_smell_security", "found")
    assert stop_of(case_with([report, _at(10, "wheel_spin", "normal")]), CAT) is not None


def test_exhaust_in_the_cabin_is_cleared_by_no_look():
    stands = stop_of(case_with([found("ask_symptoms", "exhaust_smell_inside")]), CAT)
    assert stands is not None
    assert stands.cleared_by == "nothing but the repair"


def test_ordinary_findings_stop_nothing():
    ordinary = [found("wheel_spin"), found("ask_symptoms"), found("tire_pressure"), found("wheel_end_temps")]
    assert stop_of(case_with(ordinary), CAT) is None


def test_an_unknown_check_is_refused_with_the_nearest():
    with pytest.raises(BadInput, match=r"did you mean leak_smell_walk\?"):
        stop_of(case_with([found("leek_smell_walk")]), CAT)


def test_a_value_beside_it_does_not_hide_a_raising_reading():
    pressure = (quantity("33 psi", 227_527.0, "Pa"),)
    finding = Finding("tire_pressure", value=pressure, reading=("will_not_hold",))
    stands = stop_of(case_with([finding]), CAT)
    assert stands is not None
    assert stands.id == "unsafe_tire"
