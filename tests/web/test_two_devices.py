"""A phone in the bay and a PC at the counter on the same visits: what stands is what the account was asked for."""

import datetime as dt
import random
from concurrent.futures import ThreadPoolExecutor

import pytest

from lostgallon.store import case_of
from tests.web.shop import NOW, at_once

WORK = "thermostat_replace"
CHECKS = ("oil_check", "coolant_level", "air_filter_look", "wheel_spin")


@pytest.fixture
def watched(shop):
    """The shop, and the last case that an account was wanted for, by visit."""
    wanted, visit_of, want = {}, {}, shop.desk.accounts.want

    def noted(visit_id, mark, case):
        visit_of[id(case)] = visit_id
        want(visit_id, mark, case)

    def submit(case):
        wanted[visit_of[id(case)]] = case
        return at_once(shop.account)(case)

    shop.desk.accounts.want, shop.desk.accounts._submit = noted, submit
    return shop, wanted


def entered(shop, visit, chance, number):
    """One thing that somebody does on one of the devices."""
    check = chance.choice(CHECKS)
    standing = [
        found
        for key, found in shop.desk.sheet(visit).standing.items()
        if key.startswith(("finding.", "done.", "state."))
    ]
    ways = [
        lambda: shop.post(f"/visit/{visit}/check/{check}", {"result": chance.choice(("normal", "found", "skipped"))}, key=f"{number}"),
        lambda: shop.post(f"/visit/{visit}/states", {"open": chance.choice(("lifted", "hood_open", "battery_off"))}, key=f"{number}"),
        lambda: shop.post(f"/visit/{visit}/figures", {"now.economy": chance.choice(("24 mpg", "22 mpg"))}, key=f"{number}"),
        lambda: shop.post(f"/visit/{visit}/correction/{WORK}/consent", {"answer": chance.choice(("yes", "no")), "name": "R."}, key=f"{number}"),
        lambda: shop.post(f"/visit/{visit}/correction/{WORK}/done", key=f"{number}"),
    ]  # fmt: skip
    if standing:
        ways.append(lambda: shop.post(f"/visit/{visit}/undo/{chance.choice(standing).id}"))
    return chance.choice(ways)()


@pytest.mark.parametrize("seed", range(3))
def test_the_newest_account_is_of_everything_that_stands(watched, seed):
    shop, wanted = watched
    visits = [shop.visit(mark="a"), shop.visit(mark="b")]
    with ThreadPoolExecutor(2) as devices:
        for number in range(12):
            jobs = [
                devices.submit(entered, shop, visit, random.Random(f"{seed} {number} {visit_number} {device}"), f"{number}{device}")
                for visit_number, visit in enumerate(visits) for device in "pc"
            ]  # fmt: skip
            assert all(job.result().status_code in {200, 303, 404, 409, 422} for job in jobs)
            for visit in visits:
                sheet = shop.desk.sheet(visit)
                case = case_of(shop.desk.store.history(visit), name=sheet.case.name, now=NOW)
                assert sheet.fresh
                assert sheet.case == wanted[visit] == case


def test_a_plan_is_made_anew_when_the_clock_has_run_on_though_nothing_was_entered(watched):
    shop, wanted = watched
    visit = shop.visit()
    shop.desk.sheet(visit)
    first = wanted[visit].visit.now
    shop.now = NOW + dt.timedelta(minutes=4)
    shop.desk.sheet(visit)
    assert wanted[visit].visit.now == first == NOW
    shop.now = NOW + dt.timedelta(minutes=40)
    assert shop.desk.sheet(visit).fresh
    assert wanted[visit].visit.now == shop.now
