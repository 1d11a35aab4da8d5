"""Corrections, consent, hand-back, proof, waits and changes of state, each with its refusal."""

from dataclasses import replace

import pytest
from icalendar import Calendar

from lostgallon.plan.estimate import estimate_of
from lostgallon.shop.account import AfterCare
from lostgallon.shop.visit import Agreed, WorkDone
from lostgallon.store import standing
from lostgallon.web.pages.hand_back import RELEASE_ITEMS
from tests.paper import cast
from tests.web.shop import NOW, at_once

WORK = "thermostat_replace"


def stands(shop, visit):
    return {key: entry.value for key, entry in standing(shop.desk.store.history(visit)).items()}


def test_extra_work_waits_for_consent(shop, visit):
    refused = shop.post(f"/visit/{visit}/correction/{WORK}/done")
    assert refused.status_code == 422
    assert "has not agreed" in refused.text
    shop.post(
        f"/visit/{visit}/correction/{WORK}/consent", {"answer": "yes", "name": "R. Ashdown", "how": "by telephone"}
    )
    kept = stands(shop, visit)[f"consent.{WORK}"]
    assert (kept["answer"], kept["name"], kept["how"], kept["amount"]) == (
        "yes", "R. Ashdown", "by telephone", "185.00 USD",
    )  # fmt: skip
    assert shop.post(f"/visit/{visit}/correction/{WORK}/done").status_code == 303
    assert stands(shop, visit)[f"done.{WORK}"] is True
    assert "Done by" in shop.get(f"/visit/{visit}").text


def test_consent_needs_a_name(shop, visit):
    answer = shop.post(f"/visit/{visit}/correction/{WORK}/consent", {"answer": "yes", "name": " "})
    assert answer.status_code == 422
    assert f"consent.{WORK}" not in stands(shop, visit)


def agree(shop, visit, answer="yes"):
    return shop.post(f"/visit/{visit}/correction/{WORK}/consent", {"answer": answer, "name": "R. Ashdown"})


def test_a_recorded_yes_reaches_the_case_until_it_is_taken_back(shop, visit):
    assert shop.desk.sheet(visit).case.agreed == ()
    agree(shop, visit)
    (agreed,) = shop.desk.sheet(visit).case.agreed
    assert agreed == Agreed(WORK, "R. Ashdown", NOW, "by telephone", 185.0)
    shop.desk.undo(shop.desk.sheet(visit).standing[f"consent.{WORK}"].id, who="counter")
    assert shop.desk.sheet(visit).case.agreed == ()
    agree(shop, visit, "no")
    assert shop.desk.sheet(visit).case.agreed == ()


def test_work_marked_done_is_done_in_the_case_until_it_is_taken_back(shop, visit):
    agree(shop, visit)
    shop.post(f"/visit/{visit}/correction/{WORK}/done")
    assert shop.desk.sheet(visit).case.work_done == (WorkDone(WORK, NOW),)
    wanted = []
    shop.desk.accounts._submit = lambda case: wanted.append(case) or at_once(shop.account)(case)
    shop.desk.undo(shop.desk.sheet(visit).standing[f"done.{WORK}"].id, who="bench")
    assert shop.desk.sheet(visit).case.work_done == ()
    assert wanted[-1].work_done == ()
    assert shop.get(f"/visit/{visit}").status_code == 200


def test_the_estimate_says_who_agreed_and_to_how_much(shop, visit):
    (line,) = (row for row in cast.TWO_FAULT.corrections if row.operation == WORK)
    assert estimate_of([line], shop.desk.sheet(visit).case).authorized is False
    agree(shop, visit)
    made = estimate_of([line], shop.desk.sheet(visit).case)
    assert made.authorized
    assert made.lines[0].agreed == "agreed up to 185 USD by R. Ashdown, by telephone, 2026-01-15 13:50"


def test_an_account_is_wanted_anew_once_the_owner_has_answered(shop, visit):
    before = shop.desk.accounts.known(visit) or shop.desk.sheet(visit)
    agree(shop, visit)
    shop.desk.sheet(visit)
    assert shop.desk.accounts.known(visit).mark != getattr(before, "mark", "")


def test_a_yes_is_to_the_amount_that_the_page_named(shop, visit):
    path = f"/visit/{visit}/correction/{WORK}"
    assert 'name="amount" value="185.00 USD"' in shop.get(path).text
    shop.post(f"{path}/consent", {"answer": "yes", "name": "R. Ashdown", "amount": "150.00 USD"})
    assert shop.desk.sheet(visit).case.agreed[0].amount_money == 150.0
    assert "That was for up to $150; it now comes to $185." in shop.get(path).text
    assert shop.post(f"{path}/done").status_code == 422


def test_work_that_comes_to_more_than_was_agreed_is_asked_for_again(shop, visit, monkeypatch):
    agree(shop, visit)
    sheet = shop.desk.sheet(visit)
    rows = tuple(replace(row, total_money=240.0) if row.operation == WORK else row for row in sheet.account.corrections)
    dearer = replace(sheet, account=replace(sheet.account, corrections=rows))
    monkeypatch.setattr(type(shop.desk), "sheet", lambda _desk, _visit, **_: dearer)
    text = shop.get(f"/visit/{visit}/correction/{WORK}").text
    assert "That was for up to $185; it now comes to $240. Ask again first." in text
    assert 'name="answer" value="yes"' in text
    assert shop.post(f"/visit/{visit}/correction/{WORK}/done").status_code == 422


def test_declined_work_can_not_be_marked_done(shop, visit):
    shop.post(f"/visit/{visit}/correction/{WORK}/consent", {"answer": "no", "name": "R. Ashdown"})
    assert shop.post(f"/visit/{visit}/correction/{WORK}/done").status_code == 422


def test_work_without_a_price_needs_no_consent(shop, visit):
    assert shop.post(f"/visit/{visit}/correction/tire_set/done").status_code == 303


def test_left_with_a_reason(shop, visit):
    assert shop.post(f"/visit/{visit}/correction/{WORK}/leave", {"reason": ""}).status_code == 422
    shop.post(f"/visit/{visit}/correction/{WORK}/leave", {"reason": "owner sells it"})
    assert "Left: owner sells it" in shop.get(f"/visit/{visit}").text


def test_a_figure_of_the_service_information_needs_its_source(shop, visit):
    path = f"/visit/{visit}/correction/{WORK}/fill-in"
    assert shop.post(path, {"number": "1", "figure": "10 Nm", "source": ""}).status_code == 422
    shop.post(path, {"number": "1", "figure": "10 Nm", "source": "cooling chapter"})
    assert stands(shop, visit)[f"fill_in.{WORK}.1"] == {"figure": "10 Nm", "source": "cooling chapter"}
    assert 'value="10 Nm"' in shop.get(f"/visit/{visit}/correction/{WORK}").text


def test_unknown_work_is_not_there(shop, visit):
    for tail in ("consent", "done", "leave", "fill-in"):
        assert shop.post(f"/visit/{visit}/correction/none/{tail}").status_code == 404


def test_what_the_booked_job_usually_opens_stands_first(shop):
    # Struts are got at on the lift with the wheels off (common practice, no source).
    visit = shop.visit({"booked.operation": "front struts"}, mark="struts")
    text = shop.get(f"/visit/{visit}/states").text
    usual = [text.index(f'value="{name}"') for name in ("lifted", "wheels_off")]
    others = [text.index(f'value="{name}"') for name in ("coolant_drained", "plugs_out", "interior_trim_off")]
    assert max(usual) < min(others)
    assert text.count("usual for this job") == len(usual)


def test_a_change_of_state_says_what_it_closed_and_made_cheap(shop, visit):
    answer = shop.post(f"/visit/{visit}/states", {"open": ["lifted", "battery_off"]})
    assert answer.status_code == 200
    assert "Not possible now" in answer.text
    change = stands(shop, visit)["state.1"]
    assert (change["opened"], change["closed"]) == (["battery_off"], ["wheels_off"])
    assert shop.desk.sheet(visit).open_states == {"lifted", "battery_off"}


def test_no_change_of_state_is_no_entry(shop, visit):
    before = len(shop.desk.store.history(visit))
    assert shop.post(f"/visit/{visit}/states", {"open": ["lifted", "wheels_off"]}).status_code == 303
    assert len(shop.desk.store.history(visit)) == before


def answer_list(shop, visit):
    for item, _ in RELEASE_ITEMS:
        shop.post(f"/visit/{visit}/release/{item}", {"answer": "done"})


def test_hand_back_waits_for_the_release_list(shop, visit):
    refused = shop.post(f"/visit/{visit}/hand-back")
    assert refused.status_code == 422
    assert "have no answer yet" in refused.text
    answer_list(shop, visit)
    assert shop.post(f"/visit/{visit}/hand-back").status_code == 303
    assert len(shop.desk.store.seals(visit)) == 1
    assert shop.desk.summary(visit).stage == "handed back"
    assert "handed back and sealed" in shop.get(f"/visit/{visit}").text


def test_the_release_list_asks_for_what_was_touched(shop, visit):
    text = shop.get(f"/visit/{visit}/hand-back").text
    assert "Wheel nuts by torque" in text
    assert "Coolant filled" not in text
    shop.post(f"/visit/{visit}/states", {"open": ["lifted", "wheels_off", "coolant_drained"]})
    assert "Coolant filled" in shop.get(f"/visit/{visit}/hand-back").text


def test_an_unknown_line_of_the_list_is_refused(shop, visit):
    assert shop.post(f"/visit/{visit}/release/none", {"answer": "done"}).status_code == 422
    assert shop.post(f"/visit/{visit}/release/torque", {"answer": "maybe"}).status_code == 422


def test_a_stop_holds_the_vehicle(new_shop):
    shop = new_shop(account=cast.STOPPED)
    visit = shop.visit()
    answer_list(shop, visit)
    refused = shop.post(f"/visit/{visit}/hand-back")
    assert refused.status_code == 422
    assert "The vehicle stays" in refused.text
    assert shop.desk.store.seals(visit) == ()
    assert "Pays back" not in shop.get(f"/visit/{visit}").text


def test_the_sealed_letter_stays_as_it_was(shop, visit):
    answer_list(shop, visit)
    shop.post(f"/visit/{visit}/hand-back")
    sealed = shop.get(f"/visit/{visit}/letter.pdf")
    assert sealed.content.startswith(b"%PDF")
    shop.post(f"/visit/{visit}/proof", {"odometer": "92500 mi", "volume": "14 gal"})
    assert shop.get(f"/visit/{visit}/letter.pdf").content == sealed.content


def test_a_fill_that_cant_be_read_is_not_kept(shop, visit):
    answer = shop.post(f"/visit/{visit}/proof", {"odometer": "far", "volume": "14 gal"})
    assert answer.status_code == 422
    assert 'value="14 gal"' in answer.text
    assert "tank.1" not in stands(shop, visit)


def test_a_wait_counts_down_and_survives_a_reload(shop, visit):
    answer = shop.post(f"/visit/{visit}/wait", {"what": "Warm-up", "minutes": "12"})
    path = answer.headers["location"]
    assert 'data-seconds="720"' in shop.get(path).text
    shop.now = shop.now.replace(minute=59)
    assert 'data-seconds="180"' in shop.get(path).text
    shop.post(path)
    assert shop.get(path).status_code == 404


@pytest.mark.parametrize(
    "fields", [{"what": "", "minutes": "5"}, {"what": "x", "minutes": "soon"}, {"what": "x", "minutes": "0"}]
)
def test_a_wait_needs_minutes_and_a_reason(shop, visit, fields):
    assert shop.post(f"/visit/{visit}/wait", fields).status_code == 422


def test_the_follow_up_is_a_calendar_file(shop, visit):
    calendar = Calendar.from_ical(shop.get(f"/visit/{visit}/follow-up.ics").content)
    (event,) = calendar.walk("VEVENT")
    # 15 January + 42 days by hand
    assert event.decoded("dtstart").date().isoformat() == "2026-02-26"


def test_a_recheck_of_todays_work_is_in_the_calendar_too(shop, visit, monkeypatch):
    sheet = shop.desk.sheet(visit)
    cares = (AfterCare("Recheck in 2 weeks for slow leak", "Set the tires for the street", within_days=14),)
    told = replace(sheet, account=replace(sheet.account, after_care=cares))
    monkeypatch.setattr(type(shop.desk), "sheet", lambda _desk, _visit, **_: told)
    events = Calendar.from_ical(shop.get(f"/visit/{visit}/follow-up.ics").content).walk("VEVENT")
    # 15 January + 14 days by hand, then the call
    assert [event.decoded("dtstart").date().isoformat() for event in events] == ["2026-01-29", "2026-02-26"]


def test_coming_back_says_where_one_was(shop, visit):
    assert "You were here" not in shop.get(f"/visit/{visit}").text
    shop.now = shop.now.replace(hour=14, minute=4)
    assert "You were here 14 min ago" in shop.get(f"/visit/{visit}").text


def test_what_is_next_follows_the_work(shop, visit):
    assert "Ask the owner" in shop.get(f"/visit/{visit}").text
    for check in (
        "ask_smell_security",
        "ask_onset",
        "ask_trips",
        "ask_route_speed",
        "ask_tires_when",
        "ask_climate_use",
        "ask_last_work",
    ):
        shop.post(f"/visit/{visit}/check/{check}", {"result": "not looked at"})
    assert "Start: Coolant on the road drive" in shop.get(f"/visit/{visit}").text


def test_choices_stay_on_the_device(shop, visit):
    shop.post("/choices", {"units": "si", "bay": "dim", "back": f"/visit/{visit}"})
    text = shop.get(f"/visit/{visit}").text
    assert 'data-bay="dim"' in text
    assert "lost every 100 km" in text
    assert shop.post("/choices", {"units": "furlongs", "back": "//evil.example"}).headers["location"] == "/choices"
