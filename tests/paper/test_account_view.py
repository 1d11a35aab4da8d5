"""The account as a terminal shows it."""

import re
from dataclasses import replace

import pytest

from lostgallon.paper.account_view import account_text
from lostgallon.shop.account import LeftOut
from tests.paper.cast import CASE, CAST, CHECKS, FOURTEEN, NEGATIVE_GAP, STOPPED, TWO_FAULT, entry, gal

ACCOUNTS = pytest.mark.parametrize("account", CAST.values(), ids=CAST.keys())
COLOR = re.compile(r"\x1b\[[\d;]*m")


def flat(text: str) -> str:
    return " ".join(text.split())


@ACCOUNTS
def test_it_fits_80_columns_and_prints_nothing_a_terminal_lacks(account):
    text = account_text(account, CASE)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert not set(text) & set("≥≤≈→←✓✗")


@ACCOUNTS
def test_color_adds_codes_and_changes_no_mark(account):
    colored = account_text(account, CASE, color=True)
    assert COLOR.sub("", colored) == account_text(account, CASE)
    assert "\x1b" not in account_text(account, CASE)


@ACCOUNTS
def test_the_deferral_stands_at_the_end(account):
    assert flat(account_text(account, CASE)).endswith("professional’s judgement come before anything shown here.")


def test_figures_of_the_record_are_the_figures_shown():
    text = account_text(TWO_FAULT, CASE)
    # The cast's own figures: 3.0 and 4.1 gal per 100 mi; 100 / 3.0 = 33 mpg, 100 / 4.1 = 24 mpg.
    assert "Then 3.0 gal per 100 mi (33 mpg, 7.1 L per 100 km); now 4.1 (24 mpg, 9.6 L)." in text
    assert "up 37%, likely 30 to 44%" in text
    assert "1.1 gal lost every 100 mi, likely 0.9 to 1.3" in text
    for row in ("0.35 0.25 to 0.5", "0.2 0.05 to 0.3", "0.02 0.01 to 0.03", "0.1 −0.1 to 0.3"):
        assert row in text
    assert "about 0.8, likely 0.6 to 1.0" in text
    assert "Saves 9 gal a year, likely 3 to 15, worth $10 to $50." in flat(text)
    assert "Pays back in fuel in 4 to 18 years." in flat(text)


def test_without_an_interval_for_the_loss_only_its_middle_is_said():
    loss = replace(TWO_FAULT.loss, lost_l_per_100km=None)
    text = account_text(replace(TWO_FAULT, loss=loss), CASE)
    assert "1.1 gal lost every 100 mi ─" in text


def test_the_plain_sentence_comes_before_every_figure():
    text = account_text(TWO_FAULT, CASE)
    assert text.index("Three quarters") < text.index("37%")


def test_cautions_stand_before_the_step():
    text = account_text(TWO_FAULT, CASE)
    assert text.index("CAUTION Keep hands clear of the hub.") < text.index("Pull test, front wheels")
    assert text.index("3:10 pm  CAUTION Open the cooling system") < text.index("Replace thermostat, ")


def test_a_caution_is_not_repeated_where_the_plan_has_it_and_stands_by_the_work_where_it_has_not():
    assert account_text(TWO_FAULT, CASE).count("Open the cooling system") == 1
    unplanned = replace(TWO_FAULT, plan=replace(TWO_FAULT.plan, steps=()))
    text = account_text(unplanned, CASE)
    assert text.index("CAUTION Open the cooling system") < text.index("restores the heater")


def test_of_many_checks_the_best_that_fit_are_shown_and_the_others_counted():
    many = tuple(replace(CHECKS[0], check=f"check_{count}", name=f"Check number {count}") for count in range(50))
    away = (replace(CHECKS[0], name="A check out of reach", fits=False),)
    text = account_text(replace(TWO_FAULT, checks=(*away, *many)), CASE)
    assert text.count("worth $31") == 8
    assert "out of reach" not in text
    assert "43 more checks do not fit, or earn less than their minutes." in text


def test_work_left_out_of_the_plan_is_named_and_checks_left_out_are_counted():
    left = (LeftOut("Clean and grease front brake slides", "no time"), LeftOut("A check", "no time"))
    text = account_text(replace(TWO_FAULT, plan=replace(TWO_FAULT.plan, left_out=left)), CASE)
    assert "Left out: Clean and grease front brake slides. No time." in text
    assert "Also left out: 1 of the checks" in text


def test_readings_at_one_place_of_the_rule_are_all_named():
    finding = replace(TWO_FAULT.findings[0], value=("29 psi", "31 psi", "29 psi", "31 psi"))
    assert "LF, LR" in account_text(replace(TWO_FAULT, findings=(finding,)), CASE)


def test_causes_too_small_for_the_last_digit_are_counted_and_carry_no_letter():
    small = tuple(entry(f"s{count}", f"Small {count}", "use", gal(0, 0.001, 0.004)) for count in range(30))
    text = account_text(replace(TWO_FAULT, entries=(*TWO_FAULT.entries, *small)), CASE)
    assert "30 more could cost at most 0.01 gal per 100 mi each." in text
    assert " H Brake drag, front" in text
    assert "Small" not in text


def test_a_stop_prices_nothing_and_advises_nothing_for_today():
    text = account_text(STOPPED, CASE)
    assert text.index("STOP") < text.index("then ")
    assert "$" not in text
    assert "TODAY" not in text
    assert "No spark" in text


def test_every_cause_has_its_row_and_its_full_name():
    text = flat(account_text(FOURTEEN, CASE))
    for row in FOURTEEN.entries:
        start = row.name.split(" with")[0]
        assert start.split(" cause ")[0] in text
    assert text.count("likely there and new") == 7


def test_what_medians_leave_open_is_said():
    # 1.1 gal less 14 medians (10 of 0.05, 4 of 0) and less 0.1 not accounted for leaves 0.5.
    assert "0.5 gal of the deck, its last ░, lies between causes not yet settled." in flat(account_text(FOURTEEN, CASE))


def test_a_deck_that_passes_the_bank_is_dashed_beyond_it():
    assert "┣╍╍╍" in account_text(NEGATIVE_GAP, CASE)


def test_a_reading_at_the_limit_is_not_hatched_and_a_typed_word_is_no_rule():
    finding = replace(TWO_FAULT.findings[1], value=("quite hot",), limit=None, outside_by=None)
    text = account_text(replace(TWO_FAULT, findings=(finding,)), CASE)
    assert "quite hot Found." in text
    assert "No limit entered from service information." in text
    assert "╱" not in text


def test_a_wider_terminal_is_used():
    assert max(len(line) for line in account_text(TWO_FAULT, CASE, width=120).splitlines()) > 100


def test_a_long_name_of_a_finding_is_told_to_its_end():
    finding = replace(TWO_FAULT.findings[2], name="A name " * 20 + "with an end")
    assert "with an end" in account_text(replace(TWO_FAULT, findings=(finding,)), CASE)
