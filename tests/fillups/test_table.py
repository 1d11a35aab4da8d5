"""The small sample of the long table (tests/hard/fillups.py) that CI runs."""

from pathlib import Path

import numpy as np
import pytest

from tests.hard.fillups import calibration, injected, recovery, use_halved, winter_onset

DATA = Path(__file__).parents[3] / "shared" / "data"
needs_data = pytest.mark.skipif(not DATA.is_dir(), reason="the open logs are not on this machine (../shared/data)")


def missed(rows):
    return [row for row in rows if row.met is False]


@pytest.mark.slow
def test_a_small_sample_of_simulated_logs_is_calibrated():
    rows = calibration(500, np.random.default_rng(21), None)
    covered = float(rows[2].figure)
    # 250 logs with a change: three standard errors of .90 are .057
    assert 0.84 <= covered <= 0.957
    assert not missed(rows[:1])


@pytest.mark.slow
def test_use_halved_and_recovery_on_a_few_logs():
    rng = np.random.default_rng(22)
    assert not missed(use_halved(None, 25, 1, rng) + recovery(8, rng))


@pytest.mark.slow
@needs_data
def test_every_twelfth_window_of_the_open_logs():
    assert not missed(injected(DATA, 12) + winter_onset(DATA))
