"""Accounts are computed one at a time, the newest wish first, and kept over a restart."""

from concurrent.futures import Future

import pytest

from lostgallon.web.accounts import Accounts, Known
from lostgallon.web.kept import Keeper, record_from
from tests.paper import cast


class Slow:
    """A worker whose answers the test gives."""

    def __init__(self):
        self.asked = []

    def __call__(self, case):
        self.asked.append((case, Future()))
        return self.asked[-1][1]

    def answer(self, account=cast.TWO_FAULT, trouble=""):
        self.asked[-1][1].set_result((account, trouble))

    @property
    def cases(self):
        return [case for case, _ in self.asked]


def test_one_at_a_time_and_the_newest_first():
    worker = Slow()
    accounts = Accounts(worker, trouble="broke")
    for visit in ("a", "b", "c"):
        accounts.want(visit, "1", visit)
    assert worker.cases == ["a"]
    worker.answer()
    assert worker.cases == ["a", "c"]
    worker.answer()
    assert worker.cases == ["a", "c", "b"]


def test_an_older_wish_for_a_visit_is_dropped():
    worker = Slow()
    accounts = Accounts(worker, trouble="broke")
    accounts.want("a", "1", "a1")
    for mark in ("2", "3", "4"):
        accounts.want("a", mark, f"a{mark}")
    worker.answer()
    assert worker.cases == ["a1", "a4"]
    assert accounts.known("a").mark == "1"
    worker.answer()
    assert accounts.known("a").mark == "4"


def test_two_at_a_time_are_of_two_visits():
    worker = Slow()
    accounts = Accounts(worker, trouble="broke", lanes=2)
    for visit, mark in (("a", "1"), ("a", "2"), ("b", "1"), ("c", "1")):
        accounts.want(visit, mark, f"{visit}{mark}")
    assert worker.cases == ["a1", "b1"]
    worker.answer()
    assert worker.cases == ["a1", "b1", "c1"]
    worker.asked[0][1].set_result((cast.TWO_FAULT, ""))
    assert worker.cases == ["a1", "b1", "c1", "a2"]


def test_asking_again_does_not_overtake():
    worker = Slow()
    accounts = Accounts(worker, trouble="broke")
    for visit in ("a", "b", "c", "b"):
        accounts.want(visit, "1", visit)
    worker.answer()
    assert worker.cases == ["a", "c"]


def test_the_same_wish_twice_is_one():
    worker = Slow()
    accounts = Accounts(worker, trouble="broke")
    accounts.want("a", "1", "a1")
    accounts.want("a", "1", "a1")
    worker.answer()
    accounts.want("a", "1", "a1")
    assert worker.cases == ["a1"]


def test_a_worker_that_dies_is_said_and_the_next_wish_is_served():
    worker = Slow()
    accounts = Accounts(worker, trouble="broke")
    accounts.want("a", "1", "a1")
    accounts.want("b", "1", "b1")
    worker.asked[-1][1].set_exception(EOFError())
    assert accounts.known("a").trouble == "broke"
    assert worker.cases == ["a1", "b1"]


@pytest.mark.parametrize("name", cast.CAST)
def test_an_account_is_kept_over_a_restart_whole(tmp_path, name):
    keeper = Keeper(tmp_path / "accounts")
    keeper.save("a", Known("7", cast.CAST[name], ""))
    assert keeper.load("a") == Known("7", cast.CAST[name], "")
    worker = Slow()
    accounts = Accounts(worker, trouble="broke", keeper=keeper)
    accounts.want("a", "7", "a")
    assert worker.cases == []
    accounts.want("a", "8", "a")
    assert worker.cases == ["a"]
    assert accounts.known("a").mark == "7"


@pytest.mark.parametrize(
    "text", ["", "{}", "[]", '{"version": "0"}', '{"version": "0.1.0", "mark": "1", "account": {"case": 3}}']
)
def test_a_damaged_file_counts_as_not_there(tmp_path, text):
    (tmp_path / "a.json").write_text(text)
    assert Keeper(tmp_path).load("a") is None


def test_a_full_disk_keeps_nothing_and_breaks_nothing(tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("")
    Keeper(blocked / "accounts").save("a", Known("1", cast.TWO_FAULT, ""))


def test_a_number_of_the_wrong_kind_is_refused():
    with pytest.raises(TypeError):
        record_from(str, 3)
    with pytest.raises(TypeError):
        record_from(tuple[int, ...], 3)


def test_the_page_says_that_it_is_updating(new_shop):
    shop = new_shop()
    worker = Slow()
    shop.desk.accounts._submit = worker
    visit = shop.visit()
    text = shop.get(f"/visit/{visit}").text
    assert "The first account is on its way" in text
    assert "everything is answered" not in text
    assert 'hx-trigger="load delay:800ms"' in text
    worker.answer()
    assert "on its way" not in shop.get(f"/visit/{visit}").text
    shop.post(f"/visit/{visit}/check/oil_check", {"result": "normal"})
    assert "Updating." in shop.get(f"/visit/{visit}").text
    assert shop.get(f"/api/visits/{visit}/account").json()["updating"] is True
