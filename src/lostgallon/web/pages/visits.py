"""The list of visits, and the figures of one."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from lostgallon.store import VisitSummary
from lostgallon.web.figures_form import GROUPS, Field
from lostgallon.web.forms import split_unit
from lostgallon.web.person import Person
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet


@dataclass(frozen=True)
class VisitRow:
    """One visit of the list."""

    id: str
    vehicle_id: str
    vehicle: str
    plate: str
    owner: str
    owner_id: str
    job: str
    left: str
    stage: str
    day: str


@dataclass(frozen=True)
class ListPage:
    """The list: in the bay, waiting for proof, done; and what is wrong with the clock of this computer."""

    find: str
    clock: str
    open: tuple[VisitRow, ...]
    proof: tuple[VisitRow, ...]
    done: tuple[VisitRow, ...]


def list_page(visits: Sequence[VisitSummary], *, find: str, now: dt.datetime, clock: str, say: Say) -> ListPage:
    """The list of visits as it is shown."""
    rows = [(visit.stage, _row(visit, now, say)) for visit in visits]
    return ListPage(
        find=find,
        clock=clock,
        open=tuple(row for stage, row in rows if stage == "in the bay"),
        proof=tuple(row for stage, row in rows if stage in {"handed back", "proof"}),
        done=tuple(row for stage, row in rows if stage == "closed"),
    )


def _row(visit: VisitSummary, now: dt.datetime, say: Say) -> VisitRow:
    opened = visit.opened_at.astimezone().replace(tzinfo=None)
    return VisitRow(
        id=visit.id,
        vehicle_id=visit.vehicle.id,
        vehicle=visit.vehicle.description,
        plate=visit.vehicle.plate,
        owner=visit.owner.name if visit.owner else "",
        owner_id=visit.owner.id if visit.owner and visit.owner.name else "",
        job=visit.booked_job,
        left=_time_left(visit, now, say),
        stage=say(f"stage.{visit.stage.replace(' ', '_')}"),
        day=say.when(opened, now),
    )


def _time_left(visit: VisitSummary, now: dt.datetime, say: Say) -> str:
    if visit.stage != "in the bay" or visit.promised is None:
        return ""
    minutes = (visit.promised - now).total_seconds() / 60.0
    if minutes < 0:
        return say("visits.past", clock=say.when(visit.promised, now))
    return say("visits.left", minutes=say.minutes(minutes), clock=say.clock(visit.promised))


@dataclass(frozen=True)
class FieldRow:
    """One field as it is shown.

    Attributes:
        field: Which one.
        typed: What stands in it.
        units: Units it may be in.
        unit: The one it is in.
        wrong: What is wrong with it, or empty.
        turn: Which of those that a phone asks one by one; 0 for none.
        kept: Whether it was answered before.
    """

    field: Field
    typed: str
    units: tuple[str, ...]
    unit: str
    wrong: str
    turn: int = 0
    kept: bool = False


@dataclass(frozen=True)
class FiguresPage:
    """The figures of a visit."""

    visit_id: str
    vehicle: str
    groups: tuple[tuple[str, tuple[FieldRow, ...]], ...]
    turns: int
    wrong: int


def figures_page(sheet: Sheet, person: Person, *, typed: dict[str, str], wrong: dict[str, str]) -> FiguresPage:
    """The fields of a visit with what stands in them."""
    turns = [field.key for _, fields in GROUPS for field in fields if field.needed or field.asked]

    def row(field: Field) -> FieldRow:
        shown = _field_row(field, person, typed=typed, wrong=wrong.get(field.key, ""))
        turn = turns.index(field.key) + 1 if field.key in turns else 0
        return replace(shown, turn=turn, kept=field.key in sheet.standing)

    groups = tuple((name, tuple(row(field) for field in fields)) for name, fields in GROUPS)
    return FiguresPage(visit_id=sheet.id, vehicle=sheet.vehicle, groups=groups, turns=len(turns), wrong=len(wrong))


def _field_row(field: Field, person: Person, *, typed: dict[str, str], wrong: str) -> FieldRow:
    units = _units(field, person)
    said = typed.get(field.key, field.default if field.choices else "")
    text, unit = split_unit(said, units)
    chosen = unit or typed.get(f"{field.key}_unit", "")
    return FieldRow(field=field, typed=text, units=units, unit=chosen or (units[0] if units else ""), wrong=wrong)


def _units(field: Field, person: Person) -> tuple[str, ...]:
    if field.how == "quantity":
        return person.units_of(field.kind)
    if field.how == "money" and field.kind == "volume":
        return person.units_of("fuel")
    return ()
