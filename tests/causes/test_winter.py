"""A published winter loss goes through the account without a fault: US DOE Fact 818 (21 April 2014)."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.facts import facts_of, prior_here
from lostgallon.causes.weighing import weigh
from lostgallon.physics.calibration import calibrated
from lostgallon.physics.effects import effects_for
from lostgallon.shop.visit import Case, Visit
from tests.physics.cast import SHORT_TRIPS, SUMMER, WAGON, WINTER

CAT = catalogue()
# Trips of 3 to 4 miles, 77 degF and 20 degF; ordinary city driving, about 12 km.
PUBLISHED = [(5.633, 0.78), (12.0, 0.88)]


@pytest.mark.parametrize(("trip_km", "mpg_factor"), PUBLISHED)
def test_a_published_winter_loss_is_season_and_blames_no_fault(trip_km, mpg_factor):
    vehicle = replace(WAGON, odometer_km=120_000.0)
    use = replace(SHORT_TRIPS, trip_km=trip_km, highway_share=0.0, warm_up_idle_s=0.0)
    then = replace(SUMMER, basis="fill-ups", ambient_c=25.0, economy_l_per_100km=11.0)
    now = replace(WINTER, basis="fill-ups", ambient_c=-6.67, fuel_blend="summer", economy_l_per_100km=11.0 / mpg_factor)
    members = calibrated(vehicle, 64, rng=np.random.default_rng(1)).members
    effects = effects_for(vehicle, use, then, now, members=members)
    case = Case("published winter", Visit(date(2026, 1, 15)), vehicle, use, then, now)
    weighing = weigh(case, effects, CAT, rng=np.random.default_rng(2), draws=4096)
    rise = (weighing.now_l_per_100km - weighing.then_l_per_100km).mean()
    season = weighing.entries_l_per_100km[:, weighing.index("ambient_cold")].mean()
    assert season > 0.75 * rise
    facts = facts_of(case)
    for n, cause in enumerate(weighing.causes):
        if cause.fault:
            prior = prior_here(cause, facts, odds_scale=CAT.number["prior_odds_scale"])
            # A quarter above is the width of the physics' season, not a verdict; no fault is believed for the winter.
            assert weighing.presence[n] <= 1.25 * prior.new + 0.005, cause.id
