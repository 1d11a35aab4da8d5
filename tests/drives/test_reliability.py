"""The small sample of tests/hard/drives.py: faults of the stated sizes are found in made-up logs, and none is made up.

Bars of the long table (200 drives a fault, 0.5 to 10 Hz): detection at least 90 %, false alarms at most 5 %. Eight
drives can't show that; they show that nothing has broken.
"""

import pytest

from drives.reliability import SIZES, WATCHED, one_drive

DRIVES = 8
pytestmark = pytest.mark.slow


@pytest.fixture(scope="module", params=list(SIZES))
def outcomes(request):
    return request.param, [one_drive(request.param, number, seed=1) for number in range(DRIVES)]


def test_the_fault_put_in_is_found_and_no_other_is_claimed(outcomes):
    fault, drives = outcomes
    claims = [cause for one in drives for cause in one.claimed if cause != fault]
    assert len(claims) <= 1, claims
    if fault in WATCHED:
        assert sum(fault in one.claimed for one in drives) >= DRIVES - 2


def test_distance_is_right_within_two_per_cent(outcomes):
    _, drives = outcomes
    assert max(abs(one.distance_error) for one in drives) < 0.02


def test_fuel_lies_inside_its_interval(outcomes):
    _, drives = outcomes
    # 90 % intervals: at most 3 of 8 outside has a chance above 0.995
    assert sum(one.fuel_inside for one in drives) >= DRIVES - 3
