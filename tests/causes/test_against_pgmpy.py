"""Presence and worth of checks against variable elimination by an independent library (presence_by_pgmpy.json)."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lostgallon.causes.weighing import weigh
from lostgallon.causes.worth import worth_of_checks
from tests.causes.worlds import StraightEffects, case_with, found, normal, part_of_catalogue

REFERENCE = json.loads((Path(__file__).parents[1] / "reference" / "presence_by_pgmpy.json").read_text("utf-8"))


class NoEffect(StraightEffects):
    """No cause moves fuel, so that then and now say nothing."""

    def log_effect(self, condition, amount, member):
        return np.zeros_like(amount)


def _whole():
    whole = part_of_catalogue(REFERENCE["priors"])
    causes = []
    for cause in whole.causes:
        prior = REFERENCE["priors"][cause.id]
        by = replace(cause.prior_new, under_80k_km=prior, km_80k_to_200k=prior, over_200k_km=prior)
        causes.append(
            replace(
                cause,
                prior_new=by,
                prior_rules=(),
                applies_if=(),
                already_there=replace(cause.already_there, share=0.0),
            )
        )
    numbers = tuple(replace(m, value=1.0) if m.id == "prior_odds_scale" else m for m in whole.method)
    return replace(whole, causes=tuple(causes), method=numbers)


def _case(title):
    findings = [
        found(check, *positive) if positive else normal(check)
        for check, positive in REFERENCE["findings"][title].items()
    ]
    return case_with(findings, rise=0.0)


@pytest.mark.parametrize("title", REFERENCE["findings"])
def test_presence_agrees_with_variable_elimination(title):
    case = _case(title)
    weighing = weigh(case, NoEffect({}), _whole(), rng=np.random.default_rng(3), draws=16384)
    expected = REFERENCE["presence"][title]
    for n, cause in enumerate(weighing.causes):
        # 0.005: the project's own bound at 16 384 draws.
        assert weighing.presence[n] == pytest.approx(expected[cause.id], abs=0.005), cause.id


def _priced():
    """The same part, where every correction has the gain and the cost of the reference."""
    whole = _whole()
    money = {cause.id: (REFERENCE["gain"][cause.id], REFERENCE["cost"][cause.id]) for cause in whole.causes}
    causes, operations = [], []
    for cause in whole.causes:
        gain, cost = money[cause.id]
        work = whole.operation[cause.operation]
        parts = replace(work.parts_money, low=cost, likely=cost, high=cost)
        cured = replace(work.cures_share, share=1.0)
        own = f"{cause.id} work"
        operations.append(
            replace(work, id=own, minutes_alone=0.0, minutes_open=(), parts_money=parts, cures_share=cured)
        )
        causes.append(replace(cause, operation=own, harm_if_left_money=replace(cause.harm_if_left_money, typical=gain)))
    return replace(whole, causes=tuple(causes), operations=tuple(operations))


@pytest.fixture(scope="module", params=["a misfire", "cold", "five checks"])
def worths(request):
    """What each check lets us act on, by check: one number a seed, since stories carry noise of their own."""
    whole, case, worth = _priced(), _case(request.param), {}
    for seed in range(10):
        weighing = weigh(case, NoEffect({}), whole, rng=np.random.default_rng(seed), draws=4096)
        for row in worth_of_checks(weighing, case, whole):
            worth.setdefault(row.check, []).append(row.acts_money)
    return REFERENCE["acts"][request.param], worth


def test_what_a_check_lets_us_act_on_agrees_with_variable_elimination(worths):
    expected, worth = worths
    assert len(expected) >= 4
    for check, money in expected.items():
        error = np.std(worth[check]) / np.sqrt(len(worth[check]))
        # 2 %: the project's own bound, beside two standard errors of the mean over seeds.
        assert abs(np.mean(worth[check]) - money) <= 0.02 * money + 2.0 * error, check
        assert error < 0.03 * max(expected.values())
