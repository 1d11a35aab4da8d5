"""Every page opens, is whole, and says what its records say."""

import re
from dataclasses import replace
from importlib import resources

import pytest

from lostgallon.job.bench import cards
from lostgallon.paper.look import colors
from tests.paper import cast
from tests.paper.test_drive_svg import DRIVE

PAGES = (
    "/", "/start", "/choices", "/reading", "/guide", "/visit/V", "/visit/V/figures", "/visit/V/states",
    "/visit/V/history", "/visit/V/checks", "/visit/V/hand-back", "/visit/V/proof", "/visit/V/port",
    "/visit/V/correction/thermostat_replace",
)  # fmt: skip


@pytest.mark.parametrize("path", PAGES)
def test_page_opens(shop, visit, path):
    answer = shop.get(path.replace("V", visit))
    assert answer.status_code == 200
    assert "<h1" in answer.text
    assert 'lang="en"' in answer.text


@pytest.mark.parametrize("path", PAGES)
def test_page_carries_no_inline_script_or_style(shop, visit, path):
    text = shop.get(path.replace("V", visit)).text
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", text)
    assert not re.search(r"<script(?![^>]*\ssrc=)", text)


def test_every_check_of_the_catalogue_can_be_opened(shop, visit):
    for check in cards().checks:
        assert shop.get(f"/visit/{visit}/check/{check}").status_code == 200, check


@pytest.mark.parametrize("name", cast.CAST)
def test_every_kind_of_account_makes_a_page(new_shop, name):
    shop = new_shop(account=cast.CAST[name])
    answer = shop.get(f"/visit/{shop.visit()}")
    assert answer.status_code == 200
    assert "Not accounted for" in answer.text


def test_sections_stand_in_the_order_of_the_work(shop, visit):
    text = shop.get(f"/visit/{visit}").text
    found = re.findall(r'<section id="(\w+)"', text)
    assert found == ["concern", "real", "explains", "checks", "findings", "corrections", "time", "handback", "proof"]


def test_the_owners_words_are_escaped(new_shop):
    from tests.web.shop import HATCH  # noqa: PLC0415

    shop = new_shop()
    visit = shop.visit({**HATCH, "owner.words": "<script>alert(1)</script>"})
    text = shop.get(f"/visit/{visit}").text
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in text


def test_missing_visit_check_and_correction_are_said_on_a_page(shop, visit):
    for path in (
        "/visit/none",
        f"/visit/{visit}/check/none",
        f"/visit/{visit}/correction/none",
        f"/visit/{visit}/wait/9",
    ):
        answer = shop.get(path)
        assert answer.status_code == 404, path
        assert "nothing at this address" in answer.text


def test_wrong_method_is_said_on_a_page(shop, visit):
    for path in (f"/visit/{visit}/states", f"/visit/{visit}/undo/{visit}.1"):
        assert shop.client.put(path).status_code == 405
    assert shop.get(f"/visit/{visit}/undo/{visit}.1").status_code == 405


def test_a_page_is_small(shop, visit):
    # 250 kB without photos, with everything it loads (docs/pages.md).
    paths = (f"/visit/{visit}", "/static/look.css", "/static/pictures.css", "/static/htmx.min.js", "/static/pages.js",
             "/static/fonts/AtkinsonHyperlegible-Regular.ttf", "/static/fonts/AtkinsonHyperlegible-Bold.ttf")  # fmt: skip
    assert sum(len(shop.get(path).content) for path in paths) <= 250_000


def test_a_recorded_drive_is_drawn_among_the_findings(new_shop):
    shop = new_shop(account=replace(cast.TWO_FAULT, drive=DRIVE))
    page = shop.get(f"/visit/{shop.visit()}").text
    assert "The recorded drive" in page
    assert "held at 57 °C" in page
    assert page.count("as recorded on the drive") == 3
    assert "Bank 1 idle +12.5 %" in page


@pytest.mark.parametrize("ground", ["bright", "dim", "print"])
def test_every_color_of_the_pictures_is_one_of_the_pages(ground):
    sheet = resources.files("lostgallon.web").joinpath("static/look.css").read_text("utf-8").lower()
    blocks = [block for block in re.findall(r"{([^{}]*)}", sheet) if "--paper:" in block]
    defined = dict(
        re.findall(r"--([\w-]+):\s*([^;]+);", {"bright": blocks[0], "dim": blocks[1], "print": blocks[3]}[ground])
    )
    inherited = dict(re.findall(r"--([\w-]+):\s*([^;]+);", blocks[0]))
    wanted = {name: value.lower() for name, value in colors(ground).items()}
    assert wanted.keys() <= inherited.keys()
    assert {name: defined.get(name, wanted[name]) for name in wanted} == wanted
    assert blocks[1].split() == blocks[2].split()
