"""One check opened for entry: one instruction, its caution first, its fields."""

from dataclasses import dataclass, replace

from lostgallon.shop.account import FindingRow
from lostgallon.shop.cards import Cards, CheckCard
from lostgallon.web.finding_form import Entered, entered_for
from lostgallon.web.forms import split_unit
from lostgallon.web.pages.findings import Shown, listed, show_finding
from lostgallon.web.pages.interview import QUESTIONS
from lostgallon.web.pages.states import missing_states
from lostgallon.web.person import Person
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet

MOST_BUTTONS = 3


@dataclass(frozen=True)
class EntryPage:
    """The page of one check.

    Attributes:
        place: `3 of 7` in the opening interview, else empty.
        buttons: Whether a reading is saved by one tap.
        typed: What stands in the fields.
        units: Units a measured value may be in, the person's own first.
        wrong: One sentence for a field that can't be used.
        before: What was recorded before, or None.
        gauges: Gauges that read off and the one that does not, by name and in words; empty where there is none.
        gauge: The one that was used last in this visit.
        gone: Why the check is not possible now; empty where it is.
    """

    visit_id: str
    card: CheckCard
    entered: Entered
    place: str
    why: str
    buttons: bool
    units: tuple[str, ...]
    temperature_units: tuple[str, ...]
    typed: dict[str, str]
    wrong: dict[str, str]
    before: Shown | None
    before_entry: str
    needs: tuple[str, ...]
    wait_minutes: int
    gauges: tuple[tuple[str, str], ...] = ()
    gauge: str = ""


def entry_page(
    sheet: Sheet, card: CheckCard, cards: Cards, say: Say, *, typed: dict[str, str], wrong: dict[str, str]
) -> EntryPage:
    """The page of a check of a visit."""
    worth = next((row for row in sheet.account.checks if row.check == card.id), None) if sheet.account else None
    found = sheet.findings.get(card.id)
    cylinders = int(sheet.value("vehicle.cylinders", 4))
    place = ""
    if card.id in QUESTIONS:
        place = say("interview.place", number=QUESTIONS.index(card.id) + 1, of=len(QUESTIONS))
    return EntryPage(
        visit_id=sheet.id,
        card=card,
        entered=entered_for(card, cylinders),
        place=place,
        why=say.sentence(worth.why) if worth else "",
        buttons=len(card.readings) <= MOST_BUTTONS and card.measure is None,
        units=say.person.units_of(card.measure.kind) if card.measure else (),
        temperature_units=say.person.units_of("temperature"),
        typed=typed or _typed(sheet, card, say.person),
        wrong=wrong,
        before=show_finding(found, card, say, sheet=sheet, judged=_judged(sheet, card)) if found else None,
        before_entry=found.id if found else "",
        needs=missing_states(card.needs, sheet, cards),
        wait_minutes=round(card.wait_minutes),
    )


def with_gauges(page: EntryPage, known: tuple[tuple[str, str], ...], sheet: Sheet, say: Say) -> EntryPage:
    """The same page with the choice of the gauge; what was used last in this visit is chosen."""
    names = {name for name, _ in known}
    used = [str(found.value.get("gauge", "")) for _, found in sheet.group("finding") if found.value.get("value")]
    last = next((name for name in reversed(used) if name in names), "")
    return replace(
        page, gauges=(("", say("check.gauge_right")), *known), gauge=page.typed.get("gauge", last) if names else ""
    )


def _judged(sheet: Sheet, card: CheckCard) -> FindingRow | None:
    rows = sheet.account.findings if sheet.account else ()
    return next((row for row in reversed(rows) if row.check == card.id), None)


def _beside_units(typed: dict[str, str], card: CheckCard, person: Person) -> dict[str, str]:
    """Figures without the unit that is chosen beside them."""
    kinds = {"at": "temperature", "limit": card.measure.kind if card.measure else "share"}
    for name, kind in kinds.items():
        if name in typed:
            typed[name], typed[f"{name}_unit"] = split_unit(typed[name], person.units_of(kind))
    return typed


def _typed(sheet: Sheet, card: CheckCard, person: Person) -> dict[str, str]:
    found = sheet.findings.get(card.id)
    if found is None:
        placard = sheet.value("vehicle.tire_placard")
        if card.id == "tire_pressure" and placard:
            stated = {"limit": str(placard), "limit_source": "placard", "at": str(sheet.value("visit.bay", ""))}
            return _beside_units(stated, card, person)
        return {}
    value = found.value
    if sheet.work_since(found):
        # How it came out is read anew; only the limit stays what it was.
        value = {name: value[name] for name in ("limit", "limit_source") if name in value}
    places = entered_for(card, int(sheet.value("vehicle.cylinders", 4))).places
    typed = {name: str(value[name]) for name in ("limit", "limit_source", "at") if value.get(name)}
    typed = _beside_units(typed, card, person)
    for text, where in zip(listed(value, "value"), listed(value, "place") or ("",), strict=False):
        typed[f"value_{places.index(where) if where in places else 0}"] = str(text)
    if value.get("codes"):
        typed["codes"] = " ".join(listed(value, "codes"))
    return typed
