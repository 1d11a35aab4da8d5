"""What is kept of the physics: the same as worked out fresh, and a broken file is no trouble."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from lostgallon.physics.effects import BENT
from lostgallon.physics.store import calibrated_once, effects_once
from lostgallon.readers.cast import cast


@pytest.fixture(scope="module")
def case():
    return cast("wagon")


def effects(case, folder):
    members = calibrated_once(case.vehicle, 16, seed=1, folder=folder).members
    return effects_once((case.vehicle, case.use, case.then, case.now), members=members, seed=1, folder=folder)


def test_kept_effects_are_the_fresh_ones(case, tmp_path):
    fresh, first, kept = effects(case, None), effects(case, tmp_path), effects(case, tmp_path)
    for found in (first, kept):
        np.testing.assert_array_equal(found.season_log, fresh.season_log)
        assert all((found.curves[name] == fresh.curves[name]).all() for name in BENT)
    assert len(list(tmp_path.iterdir())) == 2


def test_another_winter_is_not_taken_for_this_one(case, tmp_path):
    colder = replace(case, now=replace(case.now, ambient_c=case.now.ambient_c - 10, until=dt.date(2026, 1, 1)))
    assert effects(colder, tmp_path).season_log.mean() > effects(case, tmp_path).season_log.mean()


def test_a_broken_file_is_worked_out_again(case, tmp_path):
    before = effects(case, tmp_path)
    for path in tmp_path.iterdir():
        path.write_bytes(path.read_bytes()[:100])
    np.testing.assert_array_equal(effects(case, tmp_path).season_log, before.season_log)
