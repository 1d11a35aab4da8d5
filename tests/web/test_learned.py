"""The page of what a shop has learned: empty at first, then the expert's numbers beside the shop's."""

from lostgallon.shop.wire import as_json
from lostgallon.web.accounts import OWN_NUMBERS
from tests.paper import cast


def test_a_new_shop_runs_on_expert_judgement(shop):
    page = shop.get("/learned").text
    assert "No sealed visit teaches anything yet" in page
    assert "Accounts run on expert judgement." in page


def test_a_sealed_visit_is_shown_beside_the_expert_and_can_be_put_to_use(shop, visit):
    shop.desk.record(visit, "finding.1", {"check": "tire_pressure", "result": "found"}, who="bench", mark="finding")
    shop.desk.store.seal(visit, as_json(cast.TWO_FAULT), b"letter", who="bench")
    page = shop.get("/learned").text
    assert "from 1 visit here" in page
    assert "from expert judgement:" in page
    numbers = shop.folder / OWN_NUMBERS
    assert shop.post("/learned/use", {}).status_code in {200, 303}
    assert numbers.is_file()
    assert "The next accounts run on these numbers" in shop.get("/learned").text
    shop.post("/learned/stop", {})
    assert not numbers.exists()
