"""The written estimate, consent and its limits, the measurement made again, questions told as one step."""

from dataclasses import replace
from datetime import datetime

import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.plan.access import Standing
from lostgallon.plan.estimate import NOT_AGREED, consent_in_words, estimate_of
from lostgallon.plan.rows import Correction
from lostgallon.plan.schedule import schedule
from lostgallon.plan.steps import Telling, steps_of
from lostgallon.plan.tasks import measured_again
from lostgallon.plan.work import Task, cv_of
from lostgallon.shop.spread import Spread
from lostgallon.shop.visit import Agreed, Shop
from tests.plan.bay import STATES, booked, correction, terms
from tests.plan.cast import NOW, PROMISED, case

KNOWN = catalogue()
OPEN = Standing(frozenset({"power_connected", "lifted", "wheels_off"}), frozenset(), {})
NOTHING = Spread(0.0, 0.0, 0.0, 0.0)


def row(operation, advice="today", *, parts=(10.0, 20.0, 50.0), labor=30.0, fees=0.0):
    low, likely, high = parts
    mean = (low + 4.0 * likely + high) / 6.0
    return Correction(
        operation, operation, "cause", 20.0, 12.0, Spread(mean, low, likely, high), labor, labor, NOTHING, NOTHING, None,
        advice, "", "because", (), (), fees_money=fees, total_money=mean + labor + fees,
    )  # fmt: skip


def yes(operation, amount):
    return Agreed(
        operation,
        by="the owner",
        at=datetime.fromisoformat("2026-01-15T15:00"),
        how="by telephone",
        amount_money=amount,
    )


def test_the_estimate_adds_up_at_the_lowest_and_the_highest_price_of_parts():
    taxed = case(shop=Shop(parts_tax_share=0.10))
    # Parts (10 + 80 + 50) / 6 = 23.33, labor 30, tax 2.33: 55.67. Ten less 23.33 with its tax: 14.67 less, 29.33 more.
    found = estimate_of([row("a", fees=0.1 * 140 / 6), row("b", "later")], taxed)
    assert [line.operation for line in found.lines] == ["a"]
    assert (found.total_money, found.low_money, found.high_money) == (55.67, 41.0, 85.0)
    assert found.valid_until == PROMISED.isoformat(timespec="minutes")
    assert not found.authorized
    assert found.says.startswith("Not yet authorized")


def test_nothing_for_today_has_no_estimate_and_a_stopped_vehicle_no_price():
    assert estimate_of([row("b", "later")], case()) is None
    assert estimate_of([replace(row("a"), parts_money=None, labor_money=None, total_money=None)], case()) is None


def test_work_the_booked_job_does_is_no_line():
    assert estimate_of([row("a", parts=(0.0, 0.0, 0.0), labor=0.0)], case()) is None


def test_consent_counts_up_to_its_amount():
    agreed = case(agreed=(yes("a", 60.0),))
    assert estimate_of([row("a")], agreed).authorized
    assert not estimate_of([row("a"), row("b")], agreed).authorized
    assert consent_in_words("a", 55.0, agreed) == "agreed up to 60 USD by the owner, by telephone, 2026-01-15 15:00"
    assert (
        consent_in_words("a", 75.0, agreed) == "agreed up to 60 USD, but it comes to 75 USD: ask the owner again first"
    )
    assert consent_in_words("b", 10.0, agreed) == NOT_AGREED
    assert not estimate_of([row("a", labor=60.0)], agreed).authorized


def test_a_correction_is_measured_again_where_that_can_be_done_on_this_visit():
    again = measured_again(KNOWN.operation["brake_slide_service"], catalogue=KNOWN, standing=OPEN)
    assert (again.only_with, again.hands_minutes) == ("brake_slide_service", KNOWN.check["drag_scale"].minutes)
    # A warm-up from cold can't be logged again the same afternoon; setting the tires is its own measurement.
    for operation in ("thermostat_replace", "set_tire_pressure"):
        assert measured_again(KNOWN.operation[operation], catalogue=KNOWN, standing=OPEN) is None


def test_what_is_measured_again_needs_its_correction_and_comes_after_it():
    again = Task("again", "again", "check", 6.0, value_money=20.0, only_with="brake", after=("brake",))
    found = schedule([booked(15.0), correction("brake", 12.0, 60.0), again], terms(120.0))
    assert [piece.owner for piece in found.pieces[:3]] == ["booked", "brake", "again"]
    # 15 booked minutes take 20 of the 38 before the release at 28 min: 12 of the brake take 16 and do not fit.
    assert schedule([booked(15.0), correction("brake", 12.0, 60.0), again], terms(38.0)).chosen == {"booked"}


def test_questions_that_follow_one_another_are_one_step():
    asks = [
        Task(name, name, "check", 1.5, value_money=9.0, asked=True, of_owner=True) for name in ("since when", "trips")
    ]
    tasks = [booked(15.0), *asks]
    told = steps_of(schedule(tasks, terms(60.0)), Telling({task.id: task for task in tasks}, KNOWN, (), NOW))
    (asked,) = [step for step in told if step.what == "Ask the owner"]
    assert set(asked.says.split("; ")) == {"since when", "trips"}
    assert set(asked.id.split(",")) == {"since when", "trips"}


def test_questions_are_no_part_of_the_looking_limit():
    asks = [Task(f"ask {n}", f"ask {n}", "check", 9.0, value_money=30.0, asked=True, of_owner=True) for n in range(2)]
    assert len(schedule([booked(15.0), *asks], terms(90.0, looking_minutes=6.0)).chosen) == 3


def test_the_range_gives_the_spread_of_a_lognormal_time():
    # Ends a factor e^(2 x 1.645 x 0.4) = 3.729 apart: sigma 0.4, cv = sqrt(exp(0.16) - 1) = 0.4165.
    assert cv_of((10.0, 37.29)) == pytest.approx(0.4165, abs=2e-4)
    assert cv_of(None) is None


@pytest.mark.parametrize(
    "entry", [*KNOWN.checks, *KNOWN.operations, *(s for s in KNOWN.states if s.open_minutes)], ids=lambda e: e.id
)
def test_every_step_of_the_catalogue_has_three_points(entry):
    low, high = entry.minutes_range
    assert 0.0 < low < high


def test_small_bay_has_the_states_of_these_tests():
    assert STATES["lifted"].open_minutes == 3.0
