"""Readings and gauges as likelihoods: by hand and against scipy."""

import numpy as np
import pytest
from scipy import stats

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.columns import expected
from lostgallon.causes.factors import GaugeRow, Row
from lostgallon.causes.weighing import weigh
from lostgallon.shop.units import PA_PER_PSI
from lostgallon.shop.visit import Finding
from tests.causes.worlds import StraightEffects, case_with, found, normal, quantity, typical_slopes

CAT = catalogue()
EFFECTS = StraightEffects(typical_slopes())


def _chance(findings, cause, **case):
    weighing = weigh(case_with(findings, **case), EFFECTS, CAT, rng=np.random.default_rng(1), draws=4096)
    n = weighing.index(cause)
    return weighing.presence[n] + weighing.already_there[n]


def _size(findings, cause, **case):
    weighing = weigh(case_with(findings, **case), EFFECTS, CAT, rng=np.random.default_rng(1), draws=4096)
    j = [column.id for column in weighing.inside.model.columns].index(cause)
    stories = weighing.inside.stories
    return stories.amount[j][stories.state[j] > 0]


def test_a_reading_by_hand():
    # False alarm 0.1, detection 0.8: noisy-or gives 0.9 and 0.2 for staying normal, 0.1 and 0.8 for reading so.
    added = np.log((1 - 0.8) / (1 - 0.1))
    one = np.ones(1)
    for positive, absent, present in ((False, 0.9, 0.2), (True, 0.1, 0.8)):
        row = Row(np.log(0.9), added * one, added * one, 0.0 * one, positive)
        assert np.exp(row.log_likelihood(np.array([0.0, added]), 0.0)) == pytest.approx([absent, present])


def test_two_causes_of_one_reading_by_hand():
    # 1 - 0.9 (0.2/0.9) (0.5/0.9) with detections 0.8 and 0.5.
    miss = np.log(0.2 / 0.9) + np.log(0.5 / 0.9)
    row = Row(np.log(0.9), np.zeros(1), np.zeros(1), np.zeros(1), positive=True)
    assert np.exp(row.log_likelihood(np.array([miss]), 0.0)) == pytest.approx(1 - 0.9 * (0.2 / 0.9) * (0.5 / 0.9))


def test_a_mask_takes_the_meaning_of_a_reading():
    row = Row(np.log(0.9), np.zeros(1), np.zeros(1), np.zeros(1), positive=False)
    plain, masked = (row.log_likelihood(np.array([-1.5]), mask)[0] for mask in (0.0, np.log(0.1)))
    assert np.exp(masked) == pytest.approx(0.9 * np.exp(-0.15))
    assert plain < masked


@pytest.mark.parametrize("check", [check.id for check in CAT.checks if check.gauge])
def test_a_gauge_is_a_normal_with_some_wrong_readings(check):
    gauge = CAT.check[check].gauge
    amount = np.array([0.0, CAT.cause[gauge.sees[0]].severity.p50])
    value = gauge.normal + 0.7 * gauge.factor * amount[1] ** gauge.power
    row = GaugeRow(gauge, value, (0,), None, broad=5.0 * gauge.gauge_sd)
    for spoiled, share in ((0.0, 0.015), (1.0, 0.5)):
        found_log = row.log_likelihood(amount, np.full(2, spoiled))
        deviation = gauge.factor * amount**gauge.power
        sd = np.hypot(gauge.gauge_sd, gauge.relative_sd * deviation)
        right = stats.norm.pdf(value, gauge.normal + deviation, sd)
        wrong = stats.norm.pdf(value, gauge.normal, 5.0 * gauge.gauge_sd)
        assert np.exp(found_log) == pytest.approx((1 - share) * right + share * wrong, rel=1e-9)


def test_a_measured_shortfall_sizes_the_cause():
    # Conjugate by hand, nearly: a gauge of 1 psi on 8 psi low leaves about 1 psi of width around 8 psi.
    low = tuple(quantity("25 psi", 230_000.0 - 8.0 * PA_PER_PSI, "Pa") for _ in range(4))
    amounts = _size([Finding("tire_pressure", value=low, at_c=20.0)], "tire_under_inflation") / PA_PER_PSI
    assert amounts.mean() == pytest.approx(8.0, abs=0.7)
    assert amounts.std() < 1.6


def test_a_gauge_at_normal_rules_out_the_severe_form_first():
    free = tuple(quantity("9 N", 9.0, "N") for _ in range(4))
    before, after = (_size(f, "dragging_brake", rise=0.1) for f in ([], [Finding("drag_scale", value=free)]))
    assert np.quantile(after, 0.95) < 0.5 * np.quantile(before, 0.95)


def test_no_reading_of_the_catalogue_makes_a_cause_less_likely_by_being_there():
    for check in CAT.checks:
        for reading in check.readings:
            for _, ends in reading.finds:
                assert expected(ends) > expected(reading.false_alarm)


@pytest.mark.parametrize(
    ("check", "cause"),
    [("wheel_spin", "dragging_brake"), ("smoke", "vacuum_leak"), ("plug_read", "worn_spark_plugs")],
)
def test_found_raises_and_normal_lowers(check, cause):
    before = _chance([], cause)
    assert _chance([found(check)], cause) > before > _chance([normal(check)], cause)


def test_one_explanation_takes_the_other_away():
    lean = found("trims_three", "lean_idle_ok_cruise")
    alone = _chance([lean], "purge_valve_stuck_open")
    explained = _chance([lean, found("smoke", "intake_leak")], "purge_valve_stuck_open")
    assert explained < 0.7 * alone
