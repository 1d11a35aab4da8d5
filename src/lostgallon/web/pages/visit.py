"""The page of one visit, in the order of the work."""

from dataclasses import dataclass
from typing import Literal

from lostgallon.paper.sayings import vehicle_line
from lostgallon.shop.account import Stop
from lostgallon.shop.cards import Cards
from lostgallon.web.pages.checks import Checks, checks_of
from lostgallon.web.pages.concern import Concern, concern_of
from lostgallon.web.pages.corrections import Corrections, corrections_of
from lostgallon.web.pages.explains import Explains, explains_of
from lostgallon.web.pages.findings import Findings, findings_of
from lostgallon.web.pages.hand_back import HandBack, hand_back_of
from lostgallon.web.pages.next_step import NextStep, next_step
from lostgallon.web.pages.proof import ProofPage, proof_of
from lostgallon.web.pages.real import Real, real_of
from lostgallon.web.pages.time import Time, time_of
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet

SECTIONS = ("concern", "real", "explains", "checks", "findings", "corrections", "time", "handback", "proof")
Mark = Literal["done", "here", "later"]


@dataclass(frozen=True)
class VisitPage:
    """The page."""

    id: str
    vehicle: str
    describes: str
    booked: str
    promised: str
    clock: str
    fresh: bool
    trouble: str
    lacking: tuple[str, ...]
    sealed: bool
    stop: Stop | None
    marks: dict[str, Mark]
    next: NextStep
    concern: Concern
    real: Real | None
    explains: Explains | None
    checks: Checks | None
    findings: Findings
    corrections: Corrections | None
    time: Time | None
    hand_back: HandBack
    proof: ProofPage | None
    undo: str
    undo_says: str


def visit_page(sheet: Sheet, cards: Cards, say: Say, *, saved: str = "") -> VisitPage:
    """The page of a visit.

    Args:
        sheet: The visit.
        cards: The catalogue.
        say: The person's words and units.
        saved: The id of the entry that was just made, to offer its undo.
    """
    step = next_step(sheet, cards, say)
    promised = sheet.case.visit.promised if sheet.case else None
    made = next((found for found in sheet.standing.values() if found.id == saved), None)
    return VisitPage(
        id=sheet.id,
        vehicle=sheet.vehicle,
        describes=vehicle_line(sheet.case, say.words) if sheet.case else "",
        booked=str(sheet.value("booked.operation", "")),
        promised=say.clock(promised) if promised else "",
        clock=say.clock(sheet.now),
        fresh=sheet.fresh,
        trouble=sheet.trouble,
        lacking=sheet.lacking,
        sealed=sheet.sealed,
        stop=sheet.account.stop if sheet.account else None,
        marks=_marks(step.section),
        next=step,
        concern=concern_of(sheet, say),
        real=real_of(sheet, say),
        explains=explains_of(sheet, say),
        checks=checks_of(sheet, cards, say),
        findings=findings_of(sheet, cards, say),
        corrections=corrections_of(sheet, cards, say),
        time=time_of(sheet, say),
        hand_back=hand_back_of(sheet, cards, say),
        proof=proof_of(sheet, say),
        undo=made.id if made else "",
        undo_says=entry_says(made.key, cards, say, value=made.value) if made else "",
    )


def _marks(here: str) -> dict[str, Mark]:
    at = SECTIONS.index(here)
    return {name: "here" if name == here else "done" if place < at else "later" for place, name in enumerate(SECTIONS)}


def entry_says(key: str, cards: Cards, say: Say, *, value: object) -> str:
    """What an entry is, in words: `Tire pressure`, `Agreed: replace thermostat`."""
    name, _, rest = key.partition(".")
    if name == "finding" and isinstance(value, dict):
        check = str(value.get("check", ""))
        return cards.checks[check].name if check in cards.checks else check
    head = rest.partition(".")[0]
    if head in cards.operations:
        return say(f"entry.{name}", name=cards.operations[head].name)
    if name == "release":
        return say("entry.release", name=say(f"release.{head}"))
    if name in {"vehicle", "use", "then", "now", "visit", "booked", "shop"}:
        return say.words.named("field", key)
    return say.words.named("entry", name).format(name="")
