"""The bridge closes, keeps its order and lies where the drawing it was designed on puts it."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lostgallon.paper.bridge import in_order, lay_bridge, letter_of
from lostgallon.paper.scale import Scale, number_step, ticks
from tests.paper.cast import CAST, TWO_FAULT, entry, gal

ACCOUNTS = pytest.mark.parametrize("account", CAST.values(), ids=CAST.keys())


@ACCOUNTS
def test_then_planks_unsettled_and_open_make_now(account):
    bridge = lay_bridge(account)
    planks = sum(step.entry.l_per_100km.p50 for step in bridge.steps)
    total = (
        bridge.then.l_per_100km.p50 + planks + bridge.unsettled_l_per_100km + account.not_accounted_for_l_per_100km.p50
    )
    assert total == pytest.approx(account.loss.now_l_per_100km.p50, abs=1e-9)
    assert bridge.open.middle == pytest.approx(bridge.now.at, abs=1e-9)


@ACCOUNTS
def test_a_step_starts_where_the_last_median_ended(account):
    bridge = lay_bridge(account)
    places = [bridge.then.at, *(step.middle for step in bridge.steps)]
    assert [step.start for step in bridge.steps] == pytest.approx(places[:-1], abs=1e-12)
    assert bridge.deck_end == pytest.approx(places[-1], abs=1e-12)


@ACCOUNTS
def test_the_open_gap_is_what_is_not_accounted_for(account):
    bridge = lay_bridge(account)
    rest = account.not_accounted_for_l_per_100km.p50
    gap = (bridge.now.at - bridge.gap_start) * (bridge.scale.high - bridge.scale.low)
    if bridge.unsettled_l_per_100km >= 0.0 and bridge.spans and bridge.deck_end <= bridge.now.at:
        assert gap == pytest.approx(max(rest, 0.0), abs=1e-9)


@ACCOUNTS
def test_every_interval_lies_on_the_rule(account):
    bridge = lay_bridge(account)
    ends = [
        *bridge.then.soft,
        *bridge.now.soft,
        bridge.open.low,
        bridge.open.high,
        *(bridge.expected.soft if bridge.expected else ()),
    ]
    ends += [end for step in bridge.steps for end in step.span]
    assert min(ends) >= 0.0
    assert max(ends) <= 1.0
    assert bridge.then.at >= 0.149 or bridge.now.at >= 0.149
    assert max(bridge.then.at, bridge.now.at) <= 0.851


def test_places_of_the_winter_hatch_follow_the_drawn_scale():
    # By hand: the rule runs from 3.0 - 0.25 to 4.1 + 0.3 gal per 100 mi, so 3.0 lies at 0.25 / 1.65 = 15.15 %.
    bridge = lay_bridge(TWO_FAULT)
    cold, fuel, trips = bridge.steps[:3]
    assert bridge.then.at == pytest.approx(0.25 / 1.65, abs=1e-6)
    assert bridge.now.at == pytest.approx(1.35 / 1.65, abs=1e-6)
    assert (cold.solid, cold.middle, cold.far) == pytest.approx((0.5 / 1.65, 0.6 / 1.65, 0.75 / 1.65), abs=1e-6)
    assert fuel.start == cold.middle
    assert trips.letter == "C"
    assert [tick.number for tick in bridge.ticks if tick.number] == ["3.0", "3.5", "4.0"]
    assert [tick.number for tick in bridge.other_ticks if tick.number] == ["7", "8", "9", "10"]


def test_circumstances_stand_before_faults_and_kinds_in_order():
    rows = in_order(TWO_FAULT.entries)
    assert [row.fault for row in rows] == sorted(row.fault for row in rows)
    assert [row.kind for row in rows if not row.fault] == ["season", "season", "use", "tires", "electrical"]
    assert [row.kind for row in rows if row.fault] == ["tires", "engine", "brakes_driveline"]


def test_a_cause_keeps_the_letter_it_was_given():
    bridge = lay_bridge(TWO_FAULT, letters={"ambient_cold": "Q"})
    assert [step.letter for step in bridge.steps][:2] == ["Q", "B"]


def test_letters_go_on_after_z():
    assert [letter_of(count) for count in (0, 25, 26, 27, 51, 52)] == ["A", "Z", "AA", "AB", "AZ", "BA"]


def test_a_cause_that_gives_back_runs_to_the_left():
    account = replace(TWO_FAULT, entries=(entry("milder", "Milder weather", "season", gal(-0.4, -0.3, -0.1)),))
    (step,) = lay_bridge(account).steps
    assert step.far < step.middle < step.solid < step.start


@given(low=st.floats(-50, 50), span=st.floats(1e-3, 1e3))
def test_a_rule_has_two_to_seven_numbers_at_even_distances(low, span):
    rule = ticks(Scale(low, low + span))
    numbered = [tick.at for tick in rule if tick.number]
    assert 2 <= len(numbered) <= 7
    distances = [right - left for left, right in pairwise(numbered)]
    assert distances == pytest.approx([number_step(span) / span] * len(distances), rel=1e-6)
    assert all(-1e-6 <= tick.at <= 1 + 1e-6 for tick in rule)
