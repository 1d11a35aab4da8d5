"""The technician's sheet: the work in order, cautions before each step, fields to fill in, release and consent."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lostgallon.paper.estimate import estimate_content
from lostgallon.paper.figures import typed, whole
from lostgallon.paper.row_words import after_care_words, price_words
from lostgallon.paper.sayings import money, sentence_case, stop_cleared, stop_what, vehicle_line
from lostgallon.paper.time_strip import moment
from lostgallon.paper.time_text import done_words
from lostgallon.paper.told_record import told_record
from lostgallon.paper.typeset import MARGIN_PT, PAPERS, Page, pdf_of, write_pdf
from lostgallon.paper.words import Words, words_of
from lostgallon.shop.account import Account, Correction, PlanStep
from lostgallon.shop.hand_back import HandBack
from lostgallon.shop.visit import Case


@dataclass(frozen=True)
class Work:
    """One row of the sheet: when, how long, what, cautions before it, its own steps, figures to fill in."""

    clock: str
    minutes: str
    what: str
    says: str
    cautions: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    fill_in: tuple[str, ...] = ()


def write_sheet(
    account: Account, case: Case, path: Path, *, page: Page = "letter", hand_back: HandBack | None = None
) -> None:
    """Writes the technician's sheet as a PDF; the written estimate follows on a page of its own.

    Args:
        account: The account with its plan and corrections.
        case: The visit.
        path: Where the PDF goes.
        page: Letter or A4.
        hand_back: The shop's letterhead for the estimate.

    Raises:
        BadFile: If the file can't be written.
    """
    write_pdf(sheet_pdf(account, case, page=page, hand_back=hand_back), path)


def sheet_pdf(account: Account, case: Case, *, page: Page = "letter", hand_back: HandBack | None = None) -> bytes:
    """The technician's sheet and the estimate as the bytes of a PDF."""
    content = sheet_content(account, case, page=page, hand_back=hand_back or HandBack())
    return pdf_of("sheet", content, day=case.visit.date)


def sheet_content(account: Account, case: Case, *, page: Page, hand_back: HandBack) -> dict[str, Any]:
    """Everything the sheet prints, as plain data."""
    words = words_of(case)
    account = told_record(account, words)
    return {
        "paper": PAPERS[page],
        "margin": MARGIN_PT,
        "lang": words.language,
        "title": words("sheet.title"),
        "day": words.day(case.visit.date),
        "vehicle": sentence_case(vehicle_line(case, words)),
        "facts": _facts(account, case, words),
        "stop": _stop(account, words),
        "caution": words("letter.caution"),
        "order": words("sheet.order"),
        "work": [vars(row) for row in work_rows(account, words)],
        "nothing": words("sheet.nothing"),
        "figure": words("sheet.figure"),
        "source": words("sheet.source"),
        "limits": words("sheet.limits"),
        "places_head": words("sheet.places"),
        "places": _places(account),
        "consent_head": words("sheet.consent"),
        "consent": _consent(case, account.currency, words),
        "asked": _asked(account, words),
        "release_head": words("sheet.release"),
        "release": _release(account, words),
        "practice": words("sheet.practice"),
        "done_by": words("sheet.work"),
        "sign": words("sheet.sign"),
        "deferral": words("deferral"),
        "estimate": estimate_content(account, case, words, hand_back=hand_back),
    }


def _facts(account: Account, case: Case, words: Words) -> list[str]:
    facts = [words("vehicle.in_for", operation=case.booked.operation)] if case.booked.operation else []
    if case.visit.promised:
        facts.append(words("sheet.promised", clock=words.clock(case.visit.promised)))
    facts.append(done_words(account.plan, words))
    apart = open_states(case)
    named = tuple(words.named("state", state) for state in apart)
    facts.append(words("sheet.apart", states=words.listed(named)) if named else words("sheet.apart_none"))
    return [sentence_case(fact) for fact in facts if fact]


def open_states(case: Case) -> tuple[str, ...]:
    """What stands open now: what the booked job opened, and what was opened and not closed since."""
    states = dict.fromkeys(case.booked.apart)
    for change in case.states:
        states |= dict.fromkeys(change.opened)
        states = {state: None for state in states if state not in change.closed}
    return tuple(states)


def _stop(account: Account, words: Words) -> list[str]:
    stop = account.stop
    if stop is None:
        return []
    return [
        words("sheet.stop"),
        f"{sentence_case(stop_what(stop, words))}.",
        *stop.because,
        stop_cleared(account, words),
    ]


def work_rows(account: Account, words: Words) -> tuple[Work, ...]:
    """The steps of the plan in order, each correction with its own steps.

    Corrections for today that no step names stand at the end, so that none is lost.
    """
    today = {row.name: row for row in account.corrections if row.advice in ("today", "stop")}
    planned = tuple(_planned(step, today.get(step.what), words) for step in account.plan.steps)
    named = {step.what for step in account.plan.steps}
    rest = tuple(_unplanned(row, words) for name, row in today.items() if name not in named)
    return (*planned, *rest)


def _planned(step: PlanStep, correction: Correction | None, words: Words) -> Work:
    start, end = moment(step.start), moment(step.end)
    minutes = words("sheet.minutes", minutes=round((end - start).total_seconds() / 60)) if start and end else ""
    own = correction.cautions if correction else ()
    what = words.named("operation", correction.operation, otherwise=step.what) if correction else step.what
    return Work(
        clock=words.clock(start) if start else "",
        minutes=minutes,
        what=sentence_case(what),
        says="" if correction and correction.steps else step.says,
        cautions=tuple(words.caution(text) for text in dict.fromkeys((*step.cautions, *own))),
        steps=correction.steps if correction else (),
        fill_in=correction.fill_in if correction else (),
    )


def _unplanned(row: Correction, words: Words) -> Work:
    return Work(
        clock="",
        minutes=words("sheet.minutes", minutes=whole(row.minutes_now)),
        what=words.named("operation", row.operation, otherwise=row.name),
        says=row.because,
        cautions=tuple(words.caution(text) for text in row.cautions),
        steps=row.steps,
        fill_in=row.fill_in,
    )


def _places(account: Account) -> list[dict[str, str]]:
    rows = [row for row in account.findings if row.place]
    return [
        {
            "bold": f"{row.name}:",
            "text": typed(
                ", ".join(
                    f"{place} {value}".strip()
                    for place, value in zip(row.place, _values(row.value, len(row.place)), strict=True)
                )
            ),
        }
        for row in rows
    ]


def _values(values: tuple[str, ...], count: int) -> tuple[str, ...]:
    return (*values, *[""] * count)[:count]


def _consent(case: Case, currency: str, words: Words) -> str:
    minutes, amount = case.booked.looking_minutes, case.booked.looking_money
    if minutes is None and amount is None:
        return words("sheet.looking_none")
    said_minutes = "" if minutes is None else whole(minutes)
    said_money = "" if amount is None else money(amount, currency)
    key = (
        "looking"
        if minutes is not None and amount is not None
        else "looking_minutes"
        if amount is None
        else "looking_money"
    )
    return words(f"sheet.{key}", minutes=said_minutes, money=said_money)


def _asked(account: Account, words: Words) -> list[str]:
    return [
        words(
            "sheet.asked",
            operation=words.named("operation", row.operation, otherwise=row.name),
            price=price_words(row, account.currency, words),
        )
        for row in account.corrections
        if row.advice == "today"
    ]


def _release(account: Account, words: Words) -> list[str]:
    return [*words.several("sheet.release_list"), *(after_care_words(care, words) for care in account.after_care)]
