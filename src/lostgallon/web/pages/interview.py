"""The opening interview: the questions that carry the most belief per minute, one at a time."""

from dataclasses import dataclass

from lostgallon.shop.cards import Cards, CheckCard
from lostgallon.web.sheet import Sheet

QUESTIONS = (
    "ask_smell_security",
    "ask_onset",
    "ask_trips",
    "ask_route_speed",
    "ask_tires_when",
    "ask_climate_use",
    "ask_last_work",
)
"""In this order while the account has no order of its own: danger first, then the most told per minute."""


@dataclass(frozen=True)
class Asked:
    """A question and its place in the interview, from 1."""

    card: CheckCard
    number: int
    of: int


def next_question(sheet: Sheet, cards: Cards) -> Asked | None:
    """The first question without a record, or None."""
    if sheet.sealed or sheet.value("stage.asked"):
        return None
    for number, check in enumerate(QUESTIONS, 1):
        if check in cards.checks and check not in sheet.findings:
            return Asked(cards.checks[check], number, len(QUESTIONS))
    return None
