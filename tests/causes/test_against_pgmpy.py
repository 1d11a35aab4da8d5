"""Presence against variable elimination by an independent library (tests/reference/presence_by_pgmpy.json)."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lostgallon.causes.weighing import weigh
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


@pytest.mark.parametrize("title", REFERENCE["findings"])
def test_presence_agrees_with_variable_elimination(title):
    findings = [
        found(check, *positive) if positive else normal(check)
        for check, positive in REFERENCE["findings"][title].items()
    ]
    case = case_with(findings, rise=0.0)
    weighing = weigh(case, NoEffect({}), _whole(), rng=np.random.default_rng(3), draws=16384)
    expected = REFERENCE["presence"][title]
    for n, cause in enumerate(weighing.causes):
        # 0.005: the project's own bound at 16 384 draws.
        assert weighing.presence[n] == pytest.approx(expected[cause.id], abs=0.005), cause.id
