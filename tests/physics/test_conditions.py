"""The list of conditions: known by id, with limits that are said when they are passed."""

import pytest

from lostgallon.physics.conditions import CONDITIONS, condition_named, require_credible
from lostgallon.shop.trouble import BadInput, OutOfRange


def test_every_condition_says_what_it_means_and_is_probed_inside_its_limits():
    for condition in CONDITIONS:
        assert condition.meaning
        assert condition.unit
        assert condition.low <= 0.0 < condition.probes[0] < condition.probes[1] <= condition.high


def test_an_unknown_condition_is_answered_with_the_nearest():
    with pytest.raises(BadInput, match="did you mean misfire_share"):
        condition_named("misfire_shar")


def test_an_incredible_amount_is_refused_with_the_limits():
    with pytest.raises(OutOfRange, match="0 to 60 K"):
        require_credible("coolant_drop_k", 80.0)
