"""Four checks of the same dragging wheel add no more belief than the thing they look at allows."""

import math
from dataclasses import replace

import numpy as np

from lostgallon.causes.facts import facts_of, prior_here
from lostgallon.causes.weighing import weigh
from tests.causes.test_exact_enumeration import EffectByCause
from tests.causes.worlds import case_with, counted_out, expert_mean, found, part_of_catalogue

LOOKS = (
    ("wheel_end_temps", "disc_hotter"),
    ("wheel_spin", "one_wheel_stiff"),
    ("parking_brake", "lever_off_its_stop"),
    ("coast_down", "short"),
)
CAUSES = ("dragging_brake", "wheel_bearing", "misalignment", "short_trips")


def _world(looks):
    whole = part_of_catalogue(CAUSES, look_alikes=True)
    whole = replace(whole, look_alikes=tuple(look for look in whole.look_alikes if look.id == "drag"))
    case = case_with([found(*look) for look in looks], rise=0.05)
    effects = {cause.id: math.log1p(max(cause.effect_pct.typical, 0.3) / 100.0) for cause in whole.causes}
    return whole, case, effects


def _chance(looks):
    whole, case, effects = _world(looks)
    weighing = weigh(case, EffectByCause(whole, effects), whole, rng=np.random.default_rng(5), draws=8192)
    n = weighing.index("dragging_brake")
    return weighing.presence[n] + weighing.already_there[n]


def _bound(looks):
    """Odds by hand: a drag against its look-alike alone, each check at its own rates; nothing else can read so."""
    whole, case, _ = _world(looks)
    (look,) = whole.look_alikes
    prior = prior_here(whole.cause["dragging_brake"], facts_of(case), odds_scale=whole.number["prior_odds_scale"])
    odds = (prior.new + prior.old) / look.prior / (1.0 - prior.new - prior.old)
    for check, reading in looks:
        entry = next(r for r in whole.check[check].readings if r.id == reading)
        alarm, detect = expert_mean(entry.false_alarm), expert_mean(dict(entry.finds)["dragging_brake"])
        odds *= detect / max(look.detect, alarm)
    return odds


def test_many_looks_stay_within_what_the_look_alike_leaves():
    for count in range(1, 5):
        chance = _chance(LOOKS[:count])
        # The rise itself speaks a little for a drag (5 % stated, prior effect near it): a factor of two is allowed.
        assert chance / (1.0 - chance) <= 2.0 * _bound(LOOKS[:count])


def test_four_looks_agree_with_counting_every_story():
    whole, case, effects = _world(LOOKS)
    scale = whole.number["prior_odds_scale"]
    priors = {}
    for cause in whole.causes:
        here = prior_here(cause, facts_of(case), odds_scale=scale)
        priors[cause.id] = (here.new, here.old)
    looks = {look.id: (look.prior, look.detect) for look in whole.look_alikes}
    exact = counted_out(whole, priors, effects, case, looks)
    weighing = weigh(case, EffectByCause(whole, effects), whole, rng=np.random.default_rng(5), draws=8192)
    for n, cause in enumerate(whole.causes):
        assert abs(weighing.presence[n] - exact[cause.id]) <= 0.015


def test_a_second_look_adds_less_than_the_first():
    first, fourth = _chance(LOOKS[:1]), _chance(LOOKS)
    assert first < fourth < 0.999
