"""A gauge that reads off and the steps of the booked job, told on the pages."""

from lostgallon.web.gauges import gauges_of

BLUE = {"name": "blue tire gauge", "off": "1 1/2", "unit": "psi", "way": "high", "compared": "2026-01-02"}
CHECK = "/visit/{}/check/tire_pressure"


def test_a_gauge_is_told_once_and_then_offered_at_its_checks(shop, visit):
    assert "Read on which gauge?" not in shop.get(CHECK.format(visit)).text
    answer = shop.post("/gauges", {**BLUE, "back": CHECK.format(visit)})
    assert (answer.status_code, answer.headers["location"]) == (303, CHECK.format(visit))
    assert gauges_of(shop.desk.store)["blue tire gauge"]["reads_high"] == "1.5 psi"
    offered = shop.get(CHECK.format(visit)).text
    assert "blue tire gauge, reads 1.5 psi too high" in offered
    assert "Read on which gauge?" not in shop.get(f"/visit/{visit}/check/plug_read").text


def test_what_a_gauge_reads_too_high_is_taken_off(shop, visit):
    shop.post("/gauges", BLUE)
    shop.post(
        CHECK.format(visit), {"value_0": "29.5", "value_0_unit": "psi", "gauge": "blue tire gauge"}, key="a-reading"
    )
    case = shop.desk.sheet(visit).case
    assert [value.typed for value in case.findings[0].value] == ["28 psi"]
    assert case.findings[0].as_read == ("29.5 psi",)
    chosen = shop.get(f"/visit/{visit}/check/tire_pressure").text
    assert 'name="gauge" value="blue tire gauge" checked' in chosen


def test_a_thermometer_is_told_in_the_readers_degrees(shop):
    shop.post("/gauges", {"name": "spot", "off": "9", "unit": "°F", "way": "low"})
    assert gauges_of(shop.desk.store)["spot"]["reads_high"] == "-5 K"  # nine degrees Fahrenheit are five kelvin
    assert "reads 9 °F too low" in shop.get("/gauges").text
    shop.post("/choices", {"units": "si"})
    assert "reads 5 °C too low" in shop.get("/gauges").text


def test_a_gauge_without_a_name_or_a_number_is_asked_again(shop):
    answer = shop.post("/gauges", {**BLUE, "name": "", "off": "much"})
    assert answer.status_code == 422
    assert "Give it a name" in answer.text
    assert "expected a number like 28, 1.9 or 1,1" in answer.text
    assert gauges_of(shop.desk.store) == {}


def test_a_gauge_taken_off_the_list_meanwhile_is_said_beside_its_field(shop, visit):
    shop.post("/gauges", BLUE)
    shop.post("/gauges/forget", {"name": "blue tire gauge"})
    answer = shop.post(CHECK.format(visit), {"value_0": "29.5 psi", "gauge": "blue tire gauge"})
    assert answer.status_code == 422
    assert "tire_pressure" not in shop.desk.sheet(visit).findings


def test_the_way_back_from_the_gauges_stays_in_the_shop(shop):
    assert shop.post("/gauges", {**BLUE, "back": "https://elsewhere.example/"}).headers["location"] == "/gauges"
    assert "elsewhere" not in shop.get("/gauges?back=https://elsewhere.example/").text


def test_steps_of_the_booked_job_reach_the_case(shop, visit):
    shop.post(f"/visit/{visit}/steps", {"what": "old hose off", "minutes": "8", "needs": "coolant_drained"}, key="one")
    shop.post(f"/visit/{visit}/steps", {"what": "bleed", "minutes": "5", "wait_minutes": "20"}, key="two")
    first, second = shop.desk.sheet(visit).case.booked.steps
    assert (first.what, first.minutes, first.needs, first.done) == ("old hose off", 8.0, ("coolant_drained",), False)
    assert (second.minutes, second.wait_minutes) == (5.0, 20.0)
    page = shop.get(f"/visit/{visit}/steps").text
    assert "8 min, with this open: coolant below thermostat level" in page
    assert "5 min, then 20 min by itself" in page


def test_a_step_is_marked_done_and_taken_back(shop, visit):
    shop.post(f"/visit/{visit}/steps", {"what": "old hose off", "minutes": "8"}, key="one")
    for key in ("done", "done", "done on the other device"):
        assert shop.post(f"/visit/{visit}/steps/1", {"done": "yes"}, key=key).status_code == 303
    assert shop.desk.sheet(visit).case.booked.steps[0].done
    shop.post(f"/visit/{visit}/steps/1", {"done": "no"}, key="not done")
    assert not shop.desk.sheet(visit).case.booked.steps[0].done
    assert shop.post(f"/visit/{visit}/steps/7").status_code == 404


def test_steps_that_came_with_the_visit_stay_when_one_is_added(shop, visit):
    shop.desk.record(visit, "booked.steps", [{"what": "struts off", "minutes": 30}], who="bench", mark="came")
    shop.post(f"/visit/{visit}/steps", {"what": "struts on", "minutes": "40"}, key="one")
    assert [step.what for step in shop.desk.sheet(visit).case.booked.steps] == ["struts off", "struts on"]


def test_a_step_without_its_minutes_is_asked_again(shop, visit):
    answer = shop.post(f"/visit/{visit}/steps", {"what": "", "minutes": ""})
    assert answer.status_code == 422
    assert "Say what is done in this step." in answer.text


def test_a_figure_outside_its_limits_is_said_beside_its_field(shop, visit):
    answer = shop.post(f"/visit/{visit}/figures", {"vehicle.curb_weight": "3 lb", "use.trip": "7 mi"})
    assert answer.status_code == 422
    assert "expected 1102 to 1.323e+04 lb" in answer.text or "lb (500 to 6000 kg)" in answer.text
    assert shop.desk.sheet(visit).value("use.trip") == "7 mi"


def test_a_refused_figure_is_said_in_spanish(shop, visit):
    shop.post("/choices", {"language": "es"})
    answer = shop.post(f"/visit/{visit}/figures", {"vehicle.odometer": "lejos"})
    assert "se esperaba una distancia con su unidad" in answer.text
