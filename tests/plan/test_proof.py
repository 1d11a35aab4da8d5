"""Proof by fills against hand calculation and the trade's own table of tanks."""

from datetime import date

import numpy as np
import pytest

from lostgallon.plan.proof import (
    After,
    coming_ambient_c,
    limits_l_per_100km,
    proof_of,
    season_change_log,
    tanks_to_see,
)
from lostgallon.shop.visit import Period
from tests.plan.cast import case


@pytest.mark.parametrize(
    ("step", "tanks"), [(0.06, 11), (0.10, 4), (0.20, 3), (0.05, None), (0.02, None), (0.0, None), (-0.1, None)]
)
def test_tanks_for_a_step_at_seven_per_cent_scatter(step, tanks):
    # 2 (1.96 x 0.07 / step)^2: 0.06 -> 10.46, 0.10 -> 3.76; 0.20 -> 0.94 but never below three. The trade says "about 16
    # and 16 for 5 %, 4 and 4 for 10 %" (common practice, no source): 0.05 -> 15.06 is more than a season holds.
    assert tanks_to_see(step, scatter=0.07) == tanks


def test_the_coming_weeks_are_half_this_month_and_the_next():
    # January -2, half range 14.797 about 12.797: February 12.797 - 14.797 cos 30 deg = -0.018;
    # (0.5 x -2 - 0.018) / 1.5 = -0.679.
    assert coming_ambient_c(case()) == pytest.approx(-0.679, abs=0.001)


def test_the_season_comes_back_with_the_temperature():
    # Then 22, now -2, season 12 %: at 10 half of the way back: ln 1.12 x (10 + 2) / (-2 - 22) = -0.5 ln 1.12.
    season = np.full(4, np.log(1.12))
    assert season_change_log(case(), season, 10.0) == pytest.approx(-0.5 * season)


def test_without_a_season_between_then_and_now_a_plain_slope_serves():
    flat = case(then=Period(economy_l_per_100km=10.0, basis="fill-ups", ambient_c=0.0, until=date(2025, 12, 1)))
    # 8 K warmer at 0.4 % a kelvin.
    assert season_change_log(flat, np.zeros(3), 6.0) == pytest.approx(-0.032)
    # From 18 C on nothing more is to be had above 20.
    warm = case(
        then=Period(economy_l_per_100km=10.0, basis="fill-ups", ambient_c=20.0),
        now=Period(economy_l_per_100km=10.0, basis="fill-ups", ambient_c=18.0),
    )
    assert season_change_log(warm, np.zeros(3), 30.0) == pytest.approx(-0.008)


def test_limits_leave_five_per_cent_on_each_side():
    # Use exactly 10 if it worked and 13 if not, 7 % scatter over 4 tanks: sd 3.5 %.
    # 10 e^(1.645 x 0.035) = 10.593 and 13 e^(-1.645 x 0.035) = 12.273: they cross, the middle is 11.433.
    after = After(worked=np.full(40_000, 10.0), nothing=np.full(40_000, 13.0))
    again, done = limits_l_per_100km(after, 4, rng=np.random.default_rng(1), scatter=0.07)
    assert again == done == pytest.approx(11.433, abs=0.02)
    # 10 against 10.6: above 10.593 look again, below 10.6 x 0.9440 = 10.007 done, in between more fills.
    after = After(worked=np.full(40_000, 10.0), nothing=np.full(40_000, 10.6))
    again, done = limits_l_per_100km(after, 4, rng=np.random.default_rng(1), scatter=0.07)
    assert again == pytest.approx(10.593, abs=0.02)
    assert done == pytest.approx(10.007, abs=0.02)


def test_the_rule_says_what_to_do_in_plain_words():
    after = After(worked=np.full(1000, 10.0), nothing=np.full(1000, 12.0))
    proof, lacking = proof_of(after, corrected=True, rng=np.random.default_rng(2))
    assert lacking is None
    # A fall of 1/6: 2 (1.96 x 0.07 x 6)^2 = 1.36, so three.
    assert proof.tanks_needed == 3
    for words in ("first click", "first tank out", "pool 3 fills", "without charge", "done", "L/100 km", "mpg"):
        assert words in proof.rule


def test_a_change_too_small_for_fills_is_said_to_be():
    after = After(worked=np.full(1000, 11.9), nothing=np.full(1000, 12.0))
    proof, lacking = proof_of(after, corrected=True, rng=np.random.default_rng(3))
    assert proof.tanks_needed is None
    assert lacking.name == "proof_by_fills"
    assert "too small" in proof.rule
    assert "look again" in proof.rule
