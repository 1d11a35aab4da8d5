"""The technician's sheet, the written estimate and the fill card."""

from dataclasses import replace
from datetime import datetime

import pytest

from lostgallon.paper.estimate import estimate_content, write_estimate
from lostgallon.paper.fill_card import code_text, fill_card_pdf, write_fill_card
from lostgallon.paper.sheet import open_states, sheet_pdf, work_rows, write_sheet
from lostgallon.paper.words import words_in
from lostgallon.plan.estimate import estimate_of
from lostgallon.shop.account import AfterCare
from lostgallon.shop.hand_back import HandBack
from lostgallon.shop.visit import StateChange
from tests.paper.cast import CASE, CAST, NO_LOSS, PLAN, STOPPED, THERMOSTAT, TWO_FAULT
from tests.paper.paper_text import pages_of, reader_of, text_of

ACCOUNTS = pytest.mark.parametrize("account", CAST.values(), ids=CAST.keys())
WORDS = words_in("en")
DEFERRAL = "professional’s judgement come before anything shown here."


@ACCOUNTS
@pytest.mark.parametrize("page", ["letter", "a4"])
def test_every_page_defers_to_the_service_information(account, page):
    pages = pages_of(sheet_pdf(account, CASE, page=page))
    assert len(pages) in (2, 3)
    for text in pages:
        assert DEFERRAL in text


def test_steps_stand_in_order_with_minutes_and_their_caution_before_them():
    text = text_of(sheet_pdf(TWO_FAULT, CASE))
    places = [text.index(step.what[:1].upper() + step.what[1:]) for step in PLAN.steps]
    assert places == sorted(places)
    assert text.index("Open the cooling system only below 120 °F") < text.index("Replace thermostat")
    # 3:10 to 4:10 pm is 60 minutes.
    assert "3:10 pm 60 min" in text
    assert text.index("Keep hands clear of the hub.") < text.index("Pull test, front wheels")


def test_a_caution_that_step_and_correction_share_is_printed_once():
    rows = work_rows(TWO_FAULT, WORDS)
    (row,) = [row for row in rows if row.what == "Replace thermostat"]
    assert row.cautions == THERMOSTAT.cautions
    assert row.steps == THERMOSTAT.steps


def test_work_for_today_that_no_step_names_is_not_lost():
    rows = work_rows(replace(TWO_FAULT, plan=replace(PLAN, steps=())), WORDS)
    assert [row.what for row in rows] == ["Set tire pressure", "Replace thermostat"]


def test_figures_of_the_service_information_stay_empty_with_room_for_their_source():
    text = text_of(sheet_pdf(TWO_FAULT, CASE))
    for field in THERMOSTAT.fill_in:
        assert f"{field}, figure from (page of the service information)" in text


def test_what_is_open_is_what_was_opened_and_not_closed():
    later = datetime(2026, 1, 15, 15, 0)  # noqa: DTZ001 - the shop's own clock
    case = replace(CASE, states=(StateChange(at=later, opened=("coolant_drained",), closed=("wheels_off",)),))
    assert open_states(case) == ("lifted", "coolant_drained")
    assert "Apart or open: lifted and coolant drained." in text_of(sheet_pdf(TWO_FAULT, case))


def test_places_consent_and_release_are_on_the_sheet():
    text = text_of(sheet_pdf(TWO_FAULT, CASE))
    assert "LF 29.5 psi, RF 30.5 psi, LR 29 psi, RR 30 psi" in text
    assert "Looking: 25 min, $60." in text
    assert "Replace thermostat, 60 min, $185 today: agreed by, how, at what time" in text
    assert "Wheel nuts torqued on the ground" in text
    assert "This list is common practice, not a standard." in text
    assert "Released by (name, date, time)" in text


def test_without_a_limit_for_looking_it_asks_first():
    case = replace(CASE, booked=replace(CASE.booked, looking_minutes=None, looking_money=None))
    assert "No limit for looking is recorded: ask before you look." in text_of(sheet_pdf(TWO_FAULT, case))


def test_what_the_work_asks_for_later_is_on_the_release_list():
    care = AfterCare(what="Recheck the wheel nuts", why="wheels were off", within_km=80.4672, within_days=7)
    # 80.4672 km is 50 mi exactly (1.609344 km each).
    text = text_of(sheet_pdf(replace(TWO_FAULT, after_care=(care,)), CASE))
    assert "Recheck the wheel nuts, within 50 mi or 7 days (wheels were off)" in text


def test_a_stop_is_first_and_nothing_is_priced():
    pages = pages_of(sheet_pdf(STOPPED, CASE))
    assert pages[0].index("Stopped. Do nothing else") < pages[0].index("Repair the fuel line")
    assert "Nothing is priced while the vehicle is stopped as unsafe." in pages[-1]
    assert "$" not in pages[-1]


def test_the_estimate_adds_up_line_by_line():
    rows = estimate_content(offered(THERMOSTAT), CASE, WORDS, hand_back=HandBack())
    # By hand: labor 140.00 + parts 45.00 + fees 0.00 = 185.00.
    assert rows["rows"][0]["figures"] == ["60", "$140.00", "$45.00", "$0.00", "$185.00"]
    assert rows["total"] == "$185.00"
    taxed = offered(replace(THERMOSTAT, fees_money=11.4, total_money=196.4))
    assert estimate_content(taxed, CASE, WORDS, hand_back=HandBack())["rows"][0]["figures"][2:] == [
        "$45.00", "$11.40", "$196.40",
    ]  # fmt: skip


def offered(*corrections):
    return replace(TWO_FAULT, corrections=corrections, estimate=estimate_of(corrections, CASE))


def test_the_estimate_names_the_range_of_parts_and_what_is_not_offered(tmp_path):
    write_estimate(offered(*TWO_FAULT.corrections), CASE, tmp_path / "estimate.pdf")
    text = text_of((tmp_path / "estimate.pdf").read_bytes())
    # The parts cost 40 to 55, on average 46.25: 185 less 6.25 and more 8.75.
    assert "it can come to $179 up to $194" in text
    assert "hold until 5:00 pm on January 15, 2026" in text
    assert "Not yet authorized" in text
    assert "Clean and grease front brake slides" not in text
    assert "I agree to the work marked above" in text


def test_the_fill_card_is_half_a_page_with_room_for_six_fills():
    pdf = fill_card_pdf(TWO_FAULT, CASE, hand_back=HandBack(visit_number="17"))
    box = reader_of(pdf).pages[0].mediabox
    assert (round(box.width), round(box.height)) == (612, 396)
    text = text_of(pdf)
    assert "Visit 17" in text
    assert "3.7 to 4.0 gallons per 100 miles (25 to 27 mpg) in the weather of the coming six weeks" in text
    assert len(reader_of(pdf).pages) == 1


def test_the_code_holds_plain_text_and_no_address():
    text = code_text(TWO_FAULT, CASE, WORDS, hand_back=HandBack(visit_number="17"))
    assert text.startswith("Next fill-ups, Visit 17, January 15, 2026.")
    assert "Write down: date, odometer, gallons, first click." in text
    assert "://" not in text


def test_the_card_without_an_expectation_says_none():
    assert "Expected" not in text_of(fill_card_pdf(NO_LOSS, CASE))


def test_same_input_same_bytes(tmp_path):
    for name in ("one", "two"):
        write_sheet(TWO_FAULT, CASE, tmp_path / f"{name}.pdf")
        write_fill_card(TWO_FAULT, CASE, tmp_path / f"{name}-card.pdf")
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()
    assert (tmp_path / "one-card.pdf").read_bytes() == (tmp_path / "two-card.pdf").read_bytes()
