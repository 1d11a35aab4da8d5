"""A look after a correction tells how the work came out: what was found before it stays in the account."""

from dataclasses import replace

import numpy as np
import pytest

from lostgallon.causes.account import findings_of
from lostgallon.causes.bearing import after_what_bears
from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.facts import facts_of, prior_here
from lostgallon.causes.stops import stop_of
from lostgallon.causes.weighing import weigh
from lostgallon.paper.row_words import finding_words
from lostgallon.paper.words import words_in
from lostgallon.shop.trouble import BadInput
from tests.causes.test_exact_enumeration import EffectByCause
from tests.causes.worlds import StraightEffects, case_with, counted_out, found, normal, part_of_catalogue, quantity
from tests.causes.worlds import typical_slopes as slopes

CAUSES = ("thermostat_stuck_open", "coolant_sensor_bias", "cooling_fan_always_on", "short_trips")
REPLACED = ("thermostat_replace",)
SLOW = found("warmup_trace", "slow_or_reads_low")


def _weighed(whole, case, effects):
    return weigh(case, EffectByCause(whole, effects), whole, rng=np.random.default_rng(3), draws=8192)


def _world(*findings):
    whole = part_of_catalogue(CAUSES)
    case = case_with(findings, rise=0.08)
    effects = dict.fromkeys(CAUSES, 0.05)
    return whole, case, effects


def _there(weighing, cause):
    n = weighing.index(cause)
    return weighing.presence[n] + weighing.already_there[n]


@pytest.mark.parametrize("later", [normal("warmup_trace", after=REPLACED), replace(SLOW, after=REPLACED)])
def test_looks_before_and_after_agree_with_counting_every_story(later):
    whole, case, effects = _world(SLOW, later)
    scale = whole.number["prior_odds_scale"]
    here = {cause.id: prior_here(cause, facts_of(case), odds_scale=scale) for cause in whole.causes}
    exact = counted_out(whole, {name: (p.new, p.old) for name, p in here.items()}, effects, case, {})
    weighing = _weighed(whole, case, effects)
    for n, cause in enumerate(whole.causes):
        assert abs(weighing.presence[n] - exact[cause.id]) <= 0.01


def test_a_normal_look_after_the_work_speaks_for_what_the_work_cured():
    before = _weighed(*_world(SLOW))
    after = _weighed(*_world(SLOW, normal("warmup_trace", after=REPLACED)))
    replaced = _weighed(*_world(normal("warmup_trace")))
    assert _there(after, "thermostat_stuck_open") > _there(before, "thermostat_stuck_open")
    assert _there(after, "coolant_sensor_bias") < _there(before, "coolant_sensor_bias")
    assert _there(replaced, "thermostat_stuck_open") < _there(before, "thermostat_stuck_open")


def test_a_gauge_read_again_after_the_work_leaves_the_size_of_the_fault():
    low = found("tire_pressure", value=(quantity("27 psi", 186_158.0, "Pa"),) * 4, at_c=20.0)
    right = replace(low, value=(quantity("33 psi", 230_000.0, "Pa"),) * 4, after=("set_tire_pressure",))
    effects = StraightEffects(slopes())

    def weighed(*findings):
        return weigh(case_with(findings), effects, catalogue(), rng=np.random.default_rng(3), draws=1024)

    before, after = weighed(low), weighed(low, right)
    assert _there(after, "tire_under_inflation") == pytest.approx(_there(before, "tire_under_inflation"), abs=0.02)
    rows = findings_of(case_with((low, right)), catalogue())
    name = catalogue().operation["set_tire_pressure"].name
    assert [row.after for row in rows] == [(), (name,)]
    assert [name in finding_words(row, words_in("en")) for row in rows] == [False, True]


def test_an_unknown_correction_is_named_with_the_nearest():
    case = case_with((normal("warmup_trace", after=("thermostat_replac",)),))
    with pytest.raises(BadInput, match="thermostat_replace"):
        findings_of(case, catalogue())


def test_the_look_after_the_repair_clears_the_stop():
    wet = found("leak_smell_walk", "wet_or_smell")
    dry = normal("leak_smell_walk", after=("fuel_leak_repair",))
    assert stop_of(case_with((wet,)), catalogue()) is not None
    assert stop_of(case_with((wet, dry)), catalogue()) is None


def test_work_that_can_not_change_what_a_look_shows_leaves_it_a_look_again():
    wrong = found("tire_pressure", value=(quantity("17 psi", 117_000.0, "Pa"),) * 4, at_c=20.0)
    right = replace(wrong, value=(quantity("33 psi", 230_000.0, "Pa"),) * 4)
    effects = StraightEffects(slopes())

    def low(*findings):
        case = after_what_bears(case_with(findings), catalogue())
        weighing = weigh(case, effects, catalogue(), rng=np.random.default_rng(3), draws=1024)
        return _there(weighing, "tire_under_inflation")

    unrelated = low(wrong, replace(right, after=REPLACED))
    assert unrelated == low(right)
    assert low(wrong, replace(right, after=("set_tire_pressure", *REPLACED))) > unrelated + 0.3


def test_work_bears_on_every_check_that_confirms_it_or_measures_it_again():
    whole = catalogue()
    for operation in whole.operations:
        for check in {*operation.confirmed_by, *([operation.re_measure] if operation.re_measure else [])}:
            case = case_with((normal(check, after=(operation.id,)),))
            assert after_what_bears(case, whole).findings == case.findings
