"""Then and now as evidence: against scipy's distributions and the textbook's conditional normals."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.economy import Economy, economy_of
from tests.causes.worlds import case_with

NUMBER = catalogue().number
ONE = ((1.0 - 1e-12, 0.0, 0.025), (1e-12, 0.04, 0.05))
MIXED = ((0.85, 0.0, 0.025), (0.15, 0.04, 0.05))
PLAIN = Economy(10.0, 0.12, 0.02, 0.03, 0.04, MIXED, (0.06, 0.07))
NOBODY, EVERYBODY = np.zeros(200_000, dtype=np.intp), np.ones(200_000, dtype=np.intp)


@pytest.mark.parametrize("misled", [0, 1])
def test_the_likelihood_is_a_mixture_of_normals(misled):
    causes = np.array([-0.1, 0.0, 0.05, 0.12, 0.3])
    found = PLAIN.log_likelihood(causes, np.full(5, misled, dtype=np.intp))
    sd = np.sqrt(np.array([0.025, 0.05]) ** 2 + 0.02**2 + 0.03**2 + 0.04**2 + misled * 0.07**2)
    mean = np.array([0.0, 0.04]) + misled * 0.06
    expected = np.log(np.array([0.85, 0.15]) @ stats.norm.pdf(0.12, causes + mean[:, None], sd[:, None]))
    # The table has steps of 0.0005 and leaves out the constant of the normal density.
    assert found - found[0] == pytest.approx(expected - expected[0], abs=0.02)


def test_remainder_scatter_and_then_are_the_conditional_normals():
    # Textbook: for independent normals with a known sum, each has mean v_i / v times the sum, variance v_i (1 - v_i/v).
    economy = replace(PLAIN, remainder=ONE, misled=None)
    rng = np.random.default_rng(1)
    remainder, scatter, then_log = economy.drawn_apart(np.full(200_000, 0.05), NOBODY, rng)
    total, left = 0.025**2 + 0.02**2 + 0.03**2 + 0.04**2, 0.12 - 0.05
    for drawn, variance, sign in ((remainder, 0.025**2, 1.0), (scatter, 0.02**2, 1.0), (then_log, 0.03**2, 1.0)):
        assert drawn.mean() == pytest.approx(sign * left * variance / total, abs=3e-4)
        assert drawn.var() == pytest.approx(variance * (1.0 - variance / total), rel=0.02)
    # By hand: -v_then v_now / v is the covariance of the two errors' parts; here of remainder and scatter.
    assert np.cov(remainder, scatter)[0, 1] == pytest.approx(-(0.025**2) * 0.02**2 / total, rel=0.05)


def test_a_misled_owner_takes_some_of_the_statement_out_of_the_bridge():
    economy = replace(PLAIN, remainder=ONE)
    rng = np.random.default_rng(1)
    for who, extra_mean, extra_var in ((NOBODY, 0.0, 0.0), (EVERYBODY, 0.06, 0.07**2)):
        remainder, _, _ = economy.drawn_apart(np.zeros(200_000), who, rng)
        total = 0.025**2 + 0.02**2 + 0.03**2 + 0.04**2 + extra_var
        assert remainder.mean() == pytest.approx((0.12 - extra_mean) * 0.025**2 / total, abs=3e-4)


def test_pooled_fills_are_sharper_than_memory_and_know_no_misled_owner():
    fills = economy_of(case_with(basis="fill-ups"), NUMBER, verdict=None, scatter_sd=None)
    memory = economy_of(case_with(basis="owner's memory"), NUMBER, verdict=None, scatter_sd=None)
    assert fills.statement_sd < memory.statement_sd
    assert fills.misled is None
    assert memory.misled is not None


def test_one_tank_is_worth_less_than_many():
    many = economy_of(case_with(basis="fill-ups"), NUMBER, verdict=None, scatter_sd=None)
    one = economy_of(case_with(basis="fill-ups"), NUMBER, verdict=None, scatter_sd=0.045)
    assert one.scatter_sd == 0.045 > many.scatter_sd
