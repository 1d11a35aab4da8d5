"""The one thing that is next, under the thumb: rules in order, the first that holds decides."""

from collections.abc import Callable
from dataclasses import dataclass

from lostgallon.shop.cards import Cards
from lostgallon.web.pages.checks import name_of
from lostgallon.web.pages.corrections import undecided
from lostgallon.web.pages.hand_back import release_items
from lostgallon.web.pages.interview import next_question
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet


@dataclass(frozen=True)
class NextStep:
    """What is next: in words, a note, and the button with its address. `section` is where the person is."""

    what: str
    note: str
    label: str
    href: str
    section: str


@dataclass(frozen=True)
class At:
    """Where a rule looks: the visit, the catalogue, the person's words."""

    sheet: Sheet
    cards: Cards
    say: Say


Rule = Callable[[At], NextStep | None]


def next_step(sheet: Sheet, cards: Cards, say: Say) -> NextStep:
    """What is next in a visit."""
    for rule in (_proof, _lacking, _stop, _ask, _wait, _account, _check, _consent, _correct, _release):
        found = rule(At(sheet, cards, say))
        if found:
            return found
    return NextStep(
        say("next.letter"), say("next.letter_note"), say("next.read"), f"/visit/{sheet.id}/hand-back", "handback"
    )


def _lacking(at: At) -> NextStep | None:
    if at.sheet.case is not None:
        return None
    return NextStep(
        at.say("next.lacking"),
        at.say("next.lacking_note"),
        at.say("next.enter"),
        f"/visit/{at.sheet.id}/figures",
        "concern",
    )


def _stop(at: At) -> NextStep | None:
    stop = at.sheet.account.stop if at.sheet.account else None
    if stop is None:
        return None
    if stop.cleared_by in at.cards.checks:
        name = at.cards.checks[stop.cleared_by].name
        return NextStep(
            name,
            at.say("next.stop_note"),
            at.say("next.look"),
            f"/visit/{at.sheet.id}/check/{stop.cleared_by}",
            "checks",
        )
    return NextStep(
        at.say("next.stopped"), stop.cleared_by, at.say("next.why"), f"/visit/{at.sheet.id}#corrections", "corrections"
    )


def _ask(at: At) -> NextStep | None:
    asked = next_question(at.sheet, at.cards)
    if asked is None:
        return None
    return NextStep(
        at.say("next.ask"),
        asked.card.name,
        at.say("next.ask_it"),
        f"/visit/{at.sheet.id}/check/{asked.card.id}",
        "concern",
    )


def _wait(at: At) -> NextStep | None:
    waits = at.sheet.group("wait")
    if not waits:
        return None
    number, found = waits[0]
    return NextStep(
        str(found.value.get("what", "")),
        at.say("next.wait_note"),
        at.say("next.see"),
        f"/visit/{at.sheet.id}/wait/{number}",
        "time",
    )


def _account(at: At) -> NextStep | None:
    if at.sheet.account is not None:
        return None
    note = at.sheet.trouble or at.say("next.account_note")
    return NextStep(at.say("next.account"), note, at.say("next.checks"), f"/visit/{at.sheet.id}/checks", "checks")


def _check(at: At) -> NextStep | None:
    if at.sheet.account is None or at.sheet.value("stage.looked"):
        return None
    for worth in at.sheet.account.checks:
        if worth.fits and worth.check not in at.sheet.findings and worth.acts_money + worth.explains_money > 0.5:
            note = at.say("next.check_note", minutes=at.say.minutes(worth.minutes))
            return NextStep(
                name_of(worth, at.cards),
                note,
                at.say("next.start"),
                f"/visit/{at.sheet.id}/check/{worth.check}",
                "checks",
            )
    return None


def _consent(at: At) -> NextStep | None:
    if at.sheet.account is None:
        return None
    for correction in at.sheet.account.corrections:
        if correction.advice in {"today", "stop"} and undecided(correction, at.sheet):
            return NextStep(
                at.say("next.consent"), correction.name, at.say("next.open"),
                f"/visit/{at.sheet.id}/correction/{correction.operation}", "corrections",
            )  # fmt: skip
    return None


def _correct(at: At) -> NextStep | None:
    for operation, consent in at.sheet.group("consent"):
        if consent.value.get("answer") == "yes" and not at.sheet.value(f"done.{operation}"):
            name = at.cards.operations[operation].name if operation in at.cards.operations else operation
            return NextStep(
                name,
                at.say("next.agreed"),
                at.say("next.open"),
                f"/visit/{at.sheet.id}/correction/{operation}",
                "corrections",
            )
    return None


def _release(at: At) -> NextStep | None:
    waiting = [item for item in release_items(at.sheet, at.say) if not item.answer]
    if at.sheet.account is None or not waiting:
        return None
    return NextStep(
        at.say("next.release"), at.say("next.release_note", count=len(waiting)), at.say("next.open"),
        f"/visit/{at.sheet.id}/hand-back", "handback",
    )  # fmt: skip


def _proof(at: At) -> NextStep | None:
    if not at.sheet.sealed:
        return None
    return NextStep(
        at.say("next.tank"), at.say("next.tank_note"), at.say("next.enter"), f"/visit/{at.sheet.id}/proof", "proof"
    )
