"""A small sample of the blind visits (the long tables: python -m tests.hard.account)."""

import numpy as np
import pytest

from tests.hard import account, blind_visits
from tests.hard.blind_page import page

VISITS = 3


@pytest.fixture(scope="module")
def results():
    account.MADE[False] = blind_visits.owners(count=2, members=24)
    yield [account.one_visit((number, 512, False, ("value",))) for number in range(VISITS)]
    account.MADE.clear()


@pytest.mark.slow
def test_a_visit_is_the_same_every_time(results):
    again = account.one_visit((0, 512, False, ("value",)))
    assert again == results[0]


@pytest.mark.slow
def test_tables_hold_what_the_bars_ask_for(results):
    told = account.tables(results)["value"]
    assert 0.0 <= told["calibration"]["expected calibration error"] < 0.1
    assert set(told["coverage"]) == {"real rise", "remainder", "entries in play", "fault total"}
    assert told["minutes"] <= 60.0
    # Three visits can't tell 0.90 from 0.80; half would be a broken interval.
    assert np.mean([told["coverage"][key] for key in told["coverage"]]) > 0.6


@pytest.mark.slow
def test_the_page_holds_every_row_with_its_bar(results):
    said = page({"visits": account.tables(results)})
    assert "| 90 % interval: remainder | " in said
    assert said.count(".87-.95") == 4
    assert "Presence said and was" in said or results[0]["largest"] == 0.0
