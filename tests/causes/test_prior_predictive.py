"""What the priors predict before anything is asked: the set must be plausible, not only each prior."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.evidence import Evidence
from lostgallon.causes.population import NEW, fresh
from lostgallon.causes.weighing import model_of
from lostgallon.physics.calibration import calibrated
from lostgallon.physics.effects import effects_for
from lostgallon.shop.visit import Case, Visit
from tests.physics.cast import LONG_TRIPS, SUMMER, WAGON, WINTER

AT_LEAST_1_PCT = np.log(1.01)


@pytest.fixture(scope="module")
def prior():
    """Stories of a typical complaint: 150 000 km, trips of 12 km, a third highway, 20 degC then and 5 degC now."""
    vehicle = replace(WAGON, odometer_km=150_000.0)
    use = replace(LONG_TRIPS, trip_km=12.0, highway_share=0.35)
    then, now = replace(SUMMER, ambient_c=20.0), replace(WINTER, ambient_c=5.0)
    members = calibrated(vehicle, 128, rng=np.random.default_rng(1)).members
    effects = effects_for(vehicle, use, then, now, members=members)
    case = Case("complaint", Visit(date(2026, 1, 15)), vehicle, use, then, now)
    model, _ = model_of(case, effects, catalogue(), verdict=None, evidence=Evidence((), ()))
    return model, fresh(model, 20_000, np.random.default_rng(2))


def test_a_complaint_of_20_to_5_degc_predicts_what_complaints_show(prior):
    # Complaints are typically 8 to 20 %; median of 10 to 16 % for a 20 to 5 degC complaint: common practice, no source.
    model, stories = prior
    rng = np.random.default_rng(3)
    wide = rng.random(stories.draws) < 0.15
    remainder = np.where(wide, rng.normal(0.04, 0.05, stories.draws), rng.normal(0.0, 0.025, stories.draws))
    rise_pct = 100.0 * np.expm1(stories.causes_log(model.known) + remainder)
    assert 10.0 <= np.median(rise_pct) <= 16.0
    assert np.quantile(rise_pct, 0.95) <= 40.0


def test_a_complaint_has_two_to_three_new_causes_of_at_least_one_percent(prior):
    # Two to three with season and winter blend counted, which are certain here: common practice, no source.
    model, stories = prior
    faults_and_use = [column.cause is not None for column in model.columns]
    large = (stories.state == NEW) & (stories.effect > AT_LEAST_1_PCT)
    assert 2.0 <= 2.0 + large[faults_and_use].sum(axis=0).mean() <= 3.0
