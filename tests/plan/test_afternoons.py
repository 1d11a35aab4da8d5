"""A small sample of the made-up afternoons of tests/hard/plan.py, and the arithmetic of its table."""

import pytest
from benchmarks.afternoons import afternoon, full_bay, posterior

from lostgallon.plan.schedule import schedule
from tests.hard.plan import by_list, by_plan, cheapest_first, summary
from tests.plan.judge import faults


@pytest.mark.slow
@pytest.mark.parametrize("seed", [3, 11, 19])
def test_an_afternoon_worked_by_plan_ends_closed_up_and_within_what_was_agreed(seed):
    made = afternoon(seed)
    bay, said = by_plan(made)
    assert bay.open == set()
    assert bay.looked <= made.looking_minutes
    assert bay.booked_left == 0.0
    assert 0.0 <= said <= 1.0
    # Nothing is corrected without its check.
    assert all(fault.check.id in bay.done for fault in made.faults if fault.operation.id in bay.mended)


@pytest.mark.slow
def test_a_list_ends_closed_up_too():
    bay = by_list(afternoon(3), cheapest_first)
    assert bay.open == set()
    assert bay.booked_left == 0.0


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_the_measured_size_is_planned_without_a_fault(seed):
    tasks, terms = full_bay(seed)
    assert faults(schedule(tasks, terms), tasks, terms) == []


def test_a_check_moves_a_belief_by_bayes():
    # 0.3 x 0.85 / (0.3 x 0.85 + 0.7 x 0.03) = 0.255 / 0.276.
    assert posterior(0.3, found=True) == pytest.approx(0.255 / 0.276)


def test_the_table_pairs_its_gains():
    table = summary(
        {"plan": [100.0, 200.0], "cheapest first": [80.0, 120.0]},
        {"plan": [False, True], "cheapest first": [True, True]},
        [0.9, 0.8],
    )
    # Gains 20 and 80: mean 50, 100 of 200 is 50 %; error of the mean 30 / sqrt 2 = 21.2; late said 15 %, was 50 %.
    assert table["ways"]["cheapest first"]["plan_earns_more_pct"] == 50.0
    assert table["ways"]["cheapest first"]["gain_error"] == 21.21
    assert (table["late_said_pct"], table["late_was_pct"]) == (15.0, 50.0)
