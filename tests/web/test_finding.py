"""A finding is entered: values, readings, the four ways of not finding, undo, the same form twice."""

import pytest

from lostgallon.store import standing


def findings(shop, visit):
    return [
        entry.value for key, entry in standing(shop.desk.store.history(visit)).items() if key.startswith("finding.")
    ]


def test_readings_with_places_units_and_limit(shop, visit):
    answer = shop.post(
        f"/visit/{visit}/check/tire_pressure",
        {"value_0": "29½", "value_0_unit": "psi", "value_1": "2,1 bar", "value_1_unit": "psi", "value_3": "30 1/4", "value_3_unit": "psi",
         "limit": "32", "limit_unit": "psi", "limit_source": "placard", "at": "10", "at_unit": "degF"},
    )  # fmt: skip
    assert answer.status_code == 303
    (found,) = findings(shop, visit)
    assert found["value"] == ["29.5 psi", "2,1 bar", "30.25 psi"]
    assert found["place"] == ["left front", "right front", "right rear"]
    assert (found["limit"], found["limit_source"], found["at"]) == ("32 psi", "placard", "10 degF")


@pytest.mark.parametrize("result", ["normal", "not looked at", "skipped", "not possible"])
def test_four_ways_of_not_finding_are_four_records(shop, visit, result):
    shop.post(f"/visit/{visit}/check/wheel_spin", {"result": result})
    assert findings(shop, visit) == [{"check": "wheel_spin", "result": result}]


def test_a_reading_is_one_tap_and_leads_to_the_next_question(shop, visit):
    answer = shop.post(f"/visit/{visit}/check/ask_onset", {"reading": "sudden"})
    assert findings(shop, visit) == [{"check": "ask_onset", "reading": ["sudden"]}]
    assert answer.headers["location"].startswith(f"/visit/{visit}/check/ask_")


def test_an_unknown_reading_is_not_kept(shop, visit):
    answer = shop.post(f"/visit/{visit}/check/ask_onset", {"reading": "made_up"})
    assert answer.status_code == 422
    assert findings(shop, visit) == []


def test_what_cant_be_read_is_said_beside_its_field_and_kept_on_the_page(shop, visit):
    answer = shop.post(
        f"/visit/{visit}/check/tire_pressure", {"value_0": "29 parsecs", "value_1": "30", "value_1_unit": "psi"}
    )
    assert answer.status_code == 422
    assert "29 parsecs" in answer.text
    assert "found" in answer.text.lower()
    assert 'value="30"' in answer.text
    assert findings(shop, visit) == []


def test_nothing_chosen_says_what_to_choose(shop, visit):
    answer = shop.post(f"/visit/{visit}/check/oil_check", {})
    assert answer.status_code == 422
    assert "Choose what it reads" in answer.text


def test_the_same_form_twice_is_one_entry(shop, visit):
    before = len(shop.desk.store.history(visit))
    for _ in range(3):
        shop.post(f"/visit/{visit}/check/oil_check", {"result": "normal"}, key="k" * 32)
    assert len(shop.desk.store.history(visit)) == before + 1


def test_a_second_finding_of_a_check_stands_in_place_of_the_first(shop, visit):
    shop.post(f"/visit/{visit}/check/oil_check", {"result": "normal"})
    shop.post(f"/visit/{visit}/check/oil_check", {"result": "not possible"})
    assert [found["result"] for found in findings(shop, visit)] == ["not possible"]
    assert len([entry for entry in shop.desk.store.history(visit) if entry.key.startswith("finding.")]) == 2


def test_undo_takes_it_back_and_stays_in_the_history(shop, visit):
    shop.post(f"/visit/{visit}/check/oil_check", {"result": "normal"})
    entry = shop.desk.store.history(visit)[-1]
    assert shop.post(f"/visit/{visit}/undo/{entry.id}").status_code == 303
    assert findings(shop, visit) == []
    last = shop.desk.store.history(visit)[-1]
    assert last.undo
    assert last.replaces == entry.id
    assert "Taken back" in shop.get(f"/visit/{visit}/history").text


def test_undo_of_another_visits_entry_is_refused(shop, visit):
    other = shop.visit(mark="second")
    assert shop.post(f"/visit/{visit}/undo/{other}.1").status_code == 404


def test_codes_are_read_and_checked(shop, visit):
    shop.post(f"/visit/{visit}/check/kept_memory", {"codes": "p0128, P0300"})
    assert findings(shop, visit)[0]["codes"] == ["P0128", "P0300"]
    assert shop.post(f"/visit/{visit}/check/kept_memory", {"codes": "128"}).status_code == 422


def test_it_says_who_entered_it(shop, visit):
    shop.post("/choices", {"name": "Bo"})
    shop.post(f"/visit/{visit}/check/oil_check", {"result": "normal"})
    assert shop.desk.store.history(visit)[-1].who == "Bo"


def test_the_good_days_are_asked(shop, visit):
    shop.post(f"/visit/{visit}/check/oil_check", {"result": "found", "before_good_days": "yes"})
    assert findings(shop, visit)[0] == {"check": "oil_check", "result": "found", "before_good_days": True}


def test_one_value_by_itself_is_a_list_of_one(shop, visit):
    # A case file writes either; the page once showed such a value letter by letter.
    shop.desk.finding(visit, {"check": "knock_timing", "value": "6.5 deg"}, who="bench", mark="one")
    assert findings(shop, visit) == [{"check": "knock_timing", "value": ["6.5 deg"]}]
    page = shop.get(f"/visit/{visit}").text
    assert "6.5" in page
    assert "6, ." not in page


def test_a_single_value_without_a_list_is_shown_whole(shop, visit):
    shop.desk.finding(visit, {"check": "warmup_trace", "value": "157 degF", "limit": "185 degF"}, who="bench", mark="m")
    assert "<b>157\N{NO-BREAK SPACE}°F</b>" in shop.get(f"/visit/{visit}").text
    assert 'value="157 degF"' in shop.get(f"/visit/{visit}/check/warmup_trace").text


def test_enough_asked_goes_on_to_the_checks(shop, visit):
    assert "Ask the owner" in shop.get(f"/visit/{visit}").text
    assert shop.post(f"/visit/{visit}/enough/asked").status_code == 303
    assert "Start: Coolant on the road drive" in shop.get(f"/visit/{visit}").text
    assert shop.post(f"/visit/{visit}/enough/talked").status_code == 404


def test_a_look_after_the_work_stands_beside_the_look_before_it(shop, visit):
    shop.desk.finding(visit, {"check": "warmup_trace", "value": "157 degF"}, who="bench", mark="one")
    shop.desk.finding(visit, {"check": "warmup_trace", "value": "158 degF"}, who="bench", mark="mended")
    done = shop.desk.record(visit, "done.thermostat_replace", True, who="bench", mark="done")
    assert 'value="158"' not in shop.get(f"/visit/{visit}/check/warmup_trace").text
    for mark in ("two", "two", "three"):
        shop.desk.finding(visit, {"check": "warmup_trace", "value": "192 degF"}, who="bench", mark=mark)
    looks = [look for look in shop.desk.sheet(visit).case.findings if look.check == "warmup_trace"]
    assert [(look.value[0].typed, look.after) for look in looks] == [
        ("158 degF", ()),
        ("192 degF", ("thermostat_replace",)),
    ]
    text = shop.get(f"/visit/{visit}").text
    assert text.index("158") < text.index("192")
    shop.desk.undo(done.id, who="bench")
    assert {look.after for look in shop.desk.sheet(visit).case.findings} == {()}
