"""The steps of the booked job as a page lists them: minutes, what must be open for each, and which are done."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lostgallon.paper.sayings import sentence_case
from lostgallon.shop.cards import Cards
from lostgallon.web.pages.states import SHOWN
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet


@dataclass(frozen=True)
class BookedRow:
    """One step in words."""

    number: str
    entry: str
    what: str
    says: str
    done: bool


@dataclass(frozen=True)
class StepsPage:
    """The page: the job, its steps, and what can be open."""

    visit_id: str
    job: str
    rows: tuple[BookedRow, ...]
    states: tuple[tuple[str, str], ...]


def steps_page(sheet: Sheet, cards: Cards, say: Say) -> StepsPage:
    """The steps that were told of a visit's booked job."""
    states = tuple((name, cards.states[name].name) for name in SHOWN if name in cards.states)
    return StepsPage(
        visit_id=sheet.id,
        job=sentence_case(str(sheet.value("booked.operation", ""))),
        rows=tuple(
            BookedRow(
                number=number,
                entry=found.id,
                what=str(found.value["what"]),
                says=_says(found.value, dict(states), say),
                done=bool(found.value.get("done")),
            )
            for number, found in sorted(sheet.group("step"), key=lambda row: int(row[0]))
        ),
        states=states,
    )


def _says(step: Mapping[str, Any], states: dict[str, str], say: Say) -> str:
    parts = [say.minutes(float(step["minutes"]))]
    if step.get("wait_minutes"):
        parts.append(say("steps.then_waits", minutes=say.minutes(float(step["wait_minutes"]))))
    if named := tuple(states.get(name, name) for name in step.get("needs", ())):
        parts.append(say("steps.with_open", states=say.words.listed(named)))
    return ", ".join(parts)
