"""The compiled loop: the same digits as NumPy, kept in a folder, in use only when asked."""

import subprocess
import sys

import numpy as np
import pytest

from lostgallon.physics import compiled
from lostgallon.physics.lanes import Lanes, joined
from lostgallon.physics.schedules import schedule, standing
from lostgallon.physics.setting import Surroundings, lanes_for
from lostgallon.physics.trip import Leg, drive
from lostgallon.physics.vehicle import prior_members
from lostgallon.physics.warm_up import cold_soaked
from tests.physics.cast import WAGON

AMOUNTS = {"coolant_drop_k": 25.0, "cold_reading": 0.5, "cruise_speed_m_s": 3.0, "headwind_m_s": 4.0, "grade": 0.01}


@pytest.fixture(scope="module")
def function(tmp_path_factory):
    return compiled.compiled_leg(tmp_path_factory.mktemp("machine code"))


@pytest.fixture
def in_use(function):
    yield lambda threads: compiled.use(function, threads=threads)
    compiled.back_to_numpy()


def _lanes() -> Lanes:
    members = prior_members(WAGON, 300, rng=np.random.default_rng(7))
    return joined([lanes_for(members, Surroundings(-5.0), {}), lanes_for(members, Surroundings(-5.0), AMOUNTS)])


@pytest.mark.parametrize("threads", [1, 2])
def test_both_loops_give_the_same_digits(in_use, threads):
    lanes = _lanes()
    scale = np.random.default_rng(8).uniform(0.2, 1.6, lanes.count)
    legs = [Leg(standing(120.0), scale), Leg(schedule("city"), scale), Leg(schedule("highway"))]
    slow = drive(lanes, legs, cold_soaked(lanes))
    in_use(threads)
    fast = drive(lanes, legs, cold_soaked(lanes))
    assert np.array_equal(slow.fuel_j, fast.fuel_j)
    assert np.array_equal(slow.distance_m, fast.distance_m)
    assert np.array_equal(slow.temperatures.engine_c, fast.temperatures.engine_c)


def test_importing_the_physics_imports_no_compiler():
    code = "import sys, lostgallon.physics.compiled, lostgallon.physics.effects; sys.exit('numba' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False, env={"PYTHONPATH": "src"}).returncode == 0


def test_machine_code_is_made_in_the_background_and_kept(tmp_path):
    compiled.start_compiling(tmp_path / "kept").join(timeout=60.0)
    try:
        assert compiled.MACHINE.drive is not None
        assert list((tmp_path / "kept").rglob("*.nbi"))
    finally:
        compiled.back_to_numpy()
