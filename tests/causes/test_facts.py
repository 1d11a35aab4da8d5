"""Rules on facts of the case: machine-readable, by hand."""

from dataclasses import replace

import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.facts import facts_of, holds, prior_here
from lostgallon.causes.records import Test as Rule
from lostgallon.shop.trouble import BadInput
from tests.causes.worlds import VEHICLE, case_with

CAT = catalogue()


@pytest.mark.parametrize(
    ("rule", "true"),
    [
        (Rule("vehicle.drive", equals="4wd"), True),
        (Rule("vehicle.body", one_of=("pickup", "van")), False),
        (Rule("vehicle.odometer_km", above=149_000.0, below=151_000.0), True),
        (Rule("ambient_fall_k", above=10.0), False),
        (Rule("age_years", above=13.0), True),
        (Rule("blend_to_winter", equals=True), False),
        (Rule("booked", contains="brake"), False),
    ],
)
def test_a_rule_holds_as_read(rule, true):
    assert holds(rule, facts_of(case_with())) is true


def test_every_rule_of_the_catalogue_asks_for_a_fact_that_exists():
    facts = facts_of(case_with())
    for cause in CAT.causes:
        for test in [*cause.applies_if, *(test for rule in cause.prior_rules for test in rule.when)]:
            holds(test, facts)


def test_an_unknown_fact_is_refused_with_the_nearest():
    with pytest.raises(BadInput, match=r"did you mean vehicle\.odometer_km"):
        holds(Rule("vehicle.odometer", above=1.0), facts_of(case_with()))


def test_no_second_axle_no_four_wheel_drive_left_engaged():
    case = case_with(vehicle=replace(VEHICLE, drive="2wd"))
    here = prior_here(CAT.cause["four_wheel_drive_engaged"], facts_of(case), odds_scale=1.0)
    assert (here.new, here.old) == (0.0, 0.0)


def test_new_and_old_by_hand():
    # 150 000 km, a brake: 0.11 new; scale 0.5 on the odds: 0.0618/(1+0.0618); one in ten of the present is older.
    here = prior_here(CAT.cause["dragging_brake"], facts_of(case_with()), odds_scale=0.5)
    odds = 0.5 * 0.11 / 0.89
    assert here.new == pytest.approx(odds / (1 + odds))
    assert here.old == pytest.approx(here.new * 0.1 / 0.9)


def test_a_rule_says_why_it_moved_a_prior():
    cold = prior_here(CAT.cause["tire_under_inflation"], facts_of(case_with(then_c=20.0, now_c=0.0)), odds_scale=0.2)
    assert cold.new == pytest.approx(0.5)
    assert cold.because == ("it became colder: pressure falls by itself",)
