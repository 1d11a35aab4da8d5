"""Three drives recorded by a stranger's logger: right distance, no invented fault, unsupported values seen as such.

They are data of a neighboring folder (../shared/data), not part of the product; without them these tests are skipped.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from lostgallon.drives.vehicle import Subject
from lostgallon.drives.verdict import drive_verdict
from lostgallon.readers.drives import read_drive

DATA = Path(__file__).parents[3] / "shared" / "data"
HERE = [path for path in (DATA, Path(__file__).parents[4] / "shared" / "data") if path.is_dir()]
pytestmark = pytest.mark.skipif(not HERE, reason="the recorded drives are not here")
NAMES = ("drive-short-cold", "drive-town", "drive-idle")
SUBJECT = Subject(displacement_l=1.496)


def _path(name):
    return HERE[0] / f"{name}.csv"


@pytest.fixture(scope="module", params=NAMES)
def recorded(request):
    log = read_drive(_path(request.param))
    return request.param, log, drive_verdict(log, SUBJECT)


def _by_hand(path):
    """Distance by the run-time clock with the csv module alone: mean speed of each distinct second times its length."""
    with path.open() as file:
        rows = [row for row in csv.reader(file) if len(row) > 20][1:]
    stamps, speeds = {}, []
    for row in rows:
        stamps.setdefault(float(row[0]), []).append(float(row[2]))
    times = sorted(stamps)
    speeds = [np.mean(stamps[time]) / 3.6 for time in times]
    return sum(0.5 * (a + b) * (t1 - t0) for a, b, t0, t1 in zip(speeds, speeds[1:], times, times[1:], strict=False))


def test_distance_is_by_the_clock_and_not_by_rows(recorded):
    name, log, verdict = recorded
    assert verdict.distance_km * 1000.0 == pytest.approx(_by_hand(_path(name)), rel=0.02, abs=1.0)
    # about two rows a second: a row count would double the time
    assert log.rows > 1.7 * verdict.duration_s


def test_the_clock_is_the_run_time_although_its_heading_is_misspelled(recorded):
    _, log, verdict = recorded
    assert log.columns[0].heading == "ENGINE_RUN_TINE ()"
    assert "tine" in log.columns[0].why
    assert 580.0 < verdict.duration_s < 630.0


def test_no_thermostat_fault_is_claimed(recorded):
    _, _, verdict = recorded
    ratios = [one.likelihood_ratio for one in verdict.pattern if one.cause == "thermostat_stuck_open"]
    assert all(ratio < 1.0 for ratio in ratios)


def test_values_logged_as_zero_are_not_readings(recorded):
    _, log, _ = recorded
    assert "equivalence_commanded" not in log.channels
    assert any("EQUIV" in sentence for sentence in log.unsupported)


def test_the_counter_at_255_gives_no_trip_length(recorded):
    _, _, verdict = recorded
    assert verdict.kept.km_per_warm_up is None
    assert any("255" in one.missing for one in verdict.not_enough)


def test_the_cut_last_line_is_named():
    log = read_drive(_path("drive-idle"))
    assert [(one.line, one.why[:9]) for one in log.rejected] == [(1214, "cut short")]


def test_fuel_of_the_town_drive_is_that_of_a_small_car():
    # 1.5 L, warm town traffic: 5 to 9 L/100 km is what such cars use (common practice, no source)
    verdict = drive_verdict(read_drive(_path("drive-town")), SUBJECT)
    assert 5.0 < verdict.l_per_100km.p50 < 9.0
    assert verdict.l_per_100km.p05 < verdict.l_per_100km.p50 < verdict.l_per_100km.p95


def test_without_displacement_fuel_is_not_guessed():
    verdict = drive_verdict(read_drive(_path("drive-town")), Subject())
    assert verdict.fuel_l is None
    assert any(one.name == "fuel_used" and "displacement" in one.missing for one in verdict.not_enough)
