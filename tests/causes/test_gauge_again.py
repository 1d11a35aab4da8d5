"""One low reading of the coolant, by hand: what its own error rates leave, and what a second reading takes away."""

import math

import numpy as np
import pytest
from scipy import integrate, stats

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.evidence import evidence_of
from lostgallon.causes.facts import facts_of, prior_here
from lostgallon.causes.weighing import weigh
from lostgallon.shop.visit import Finding
from tests.causes.worlds import StraightEffects, case_with, part_of_catalogue, quantity

RATING = quantity("90 degC", 90.0, "degC")
THERMOSTAT = ("thermostat_stuck_open",)


def _plateau(coolant_c):
    value = (quantity(f"{coolant_c:g} degC", coolant_c, "degC"),)
    return Finding("warmup_trace", value=value, limit=RATING, limit_source="service information")


def _there(*findings):
    whole = part_of_catalogue(THERMOSTAT, fixed=False)
    case = case_with(findings, rise=0.0)
    effects = StraightEffects({"coolant_drop_k": 0.0})
    weighing = weigh(case, effects, whole, rng=np.random.default_rng(6), draws=16_384)
    return weighing.presence[0] + weighing.already_there[0], whole, case


def _by_hand(drop_k, wrong):
    """Bayes by quadrature: gauge of 4 K and 20 %, wrong readings half as wide as the worst defect of 52 K."""
    _, whole, case = _there()
    cause = whole.causes[0]
    here = prior_here(cause, facts_of(case), odds_scale=whole.number["prior_odds_scale"])
    prior, severity = here.new + here.old, cause.severity
    below = math.log(severity.p50 / severity.p05) / stats.norm.ppf(0.95)
    above = math.log(severity.p99 / severity.p50) / stats.norm.ppf(0.99)

    def reading(amount):
        right = stats.norm.pdf(drop_k, amount, math.hypot(4.0, 0.2 * amount))
        return (1.0 - wrong) * right + wrong * stats.norm.pdf(drop_k, 0.0, 26.0)

    def with_it(z):
        return stats.norm.pdf(z) * reading(severity.p50 * math.exp((below if z < 0.0 else above) * z))

    seen = integrate.quad(with_it, -6.0, 6.0, points=[0.0])[0]
    return prior * seen / (prior * seen + (1.0 - prior) * reading(0.0))


@pytest.mark.parametrize("coolant_c", [75.0, 62.0, 50.0])
def test_one_reading_leaves_what_its_own_error_rates_say(coolant_c):
    there, _, _ = _there(_plateau(coolant_c))
    assert there == pytest.approx(_by_hand(90.0 - coolant_c, 0.015), abs=0.02)


def test_a_second_reading_that_agrees_is_seldom_wrong_alike():
    once, _, _ = _there(_plateau(62.0))
    twice, _, _ = _there(_plateau(62.0), _plateau(63.0))
    assert twice == pytest.approx(_by_hand(27.0, 0.015**2), abs=0.02)
    assert twice > 0.98 > once


def test_a_second_reading_that_disagrees_takes_the_place_of_the_first():
    case = case_with([_plateau(62.0), _plateau(89.0)])
    (piece,) = evidence_of(case, catalogue(), drive=None).pieces
    assert piece.measured.value == 89.0
    assert piece.measured.gauge.outlier_share == catalogue().check["warmup_trace"].gauge.outlier_share
