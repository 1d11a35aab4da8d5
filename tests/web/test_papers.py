"""Papers in the owner's language, how the shop signs them, and a clock that went back."""

import datetime as dt

import pytest

from lostgallon.shop.hand_back import Letterhead
from lostgallon.store import OwnerCard, VehicleCard
from lostgallon.web.letters import hand_back_record
from tests.web.shop import HATCH


@pytest.mark.parametrize("name", ["letter", "estimate", "fill-card"])
def test_every_paper_is_a_pdf_in_the_owners_language(shop, name):
    visits = [
        shop.desk.start(
            VehicleCard(description="Hatch"), OwnerCard(name="A", language=language), HATCH, who="b", mark=language
        ).id
        for language in ("en", "es")
    ]
    papers = [shop.get(f"/visit/{visit}/{name}.pdf") for visit in visits]
    assert all(paper.content.startswith(b"%PDF") for paper in papers)
    assert papers[0].content != papers[1].content
    assert [shop.desk.sheet(visit).owner_language for visit in visits] == ["en", "es"]


def test_the_shop_signs_as_it_said(shop, visit):
    assert hand_back_record(shop.desk.sheet(visit), shop.desk.store.file_path).letterhead is None
    answer = shop.post("/shop/letterhead", {"signs": "Corner garage", "lines": "1 Mill Road\n\n555 0100"})
    assert answer.status_code == 303, answer.text[-600:]
    signed = hand_back_record(shop.desk.sheet(visit), shop.desk.store.file_path).letterhead
    assert signed == Letterhead("Corner garage", ("1 Mill Road", "555 0100"))
    assert 'value="Corner garage"' in shop.get("/shop").text


def test_a_clock_that_went_back_is_said_on_the_list(shop, visit):
    assert "Set the clock" not in shop.get("/").text
    shop.now -= dt.timedelta(days=2)
    assert "Set the clock" in shop.get("/").text
