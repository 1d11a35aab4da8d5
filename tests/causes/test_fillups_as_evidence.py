"""A log of fill-ups replaces the stated figures, and its own season that of the physics."""

from dataclasses import replace

import numpy as np
import pytest

from lostgallon.causes.account import loss_of
from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.weighing import weigh
from lostgallon.shop.filled import FillVerdict, Rise, Step
from tests.causes.worlds import StraightEffects, case_with, typical_slopes

CAT = catalogue()
SEASON = 0.10
EFFECTS = StraightEffects(typical_slopes(), season=SEASON)
NOTHING = Step(0.1, 0.1, 0.0, 0.0, 0.0, None, None, "nothing beyond scatter")


def _verdict(rise_log, *, step=NOTHING, sd=0.02):
    now = 8.7 * float(np.exp(SEASON + rise_log))
    rise = Rise(rise_log, sd, 8.7, 0.013, now, 0.02, 30, 9, season_log=SEASON, season_sd=0.02)
    return FillVerdict(39, 39, (), (), (), 8.7, 9.4, step, None, 4.9, None, None, None, (), rise=rise)


def _weighed(verdict, **case):
    case = case_with(then_c=20.0, now_c=-2.0, **case)
    return weigh(case, EFFECTS, CAT, rng=np.random.default_rng(1), draws=4096, verdict=verdict)


def test_a_winter_without_a_fault_stays_without_one():
    # The log says no rise beyond season; the owner states 30 %. No fault may stand above its prior by much.
    weighing = _weighed(_verdict(0.0), rise=0.26, basis="owner's memory")
    faults = [n for n, cause in enumerate(weighing.causes) if cause.fault]
    blame = weighing.entries_l_per_100km[:, faults].sum(axis=1).mean() / weighing.then_l_per_100km.mean()
    assert blame < 0.015
    # By hand: the whole rise is the season's, ln 1.105.
    rise = loss_of(weighing).increase_pct
    assert rise.p05 < 100.0 * np.expm1(SEASON) < rise.p95


def test_the_account_runs_between_the_pooled_figures():
    weighing = _weighed(_verdict(0.05))
    # By hand: 8.7 L/100 km then; now ln(now / then) = 0.10 of season and 0.05 beyond it.
    assert weighing.then_l_per_100km.mean() == pytest.approx(8.7, rel=0.01)
    total = np.log(weighing.now_l_per_100km / weighing.then_l_per_100km)
    assert total.mean() == pytest.approx(SEASON + 0.05, abs=0.01)
    added = weighing.entries_l_per_100km.sum(axis=1) + weighing.remainder_l_per_100km
    assert np.abs(added - (weighing.now_l_per_100km - weighing.then_l_per_100km)).max() < 1e-9


def test_a_rise_in_the_log_is_looked_for_among_the_causes():
    small, large = _weighed(_verdict(0.0)), _weighed(_verdict(0.15))
    faults = [n for n, cause in enumerate(small.causes) if cause.fault]
    blame = [w.entries_l_per_100km[:, faults].sum(axis=1).mean() for w in (small, large)]
    assert blame[1] > 3.0 * blame[0]


def test_the_owners_belief_plays_no_part_where_the_log_speaks():
    told = [_weighed(_verdict(0.05), rise=rise, basis="owner's memory") for rise in (0.0, 0.4)]
    assert (told[0].presence == told[1].presence).all()


def test_a_changed_use_speaks_for_the_causes_of_use():
    changed = replace(NOTHING, use_changed=0.8, both=0.1)
    before, after = _weighed(_verdict(0.1)), _weighed(_verdict(0.1, step=changed))
    n = before.index("route_traffic_driver")
    assert after.presence[n] > 1.5 * before.presence[n]


def test_a_verdict_without_a_rise_of_its_own_is_left_aside():
    empty = replace(_verdict(0.3), rise=None)
    assert (_weighed(empty).presence == _weighed(None).presence).all()
