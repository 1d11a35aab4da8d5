"""The compiled loops: the same answer as NumPy, kept in a folder, in use only when asked."""

import subprocess
import sys
from dataclasses import astuple

import numpy as np
import pytest

from lostgallon.fillups import compiled
from lostgallon.fillups.machine import MACHINE
from lostgallon.fillups.mixtures import mixture_quantiles
from lostgallon.fillups.posterior import weigh
from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fillups.tanks import stack
from tests.hard.simulated import draw


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("machine code")


@pytest.fixture
def in_use(folder):
    yield lambda: compiled.bring_into_use(folder)
    compiled.back_to_numpy()


def answers(logs):
    found = weigh(stack(logs), SeasonPrior())
    points = mixture_quantiles(*(each.reshape(len(logs), -1) for each in (found.weight, found.own_mean, found.own_sd)))
    return [*astuple(found)[1:], points]


def test_machine_code_and_numpy_give_the_same_answer(in_use):
    rng = np.random.default_rng(15)
    batches = [[draw(rng, int(count))[0] for count in rng.integers(5, 90, 6)] for _ in range(3)]
    batches.append([draw(rng, 300)[0]])
    slow = [answers(logs) for logs in batches]
    in_use()
    for before, after in zip(slow, (answers(logs) for logs in batches), strict=True):
        for one, other in zip(before, after, strict=True):
            assert other == pytest.approx(one, rel=1e-9, abs=1e-11)


def test_importing_the_model_imports_no_compiler_and_no_large_library():
    code = (
        "import sys, lostgallon.fillups.compiled, lostgallon.fillups.verdict;"
        "sys.exit(bool({'numba', 'scipy'} & sys.modules.keys()))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False, env={"PYTHONPATH": "src"}).returncode == 0


def test_in_the_background_it_is_taken_into_use_when_it_is_there(in_use, folder):
    in_use()
    compiled.back_to_numpy()
    compiled.start_compiling(folder).join(timeout=60.0)
    assert MACHINE.loops is not None
    assert list(folder.rglob("*.nbi"))
