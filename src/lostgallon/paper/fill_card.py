"""The fill card: half a page for the glove box, with a code that holds plain text and opens nothing."""

from pathlib import Path
from typing import Any

from lostgallon.paper.figures import mpg_figure
from lostgallon.paper.headline import expected_figure
from lostgallon.paper.typeset import MARGIN_PT, PAPERS, Page, pdf_of, write_pdf
from lostgallon.paper.words import Words, words_of
from lostgallon.shop.account import Account
from lostgallon.shop.hand_back import HandBack
from lostgallon.shop.visit import Case

FILLS = 6


def write_fill_card(
    account: Account, case: Case, path: Path, *, page: Page = "letter", hand_back: HandBack | None = None
) -> None:
    """Writes the fill card as a PDF of half a page.

    Args:
        account: The account, for what the next fills should show.
        case: The visit.
        path: Where the PDF goes.
        page: Half of Letter or of A4.
        hand_back: The shop's number for the visit.

    Raises:
        BadFile: If the file can't be written.
    """
    write_pdf(fill_card_pdf(account, case, page=page, hand_back=hand_back), path)


def fill_card_pdf(account: Account, case: Case, *, page: Page = "letter", hand_back: HandBack | None = None) -> bytes:
    """The fill card as the bytes of a PDF."""
    content = fill_card_content(account, case, page=page, hand_back=hand_back or HandBack())
    return pdf_of("fill_card", content, day=case.visit.date)


def fill_card_content(account: Account, case: Case, *, page: Page, hand_back: HandBack) -> dict[str, Any]:
    """Everything the card prints, as plain data."""
    words = words_of(case)
    text = code_text(account, case, words, hand_back=hand_back)
    return {
        "paper": PAPERS[page],
        "margin": MARGIN_PT,
        "lang": words.language,
        "title": words("fill_card.title"),
        "visit": words("fill_card.visit", number=hand_back.visit_number) if hand_back.visit_number else "",
        "day": words.day(case.visit.date),
        "how": words("fill_card.how"),
        "expect": _expect(account, words),
        "heads": [words(f"fill_card.{head}") for head in ("date", "distance", "fuel", "full", "price")],
        "fills": FILLS,
        "code": _code(text),
        "code_alt": text,
        "code_says": words("fill_card.code_says"),
    }


def code_text(account: Account, case: Case, words: Words, *, hand_back: HandBack) -> str:
    """What the code holds: visit, day, and what to write down."""
    visit = words("fill_card.visit", number=hand_back.visit_number) + "," if hand_back.visit_number else ""
    said = words(
        "fill_card.code",
        title=words("fill_card.title"),
        visit=visit,
        day=words.day(case.visit.date),
        how=words("fill_card.how"),
        expect=_expect(account, words),
    )
    return " ".join(said.split())


def _expect(account: Account, words: Words) -> str:
    expected = account.proof.expected_l_per_100km
    if expected is None:
        return ""
    size, mpg = expected_figure(expected, factor=words.measure.fuel), mpg_figure(expected)
    return words(
        "fill_card.expect",
        size=words.ends(size.low, size.high),
        mpg=words.ends(mpg.low, mpg.high),
    )


def _code(text: str) -> str:
    import segno  # noqa: PLC0415 - only a printed card needs it

    made = segno.make(text, error="m", micro=False)
    return str(made.svg_inline(scale=4, border=4, omitsize=False))
