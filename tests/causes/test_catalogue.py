"""The catalogue is whole, sourced, and refuses what it can't hold."""

from importlib import resources

import pytest

from lostgallon.causes.catalogue import FILES, Catalogue, catalogue, read_catalogue
from lostgallon.shop.account import ENTRY_KINDS
from lostgallon.shop.trouble import BadFile, BadInput

FOLDER = resources.files("lostgallon.data") / "catalogue"


@pytest.fixture
def texts() -> dict[str, str]:
    return {name: (FOLDER / name).read_text("utf-8") for _, names in FILES.values() for name in names}


@pytest.fixture(scope="module")
def whole() -> Catalogue:
    return catalogue()


def test_holds_what_the_trade_asked_for(whole):
    # 46 causes and 69 checks: the count of the trade material the catalogue was built from; and open recalls.
    assert len(whole.causes) == 46
    assert len(whole.checks) == 69 + 1
    assert len(whole.trim_patterns) == 13
    assert len(whole.interactions) == 17


def test_every_kind_of_the_account_has_a_cause(whole):
    assert {cause.kind for cause in whole.causes} == set(ENTRY_KINDS)


def test_a_fault_has_work_that_corrects_it(whole):
    for cause in whole.causes:
        if cause.fault:
            assert whole.operation[cause.operation].minutes_alone > 0
            assert cause.operation != "explain"


def test_work_is_quicker_where_it_is_open_anyway(whole):
    for work in whole.operations:
        for _, minutes in work.minutes_open:
            assert 0 < minutes < work.minutes_alone


def test_a_torque_is_never_printed_but_filled_in(whole):
    for work in whole.operations:
        if "torque_from_manual" in work.cautions:
            assert any("torque" in field for field in work.fill_in), work.id


def test_every_finding_of_a_cause_is_better_than_chance(whole):
    # A reading whose ratio is below one would write explaining-away into the data and count it twice.
    for check in whole.checks:
        for reading in check.readings:
            for _, (low, typical, high) in reading.finds:
                assert reading.false_alarm is not None
                assert low <= typical <= high
                assert reading.false_alarm[1] < typical


def test_every_non_context_cause_can_be_found(whole):
    found = {cause for check in whole.checks for reading in check.readings for cause, _ in reading.finds}
    assert {cause.id for cause in whole.causes if cause.context not in ("season", "scatter")} <= found


def test_states_carry_their_cautions(whole):
    said = whole.cautions_for(["road_test"], states=["lifted", "road_ready"])
    assert said[0].startswith("Lifting: manufacturer lift points")
    assert len(said) == 2


def test_a_state_has_other_names(whole):
    assert whole.state_named("drive_belt", where="x").id == "front_cover_open"
    with pytest.raises(BadInput, match=r"did you mean coolant_drained\?"):
        whole.state_named("coolant_draned", where="[booked] apart")


DAMAGE = [
    ("checks_engine.yaml", "volt_drop", "charging_parasitic_load: [", "charging_parasitic_lode: [", "did you mean"),
    ("operations.yaml", "", "confirmed_by: [fan_state]", "confirmed_by: [fan_sate]", "did you mean fan_state"),
    ("causes_engine.yaml", "", "condition: cold_reading", "condition: cold_readings", "did you mean cold_reading"),
    ("causes_engine.yaml", "", "prior_new: {", "prior_knew: {", "did you mean prior_new"),
    ("causes_engine.yaml", "", ", source: from_memory}", ", source: a_friend}", "unknown id 'a_friend'"),
    ("causes_engine.yaml", "", ", source: from_memory}", "}", "no 'source'"),
    ("causes_engine.yaml", "", "sudden: 0.1", "sudden: 0.2", "do not add to 1"),
    ("states.yaml", "", "open_minutes: 3", "open_minutes: three", "expected a number"),
    ("safety_stops.yaml", "", "readings: [soft_pedal]", "readings: [soft_petal]", "did you mean soft_pedal"),
    ("cautions.yaml", "", "- id: jacking", "- id: hot_exhaust", "'hot_exhaust' 2 times"),
    ("codes.yaml", "", "reading: lean_code", "reading: leen_code", "did you mean lean_code"),
    ("checks_questions.yaml", "", "form: question", "form: riddle", "expected question, look"),
    ("states.yaml", "", "- id: lifted", "- id: [", "YAML"),
]


@pytest.mark.parametrize(("name", "_entry", "good", "bad", "says"), DAMAGE)
def test_damage_is_refused_in_one_line(texts, name, _entry, good, bad, says):
    assert good in texts[name]
    texts[name] = texts[name].replace(good, bad, 1)
    with pytest.raises(BadFile, match=says.replace("(", r"\(")) as trouble:
        read_catalogue(texts)
    assert "\n" not in str(trouble.value)


def test_a_check_that_moves_no_belief_is_refused(texts):
    text = texts["checks_engine.yaml"]
    start = text.index("- id: coolant_level")
    head, tail = text[:start], text[start:]
    tail = tail.replace("false_alarm: [", "# false_alarm: [", 1).replace("source: from_memory", "neutral: true", 1)
    tail = tail.replace("finds:\n        look_alike", "# finds:\n        # look_alike", 1)
    with pytest.raises(BadFile, match="coolant_level: found no reading that finds a cause"):
        read_catalogue({**texts, "checks_engine.yaml": head + tail})
