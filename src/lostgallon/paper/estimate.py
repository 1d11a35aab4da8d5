"""The written estimate: what today's work costs, line by line, for the owner to agree to."""

from datetime import datetime
from pathlib import Path
from typing import Any

from lostgallon.paper.figures import typed, whole
from lostgallon.paper.sayings import ended, money, vehicle_line
from lostgallon.paper.told_record import told_record
from lostgallon.paper.typeset import MARGIN_PT, PAPERS, Page, pdf_of, write_pdf
from lostgallon.paper.words import Words, words_of
from lostgallon.shop.account import Account, Estimate, EstimateLine
from lostgallon.shop.hand_back import HandBack
from lostgallon.shop.visit import Case


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
    write_pdf(estimate_pdf(account, case, page=page, hand_back=hand_back), path)


def estimate_pdf(account: Account, case: Case, *, page: Page = "letter", hand_back: HandBack | None = None) -> bytes:
    """The estimate as the bytes of a PDF."""
    words = words_of(case)
    account = told_record(account, words)
    content = {
        "paper": PAPERS[page],
        "margin": MARGIN_PT,
        "lang": words.language,
        "title": words("estimate.title"),
        "estimate": estimate_content(account, case, words, hand_back=hand_back or HandBack()),
    }
    return pdf_of("estimate", content, day=case.visit.date)


def estimate_content(account: Account, case: Case, words: Words, *, hand_back: HandBack) -> dict[str, Any]:
    """Everything the estimate prints, as plain data; without prices while the vehicle is stopped as unsafe."""
    letterhead, made = hand_back.letterhead, None if account.stop else account.estimate
    return {
        "title": words("estimate.title"),
        "from": [letterhead.name, *letterhead.lines] if letterhead else [words("letter.blank_from")],
        "day": words.day(case.visit.date),
        "vehicle": words("letter.about", vehicle=vehicle_line(case, words)),
        "heads": [words(f"estimate.{head}") for head in ("work", "minutes", "labor", "parts", "fees", "total")],
        "rows": [_row(line, account.currency, words) for line in made.lines] if made else [],
        "sum": words("estimate.sum"),
        "total": cents(made.total_money if made else 0.0, account.currency),
        "nothing": words("estimate.stop") if account.stop else words("estimate.none"),
        "parts": _range(made, account.currency, words) if made else "",
        "valid": _valid(made, case, words) if made else "",
        "agree": words("estimate.agree"),
        "deferral": words("deferral"),
    }


def cents(amount: float, currency: str) -> str:
    """An amount to the cent: `$185.00`, `185.00 EUR`."""
    text = f"{amount:,.2f}".replace(",", "\N{NO-BREAK SPACE}")
    return f"${text}" if currency == "USD" else f"{text} {currency}"


def _row(line: EstimateLine, currency: str, words: Words) -> dict[str, Any]:
    parts = round(line.total_money - line.labor_money - line.fees_money, 2) + 0.0
    agreed = f" {ended(line.agreed)}" if line.agreed else ""
    done = f"{ended(words('estimate.done'))} " if line.done else ""
    return {
        "work": words.named("operation", line.operation, otherwise=line.name),
        "why": f"{done}{ended(words('estimate.why', because=typed(line.why)))}{agreed}",
        "figures": [
            whole(line.minutes),
            *(cents(amount, currency) for amount in (line.labor_money, parts, line.fees_money, line.total_money)),
        ],
    }


def _range(made: Estimate, currency: str, words: Words) -> str:
    """What the whole can come to with the lowest and the highest price of the parts; empty where that is sure."""
    low, high = money(made.low_money, currency), money(made.high_money, currency)
    return words("estimate.range", low=low, high=high) if low != high else ""


def _valid(made: Estimate, case: Case, words: Words) -> str:
    until = datetime.fromisoformat(made.valid_until)
    said = words("estimate.valid", day=words.day(case.visit.date), clock=words.clock(until), until=words.day(until))
    return f"{said} {ended(made.says)}"
