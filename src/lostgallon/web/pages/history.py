"""The history of a visit: every entry, who made it and when; nothing is ever removed."""

from dataclasses import dataclass

from lostgallon.paper.figures import typed
from lostgallon.shop.cards import Cards
from lostgallon.web.figures_form import YES_NO, choice_key
from lostgallon.web.pages.visit import entry_says
from lostgallon.web.say import Say
from lostgallon.web.sheet import Line, Sheet


@dataclass(frozen=True)
class HistoryRow:
    """One entry in words."""

    id: str
    what: str
    value: str
    who: str
    when: str
    undo: bool
    stands: bool


@dataclass(frozen=True)
class HistoryPage:
    """The page, newest first."""

    visit_id: str
    vehicle: str
    sealed: bool
    rows: tuple[HistoryRow, ...]


def history_page(sheet: Sheet, cards: Cards, say: Say) -> HistoryPage:
    """The history of a visit as it is shown."""
    told: dict[str, object] = {}
    rows = []
    for line in sheet.history:
        # What is taken back has no value of its own; it is named by what stood before.
        told[line.key] = line.value if line.value is not None else told.get(line.key)
        rows.append(_row(line, entry_says(line.key, cards, say, value=told[line.key]), sheet, cards=cards, say=say))
    return HistoryPage(visit_id=sheet.id, vehicle=sheet.vehicle, sealed=sheet.sealed, rows=tuple(reversed(rows)))


def _row(line: Line, what: str, sheet: Sheet, *, cards: Cards, say: Say) -> HistoryRow:
    return HistoryRow(
        id=line.id,
        what=what,
        value=_chosen(line, say) or _in_words(line.value, cards, say),
        who=line.who,
        when=say.when(line.at, sheet.now),
        undo=line.undo,
        stands=line.stands and line.value is not None,
    )


def _chosen(line: Line, say: Say) -> str:
    """A choice of the figures as its button says it; empty where the value was typed."""
    said = YES_NO[line.value] if isinstance(line.value, bool) else str(line.value)
    key = f"choice.{line.key}.{choice_key(said)}"
    return say(key) if key in say.words.table else say("no") if line.value is False else ""


def _in_words(value: object, cards: Cards, say: Say) -> str:
    if value is None or value is True:
        return ""
    if isinstance(value, dict):
        parts = [_in_words(part, cards, say) for key, part in value.items() if key != "check"]
        return "; ".join(part for part in parts if part)
    if isinstance(value, list):
        return ", ".join(_in_words(part, cards, say) for part in value)
    text = str(value)
    if f"result.{choice_key(text)}" in say.words.table:
        return say(f"result.{choice_key(text)}")
    return cards.states[text].name if text in cards.states else typed(say.told(text.replace("_", " ")))
