"""A small sample of the made-up afternoons of tests/hard/plan.py, and the arithmetic of its table."""

from dataclasses import replace

import pytest
from benchmarks.afternoons import afternoon, full_bay, posterior

from lostgallon.plan.schedule import schedule
from tests.hard.plan import Bay, by_list, by_plan, cheapest_first, summary
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
    rows = [
        _row(0.9, plan=(100.0, False), cheapest=(80.0, True)),
        _row(0.8, plan=(200.0, True), cheapest=(120.0, True)),
    ]
    table = summary(rows)
    # Gains 20 and 80: mean 50, of 100 it is 50 %; 1.96 x 30 / sqrt 2 = 41.6; late said 15 %, was 50 %.
    assert table["ways"]["cheapest"]["earned_gain_pct"] == 50.0
    assert table["ways"]["cheapest"]["earned_gain_pct_half_width"] == 41.6
    assert (table["late_said_pct"], table["late_was_pct"]) == (15.0, 50.0)


def _row(said, **ways):
    told = {name: {"earned": money, "foreseen": money, "late": late} for name, (money, late) in ways.items()}
    return {"said": said, "ways": told}


def test_everybody_meets_the_same_minutes_and_readings():
    first, second = Bay(afternoon(3)), Bay(afternoon(3))
    second.spend(8.0, 0.45, "something else first")
    before = second.clock
    first.spend(5.0, 0.45, "tire_pressure")
    second.spend(5.0, 0.45, "tire_pressure")
    assert second.clock - before == pytest.approx(first.clock)


def test_opening_for_a_look_counts_as_looking():
    bay = Bay(replace(afternoon(3), apart=()))
    bay.open_up(("wheels_off",), for_looks=True)
    # Lift 3 + 2, wheels 5 + 8 minutes of the catalogue.
    assert bay.looked == 18.0
