"""The hand on the solver: small models whose answer is known, and what it does with none."""

import subprocess
import sys

import pytest

from lostgallon.plan.solver import Model


def test_a_small_knapsack_by_hand():
    # Weights 3, 4, 5 in 8; worth 30, 50, 60: 3 + 5 is 90, 4 alone 50, 3 + 4 is 80. Best 90.
    model = Model()
    picks = [model.choice() for _ in range(3)]
    model.between(dict(zip(picks, (3, 4, 5), strict=True)), high=8)
    model.maximize(dict(zip(picks, (30, 50, 60), strict=True)))
    answer = model.solve(effort=1.0)
    assert (answer.values, answer.objective, answer.proven, answer.gap) == ((1, 0, 1), 90.0, True, 0.0)


def test_stretches_that_may_not_overlap_follow_each_other():
    # 4 and 5 units with the second worth ending early: 5 first ends at 5.
    model = Model()
    first, second = model.integer(0, 20), model.integer(0, 20)
    model.apart([model.interval(first, size=4), model.interval(second, size=5)])
    model.maximize({second: -2, first: -1})
    assert model.solve(effort=1.0).values == (5, 0)


def test_two_hands_do_two_things_and_no_third():
    # Three stretches of 4 for two pairs of hands: the last can start at 4 at the earliest.
    model = Model()
    starts = [model.integer(0, 20) for _ in range(3)]
    model.at_most(2, [(model.interval(start, size=4), 1) for start in starts])
    model.maximize(dict.fromkeys(starts, -1))
    assert sorted(model.solve(effort=1.0).values) == [0, 0, 4]


def test_what_can_not_be_has_no_answer():
    model = Model()
    model.between({model.choice(): 1}, low=2, high=3)
    assert model.solve(effort=1.0) is None


def test_a_model_that_is_none_is_refused_in_words():
    model = Model()
    model.maximize({7: 1})
    with pytest.raises(ValueError, match="variable"):
        model.solve(effort=1.0)


def test_importing_the_plan_loads_no_solver():
    # --help and every command without a plan must not wait for it.
    code = "import sys, lostgallon.plan.decide; print('ortools' in sys.modules, 'pandas' in sys.modules)"
    said = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env={"PYTHONPATH": "src"}
    )
    assert said.stdout.split() == ["False", "False"]
