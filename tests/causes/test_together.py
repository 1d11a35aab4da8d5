"""What conditions make together beyond the sum of each: against a known product, and against the physics itself."""

from dataclasses import dataclass

import numpy as np
import pytest

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.population import ABSENT, NEW, OLD
from lostgallon.causes.together import added_log
from lostgallon.causes.weighing import weigh
from lostgallon.physics.calibration import calibrated
from lostgallon.physics.effects import effects_for
from lostgallon.readers.cast import cast
from tests.causes.worlds import StraightEffects, case_with, found, part_of_catalogue, typical_slopes

CAUSES = ("dragging_brake", "new_tires", "aero_load", "cargo_trailer")
FINDINGS = (found("ask_tires_when", "tires_changed"), found("wheel_spin", "one_wheel_stiff"))


@dataclass(frozen=True)
class Multiplied(StraightEffects):
    """Single effects in proportion; every two conditions make `factor` times their product beyond the sum."""

    factor: float = -1.0

    def total_log(self, amounts, member):
        logs = [self.log_effect(name, amount, member) for name, amount in amounts.items()]
        total, square = sum(logs), sum(log**2 for log in logs)
        return total + self.factor * (total**2 - square) / 2.0


def _weighed(factor):
    effects = Multiplied(typical_slopes(), factor=factor)
    case = case_with(FINDINGS, rise=0.2, basis="fill-ups")
    whole = part_of_catalogue(CAUSES, fixed=False)
    return weigh(case, effects, whole, rng=np.random.default_rng(4), draws=2048)


def test_effects_that_only_add_gain_nothing():
    weighing = _weighed(0.0)
    stories = weighing.inside.stories
    assert np.abs(added_log(stories, weighing.inside.rerun)).max() < 1e-12


def test_a_product_is_found_again_and_shared_in_proportion():
    weighing = _weighed(-1.0)
    stories = weighing.inside.stories
    added = added_log(stories, weighing.inside.rerun)
    names = [column.id for column in weighing.inside.model.columns]
    brake, tires = names.index("dragging_brake"), names.index("new_tires")
    only = stories.state == NEW
    alone = only[brake] & only[tires] & (only.sum(axis=0) == 2) & ((stories.state > 0).sum(axis=0) == 2)
    product = -stories.effect[brake, alone] * stories.effect[tires, alone]
    assert alone.sum() > 20
    # The ridge takes about a per cent off; shares are by single effects, by hand.
    assert added[brake, alone] + added[tires, alone] == pytest.approx(product, rel=0.03)
    share = stories.effect[brake, alone] / (stories.effect[brake, alone] + stories.effect[tires, alone])
    assert added[brake, alone] == pytest.approx(share * product, rel=0.03)


def test_it_still_adds_up_in_every_story():
    weighing = _weighed(-1.0)
    change = weighing.now_l_per_100km - weighing.then_l_per_100km
    total = weighing.entries_l_per_100km.sum(axis=1) + weighing.remainder_l_per_100km
    assert np.abs(total - change).max() < 1e-9


@pytest.mark.parametrize("name", ["gray hatch", "pickup"])
def test_pairs_bring_the_sum_nearer_to_the_physics_with_everything_together(name):
    case = cast(name)
    members = calibrated(case.vehicle, 32, rng=np.random.default_rng(1)).members
    effects = effects_for(case.vehicle, case.use, case.then, case.now, members=members)
    weighing = weigh(case, effects, catalogue(), rng=np.random.default_rng(1), draws=1024)
    stories = weighing.inside.stories
    beyond = _total(effects, weighing, stories.state > ABSENT) - _total(effects, weighing, stories.state == OLD)
    beyond = beyond - ((stories.state == NEW) * stories.effect).sum(axis=0)
    left = beyond - added_log(stories, weighing.inside.rerun).sum(axis=0)
    assert np.mean(np.abs(left)) < 0.75 * np.mean(np.abs(beyond))
    assert abs(left.mean()) < 0.001  # a tenth of a per cent of fuel


def _total(effects, weighing, there):
    """A run of the physics with everything that is there, story by story."""
    stories, amounts = weighing.inside.stories, {}
    for j, column in enumerate(weighing.inside.model.columns):
        if column.cause is not None and column.cause.condition is not None:
            name = column.cause.condition
            amounts[name] = amounts.get(name, 0.0) + np.where(there[j], stories.amount[j], 0.0)
    return effects.total_log(amounts, stories.member)
