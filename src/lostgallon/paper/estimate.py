"""The written estimate: what today's work costs, line by line, for the owner to agree to."""

from pathlib import Path
from typing import Any

from lostgallon.paper.figures import whole
from lostgallon.paper.sayings import money, vehicle_line
from lostgallon.paper.told_record import told_record
from lostgallon.paper.typeset import MARGIN_PT, PAPERS, Page, pdf_of, write_pdf
from lostgallon.paper.words import Words, words_of
from lostgallon.shop.account import Account, Correction
from lostgallon.shop.hand_back import HandBack
from lostgallon.shop.visit import Case

_SURE_OF_PARTS = 0.01


def write_estimate(
    account: Account, case: Case, path: Path, *, page: Page = "letter", hand_back: HandBack | None = None
) -> None:
    """Writes the estimate alone as a PDF.

    Args:
        account: The account with its corrections.
        case: The visit.
        path: Where the PDF goes.
        page: Letter or A4.
        hand_back: The shop's letterhead.

    Raises:
        BadFile: If the file can't be written.
    """
    words = words_of(case)
    account = told_record(account, words)
    content = {
        "paper": PAPERS[page],
        "margin": MARGIN_PT,
        "lang": words.language,
        "title": words("estimate.title"),
        "estimate": estimate_content(account, case, words, hand_back=hand_back or HandBack()),
    }
    write_pdf(pdf_of("estimate", content, day=case.visit.date), path)


def estimate_content(account: Account, case: Case, words: Words, *, hand_back: HandBack) -> dict[str, Any]:
    """Everything the estimate prints, as plain data; without prices while the vehicle is stopped as unsafe."""
    letterhead = hand_back.letterhead
    priced = [] if account.stop else [row for row in account.corrections if row.advice == "today" and _is_priced(row)]
    return {
        "title": words("estimate.title"),
        "from": [letterhead.name, *letterhead.lines] if letterhead else [words("letter.blank_from")],
        "day": words.day(case.visit.date),
        "vehicle": words("letter.about", vehicle=vehicle_line(case, words)),
        "heads": [words(f"estimate.{head}") for head in ("work", "minutes", "labor", "parts", "fees", "total")],
        "rows": [_row(row, account.currency, words) for row in priced],
        "sum": words("estimate.sum"),
        "total": cents(sum(row.total_money or 0.0 for row in priced), account.currency),
        "nothing": words("estimate.stop") if account.stop else words("estimate.none"),
        "parts": _parts_note(priced, account.currency, words),
        "valid": words("estimate.valid", day=words.day(case.visit.date)),
        "agree": words("estimate.agree"),
        "deferral": words("deferral"),
    }


def _is_priced(row: Correction) -> bool:
    return row.labor_money is not None and row.parts_money is not None and row.total_money is not None


def cents(amount: float, currency: str) -> str:
    """An amount to the cent: `$185.00`, `185.00 EUR`."""
    text = f"{amount:,.2f}".replace(",", "\N{NO-BREAK SPACE}")
    return f"${text}" if currency == "USD" else f"{text} {currency}"


def _row(row: Correction, currency: str, words: Words) -> dict[str, Any]:
    # Parts are listed at their middle price; what is left to the total is fees and tax.
    labor, parts, total = (
        row.labor_money or 0.0,
        row.parts_money.p50 if row.parts_money else 0.0,
        row.total_money or 0.0,
    )
    return {
        "work": words.named("operation", row.operation, otherwise=row.name),
        "why": words("estimate.why", because=row.because),
        "figures": [
            whole(row.minutes_now),
            *(cents(amount, currency) for amount in (labor, parts, round(total - labor - parts, 2) + 0.0, total)),
        ],
    }


def _parts_note(rows: list[Correction], currency: str, words: Words) -> str:
    ranges = tuple(
        f"{words.named('operation', row.operation, otherwise=row.name)} "
        + words("clock.to", low=money(row.parts_money.p05, currency), high=money(row.parts_money.p95, currency))
        for row in rows
        if row.parts_money and row.parts_money.p95 - row.parts_money.p05 > _SURE_OF_PARTS
    )
    return words("estimate.parts_range", ranges=words.listed(ranges)) if ranges else ""
