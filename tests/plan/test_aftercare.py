"""What the work asks for later, read from the catalogue's own words."""

import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.plan.access import Standing
from lostgallon.plan.aftercare import FILLS, after_care

CATALOGUE = catalogue()
SHUT = Standing(frozenset(), frozenset(), {})


def cared(*operations, opened=()):
    work = [CATALOGUE.operation[name] for name in operations]
    return after_care(work, catalogue=CATALOGUE, standing=SHUT, opened=opened)


@pytest.mark.parametrize(
    ("operation", "words", "km", "days"),
    [
        ("exhaust_joint_repair", "50-100 km", 100.0, None),
        ("lockup_control_repair", "50 km", 50.0, None),
        ("set_tire_pressure", "2 weeks", None, 14),
        ("thermostat_replace", "warm-up", None, None),
    ],
)
def test_distance_and_days_come_from_the_words(operation, words, km, days):
    care = next(care for care in cared(operation) if words in care.what)
    assert (care.within_km, care.within_days) == (km, days)
    assert care.why == CATALOGUE.operation[operation].name


def test_the_battery_off_asks_for_relearning():
    assert any("relearn" in care.what for care in cared(opened=("battery_off",)))


def test_without_work_the_fills_are_still_asked_for():
    assert cared() == (FILLS,)


def test_nothing_is_asked_for_twice():
    listed = cared("thermostat_replace", "thermostat_replace", opened=("lifted", "wheels_off"))
    assert len(listed) == len(set(listed))
