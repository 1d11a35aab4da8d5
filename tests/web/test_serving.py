"""How the pages are served: this machine alone unless a code is set; the invented shop of the demo."""

import datetime as dt
import re
from concurrent.futures import Future
from dataclasses import replace

import pytest
from click.testing import CliRunner

from lostgallon.cli.serve import command as serve
from lostgallon.shop.trouble import BadArgument
from lostgallon.shop.visit import Case
from lostgallon.store import open_store
from lostgallon.web.demo import Clock, Writer, told_visits
from lostgallon.web.person import Person
from lostgallon.web.say import Say
from lostgallon.web.serving import bind, check_code
from lostgallon.web.words import page_words
from tests.paper import cast


def test_without_lan_no_code_is_asked_for():
    assert check_code(None, lan=False) is None
    assert check_code("a code of the shop", lan=False) is None


@pytest.mark.parametrize("code", [None, "", "short"])
def test_the_network_is_not_served_without_a_code(code):
    with pytest.raises(BadArgument, match=r"--lan: found .*expected LOSTGALLON_ACCESS_CODE"):
        check_code(code, lan=True)


def test_the_command_refuses_lan_without_a_code(tmp_path):
    answer = CliRunner(env={"LOSTGALLON_ACCESS_CODE": ""}).invoke(serve, ["--lan", "--data", str(tmp_path / "shop")])
    assert isinstance(answer.exception, BadArgument)
    assert not (tmp_path / "shop").exists()


def test_a_taken_port_is_said_in_one_line():
    with bind("127.0.0.1", 0) as taken, pytest.raises(BadArgument, match="--port"):
        bind("127.0.0.1", taken.getsockname()[1])
    with pytest.raises(BadArgument, match="--port"):
        bind("127.0.0.1", 99_999)


def test_it_listens_on_this_machine_alone():
    with bind("127.0.0.1", 0) as bound:
        assert bound.getsockname()[0] == "127.0.0.1"


def test_the_demo_has_eight_visits_in_all_stages(new_shop):
    shop = new_shop()
    past = Clock(lambda: shop.now)

    def submit(_case: Case) -> "Future[tuple[object, str]]":
        done: Future[tuple[object, str]] = Future()
        done.set_result((cast.TWO_FAULT, ""))
        return done

    writer_desk = replace(shop.desk, store=open_store(shop.folder, clock=past.aware), clock=past)
    writer = Writer(writer_desk, past, Say(page_words("en"), Person()), submit)
    first = writer.first()
    assert "Since December it drinks" in shop.get(f"/visit/{first}").text
    writer.rest()
    writer_desk.store.close()
    visits = shop.desk.store.visits()
    assert len(visits) == len(told_visits()) == 8
    assert {visit.stage for visit in visits} == {"in the bay", "handed back", "proof", "closed"}
    assert visits[0].id == first
    assert all(visit.opened_at <= shop.now.astimezone() for visit in visits)
    for visit in visits:
        sheet = shop.desk.sheet(visit.id)
        assert sheet.lacking == (), visit.vehicle
        assert shop.get(f"/visit/{visit.id}").status_code == 200
    links = set(re.findall(r'href="(/[^"#]*)"', shop.get("/").text))
    assert len(links) >= 8
    for link in links:
        assert shop.get(link).status_code == 200, link


def test_the_demos_past_lies_in_the_past(new_shop):
    shop = new_shop()
    clock = Clock(lambda: shop.now, back=dt.timedelta(minutes=30))
    assert clock() == shop.now - dt.timedelta(minutes=30)
    assert clock.aware().tzinfo is not None
