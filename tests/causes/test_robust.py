"""No case breaks the account: odd figures, every finding at once, contradictions."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lostgallon.causes.account import entries_of, loss_of
from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.prospects import prospects_of
from lostgallon.causes.weighing import weigh
from lostgallon.causes.worth import open_checks, worth_of_checks
from lostgallon.shop.visit import Finding
from tests.causes.worlds import StraightEffects, case_with, found, normal, typical_slopes

CAT = catalogue()
EFFECTS = StraightEffects(typical_slopes(), season=0.08)
READINGS = [(check.id, reading.id) for check in CAT.checks for reading in check.readings]


def _whole_account(case):
    weighing = weigh(case, EFFECTS, CAT, rng=np.random.default_rng(1), draws=256)
    prospects = prospects_of(weighing, open_checks(case, CAT))
    entries = entries_of(weighing, case, CAT, prospects=prospects)
    rows = worth_of_checks(weighing, case, CAT)
    numbers = [*weighing.presence, *weighing.already_there, weighing.real, loss_of(weighing).increase_pct.p95]
    numbers += [entry.l_per_100km.mean for entry in entries] + [row.acts_money + row.explains_money for row in rows]
    assert np.isfinite(numbers).all()
    added = weighing.entries_l_per_100km.sum(axis=1) + weighing.remainder_l_per_100km
    assert np.abs(added - (weighing.now_l_per_100km - weighing.then_l_per_100km)).max() < 1e-9
    return weighing


@pytest.mark.parametrize("rise", [-1.0, -0.2, 0.0, 0.8, 1.5])
@pytest.mark.parametrize("basis", ["fill-ups", "owner's memory", "money spent", "trip display"])
def test_odd_figures_give_an_account(rise, basis):
    _whole_account(case_with(rise=rise, basis=basis, then_c=20.0, now_c=-20.0))


@pytest.mark.parametrize("make", [found, normal], ids=["all found", "all normal"])
def test_every_check_at_once_gives_an_account(make):
    weighing = _whole_account(case_with([make(check.id) for check in CAT.checks], rise=0.2))
    assert weighing.presence.max() <= 1.0


@settings(max_examples=12, deadline=None, derandomize=True)
@given(st.lists(st.sampled_from(READINGS), min_size=1, max_size=12, unique=True), st.floats(-0.1, 0.5))
def test_any_readings_together_give_an_account(readings, rise):
    findings = [Finding(check, reading=(reading,)) for check, reading in readings]
    _whole_account(case_with(findings, rise=rise))
