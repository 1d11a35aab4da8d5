"""What a program that stays remembers changes no digit: findings one by one, taken back, figures changed, another file."""

from dataclasses import replace
from pathlib import Path

import pytest

from lostgallon.causes.remembered import Remembered
from lostgallon.job.account import Asked, account_of
from lostgallon.job.memory import MOST_OF_A_KIND, Memory
from lostgallon.readers.case import read_case
from lostgallon.shop.trouble import BadInput
from lostgallon.shop.visit import Finding

DEMO = Path(__file__).parents[2] / "src/lostgallon/data/demo"
DRAWS = 512


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    """An account with a memory, after it was found to be the same without one."""
    folder, memory = tmp_path_factory.mktemp("kept"), Memory()

    def account(case, numbers=None):
        told = {"draws": DRAWS, "folder": folder, "numbers": numbers}
        found = account_of(case, Asked(**told, memory=memory))
        assert found == account_of(case, Asked(**told))
        return found

    return account


def test_findings_one_by_one_and_taken_back(both):
    whole = read_case(DEMO / "two-faults.toml")
    known = [both(replace(whole, findings=whole.findings[:count])) for count in (0, 1, 2, 4, 3, 1, 6, 5)]
    assert known[1] == known[5]
    assert len({len(account.findings) for account in known}) == 7


def test_what_was_told_anew_is_worked_out_anew(both):
    whole = read_case(DEMO / "dragging-crossover.toml")
    first = both(whole)
    dearer = both(replace(whole, now=replace(whole.now, economy_l_per_100km=1.1 * whole.now.economy_l_per_100km)))
    assert dearer.loss.now_l_per_100km.p50 > first.loss.now_l_per_100km.p50
    warmer = both(replace(whole, now=replace(whole.now, ambient_c=whole.now.ambient_c + 10.0)))
    assert warmer.loss != first.loss
    normal = replace(whole, findings=(Finding("oil_check", "normal"), *whole.findings))
    assert both(normal).entries != first.entries


def test_a_log_or_own_numbers_written_anew_are_read_anew(both, tmp_path):
    whole = read_case(DEMO / "two-faults.toml")
    log, own = tmp_path / "fills.csv", tmp_path / "numbers.yaml"
    lines = whole.evidence.fill_ups.read_text("utf-8").splitlines(keepends=True)
    accounts = []
    for kept, prior in ((lines, 0.02), (lines[:-6], 0.2)):
        log.write_text("".join(kept), "utf-8")
        own.write_text(f"causes:\n  dragging_brake:\n    prior_new: {{km_80k_to_200k: {prior}, source: measured}}\n")
        case = replace(whole, evidence=replace(whole.evidence, fill_ups=log), findings=whole.findings[:1])
        accounts.append(both(case, own))
    assert accounts[0].loss != accounts[1].loss
    log.unlink()
    with pytest.raises(BadInput, match=r"fills\.csv"):
        both(case, own)


def test_old_answers_make_room():
    memory = Memory()
    for number in range(MOST_OF_A_KIND + 5):
        memory.once("n", number, lambda number=number: number)
    made = []
    assert memory.once("n", MOST_OF_A_KIND, lambda: made.append(1)) == MOST_OF_A_KIND
    assert memory.once("n", 0, lambda: made.append(1)) is None
    assert made == [1]
    states = Remembered(most=2)
    for name in "abc":
        states.keep(name, name, rests_on=None)
    assert [states.find(name) for name in "abc"] == [None, "b", "c"]
