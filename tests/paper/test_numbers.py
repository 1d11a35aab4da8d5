"""Figures as printed, read back from the PDF, against the record of three demo visits; conversions written out here."""

import re
from importlib import resources
from pathlib import Path

import pytest

from lostgallon.job.account import Asked, account_of
from lostgallon.paper.estimate import estimate_content
from lostgallon.paper.fill_card import fill_card_pdf
from lostgallon.paper.letter import letter_pdf
from lostgallon.paper.sheet import sheet_pdf
from lostgallon.paper.words import words_of
from lostgallon.readers.case import read_case
from lostgallon.shop.hand_back import HandBack
from tests.paper.paper_text import text_of

GAL_PER_100MI = 1.609344 / 3.785411784
"""US gal per 100 mi of one L/100 km: 100 mi are 160.9344 km, a US gallon is 3.785411784 L."""
NUMBER = r"−?\d+(?:\.\d+)?"


@pytest.fixture(scope="module", params=["two-faults", "dragging-crossover", "no-loss"])
def visit(request):
    case = read_case(Path(str(resources.files("lostgallon.data").joinpath(f"demo/{request.param}.toml"))))
    return case, account_of(case, Asked(draws=512)), 1.0 if "km" in case.now.economy_typed else GAL_PER_100MI


def printed(text):
    return float(text.replace("−", "-").replace("\N{NO-BREAK SPACE}", ""))


def agrees(text, value, *, step=None):
    """Whether a printed figure is the value, rounded to its last digit or to fives of it."""
    decimals = len(text.partition(".")[2])
    return abs(printed(text) - value) <= (step or 2.5 * 10.0**-decimals) + 1e-9


def test_every_step_of_the_bridge_has_the_figures_of_its_entry(visit):
    case, account, factor = visit
    text = text_of(letter_pdf(account, case))
    words = words_of(case)
    seen = 0
    for entry in account.entries:
        name = re.escape(words.named("cause", entry.cause, otherwise=entry.name))
        for found in re.finditer(rf"[A-Z]{{1,2}} {name} ({NUMBER})(?:, likely ({NUMBER}) to ({NUMBER}))?", text):
            middle, low, high = found.groups()
            size = entry.l_per_100km
            assert agrees(middle, size.p50 * factor), entry.cause
            if low:
                assert agrees(low, size.p05 * factor), entry.cause
                assert agrees(high, size.p95 * factor), entry.cause
            seen += 1
    assert seen >= 1


def test_then_now_and_the_loss_are_the_records_and_agree_with_each_other(visit):
    case, account, factor = visit
    text = text_of(letter_pdf(account, case))
    found = re.search(rf"used ({NUMBER}) .*? in the good days and uses ({NUMBER}) now", text)
    then, now = found.groups()
    assert agrees(then, account.loss.then_l_per_100km.p50 * factor)
    assert agrees(now, account.loss.now_l_per_100km.p50 * factor)
    lost = re.search(rf"({NUMBER}) (?:gal|L) (?:lost|apart) every", text).group(1)
    assert printed(now) - printed(then) == pytest.approx(printed(lost), abs=1e-9)


def test_what_is_expected_is_the_same_on_letter_and_card(visit):
    case, account, factor = visit
    expected = account.proof.expected_l_per_100km
    for paper, begins in ((letter_pdf, "The next fill-ups: "), (fill_card_pdf, "from the second tank on: ")):
        found = re.search(rf"{begins}({NUMBER})(?: to ({NUMBER}))? (?:gallons|liters)", text_of(paper(account, case)))
        assert agrees(found.group(1), expected.p05 * factor)
        assert agrees(found.group(2) or found.group(1), expected.p95 * factor)


def test_the_estimate_adds_up_and_is_the_price_of_the_record(visit):
    case, account, _ = visit
    made = estimate_content(account, case, words_of(case), hand_back=HandBack())
    today = [row for row in account.corrections if row.advice == "today" and row.total_money]
    assert len(made["rows"]) == len(today)
    totals = []
    for row, correction in zip(made["rows"], today, strict=True):
        labor, parts, fees, total = (printed(said.strip("$ ")) for said in row["figures"][1:])
        assert labor + parts + fees == pytest.approx(total, abs=0.011)
        assert total == pytest.approx(correction.total_money, abs=0.005)
        totals.append(total)
    assert printed(made["total"].strip("$ ")) == pytest.approx(sum(totals), abs=0.011)


def test_the_sheets_minutes_are_the_plans(visit):
    case, account, _ = visit
    text = text_of(sheet_pdf(account, case))
    minutes = [int(found) for found in re.findall(r"(?:am|pm) (\d+) min ", text)]
    assert sum(minutes) == pytest.approx(plan_minutes(account), abs=len(account.plan.steps))


def plan_minutes(account):
    def clock(text):
        hours, minutes = text[11:16].split(":")
        return 60 * int(hours) + int(minutes) + int(text[17:19] or 0) / 60.0

    return sum(clock(step.end) - clock(step.start) for step in account.plan.steps if step.start)
