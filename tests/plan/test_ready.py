"""The chance of being ready against closed forms for one and two tasks, and the buffer that aims at it."""

import numpy as np
import pytest
from scipy import integrate, stats

from lostgallon.plan.ready import SHOP_CV, chance_within, done_minutes, lognormal_with_mean_one, with_buffer
from lostgallon.plan.schedule import schedule
from lostgallon.plan.work import Piece
from tests.plan.bay import booked, check, terms

DRAWS = 200_000
# Three standard errors of a share near one half at this many draws are 0.0034.
TOLERANCE = 0.005


def sigma(cv):
    return np.sqrt(np.log1p(cv**2))


def piece(minutes, cv, start=0.0, **more):
    return Piece("task", "task", "check", start, start + minutes, cv, **more)


@pytest.mark.parametrize("limit", [20.0, 30.0, 45.0])
def test_one_task_has_a_lognormal_end(limit):
    # ln T ~ N(ln m - s^2/2, s^2), s^2 = ln(1 + c^2) + ln(1 + c_s^2): a product of lognormals is lognormal.
    both = np.hypot(sigma(0.45), sigma(SHOP_CV))
    expected = stats.norm.cdf((np.log(limit / 30.0) + both**2 / 2) / both)
    done = done_minutes([piece(30.0, 0.45)], rng=np.random.default_rng(1), draws=DRAWS)
    assert chance_within(done, limit) == pytest.approx(expected, abs=TOLERANCE)


@pytest.mark.parametrize("limit", [40.0, 55.0, 80.0])
def test_two_tasks_are_the_convolution_of_two_lognormals_under_one_factor(limit):
    # P(S (A + B) <= d) = integral over the common factor and over A of F_B(d / S - A), by quadrature.
    first, second = sigma(0.45), sigma(0.6)
    shop = sigma(SHOP_CV)
    a = stats.lognorm(first, scale=20.0 * np.exp(-(first**2) / 2))
    b = stats.lognorm(second, scale=30.0 * np.exp(-(second**2) / 2))
    nodes, weights = np.polynomial.hermite_e.hermegauss(31)

    def within(allowed):
        return integrate.quad(lambda used: a.pdf(used) * b.cdf(allowed - used), 0.0, allowed, limit=200)[0]

    factors = np.exp(shop * nodes - shop**2 / 2)
    expected = sum(w * within(limit / f) for w, f in zip(weights, factors, strict=True)) / np.sqrt(2 * np.pi)
    done = done_minutes([piece(20.0, 0.45), piece(30.0, 0.6, 20.0)], rng=np.random.default_rng(2), draws=DRAWS)
    assert chance_within(done, limit) == pytest.approx(expected, abs=TOLERANCE)


def test_the_common_factor_makes_tasks_rise_and_fall_together():
    # Var(S (A + B)) = E S^2 E(A+B)^2 - (E)^2 with independent A, B: larger than without the factor.
    done = done_minutes([piece(20.0, 0.3), piece(20.0, 0.3, 20.0)], rng=np.random.default_rng(3), draws=DRAWS)
    independent = 2 * (20.0 * 0.3) ** 2
    expected = (1 + SHOP_CV**2) * (independent + 40.0**2) - 40.0**2
    assert np.var(done) == pytest.approx(expected, rel=0.03)


def test_a_lognormal_factor_has_mean_one():
    factors = lognormal_with_mean_one(0.6, np.random.default_rng(4).standard_normal(DRAWS))
    assert np.mean(factors) == pytest.approx(1.0, abs=0.005)
    assert np.std(factors) == pytest.approx(0.6, abs=0.01)


def test_a_wait_is_not_shortened_by_free_hands():
    # 2 min, wait 15, 2 min with nothing else to do: 19 min where nothing varies but the wait (10 %).
    pieces = [piece(2.0, 0.0), piece(2.0, 0.0, 17.0, waits_for=0, wait_minutes=15.0)]
    done = done_minutes(pieces, rng=np.random.default_rng(5), draws=DRAWS)
    assert np.mean(done) == pytest.approx(19.0, abs=0.05)


def test_planning_at_mean_times_is_late_about_every_second_time_and_a_buffer_mends_it():
    tasks = [booked(45.0)] + [check(f"check {index}", 6.0, 40.0) for index in range(6)]
    tight = schedule(tasks, terms(115.0, looking_minutes=60.0))
    plain = chance_within(done_minutes(tight.pieces, rng=np.random.default_rng(6), draws=DRAWS), 115.0)
    assert plain < 0.7
    ready = with_buffer(
        lambda minutes: schedule(tasks, terms(minutes, looking_minutes=60.0)), 115.0, rng=np.random.default_rng(7)
    )
    assert ready.chance >= 0.85
    assert len(ready.schedule.chosen) < len(tight.chosen)


def test_a_booked_job_too_tight_by_itself_is_planned_with_its_own_chance():
    ready = with_buffer(lambda minutes: schedule([booked(60.0)], terms(minutes)), 91.0, rng=np.random.default_rng(8))
    assert ready.schedule.chosen == {"booked"}
    assert 0.4 < ready.chance < 0.7


def test_no_promise_has_no_chance():
    assert chance_within(np.array([1.0, 2.0]), None) is None
