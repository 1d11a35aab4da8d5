"""The list of visits, the figures of one, and a vehicle over the years."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from lostgallon.paper.sayings import plain_sentence
from lostgallon.store import VisitSummary
from lostgallon.web.figures_form import GROUPS, Field
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
    job: str
    left: str
    stage: str
    day: str


@dataclass(frozen=True)
class ListPage:
    """The list: in the bay, waiting for proof, done."""

    find: str
    open: tuple[VisitRow, ...]
    proof: tuple[VisitRow, ...]
    done: tuple[VisitRow, ...]


def list_page(visits: Sequence[VisitSummary], *, find: str, now: dt.datetime, say: Say) -> ListPage:
    """The list of visits as it is shown."""
    rows = [(visit.stage, _row(visit, now, say)) for visit in visits]
    return ListPage(
        find=find,
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
    """One field as it is shown: what stands in it, the units it may be in, what is wrong with it."""

    field: Field
    typed: str
    units: tuple[str, ...]
    wrong: str


@dataclass(frozen=True)
class FiguresPage:
    """The figures of a visit."""

    visit_id: str
    vehicle: str
    groups: tuple[tuple[str, tuple[FieldRow, ...]], ...]
    wrong: int


def figures_page(sheet: Sheet, person: Person, *, typed: dict[str, str], wrong: dict[str, str]) -> FiguresPage:
    """The fields of a visit with what stands in them."""
    groups = tuple(
        (
            name,
            tuple(
                FieldRow(
                    field=field,
                    typed=typed.get(field.key, field.default if field.how in {"choice", "share"} else ""),
                    units=_units(field, person),
                    wrong=wrong.get(field.key, ""),
                )
                for field in fields
            ),
        )
        for name, fields in GROUPS
    )
    return FiguresPage(visit_id=sheet.id, vehicle=sheet.vehicle, groups=groups, wrong=len(wrong))


def _units(field: Field, person: Person) -> tuple[str, ...]:
    if field.how == "quantity":
        return person.units_of(field.kind)
    if field.how == "money" and field.kind == "volume":
        return person.units_of("fuel")
    return ()


@dataclass(frozen=True)
class PastVisit:
    """One visit of a vehicle: when, for what, how far, and what its account says."""

    id: str
    day: str
    job: str
    stage: str
    sentence: str


@dataclass(frozen=True)
class VehiclePage:
    """A vehicle over the years."""

    id: str
    vehicle: str
    plate: str
    vin: str
    owner: str
    owner_id: str
    visits: tuple[PastVisit, ...]


def vehicle_page(visits: Sequence[VisitSummary], sheets: Sequence[Sheet], now: dt.datetime, say: Say) -> VehiclePage:
    """A vehicle's visits, newest first."""
    by_id = {sheet.id: sheet for sheet in sheets}
    newest = visits[0]
    rows = []
    for visit in visits:
        sheet = by_id.get(visit.id)
        account = sheet.account if sheet else None
        rows.append(
            PastVisit(
                id=visit.id,
                day=say.when(visit.opened_at.astimezone().replace(tzinfo=None), now),
                job=visit.booked_job,
                stage=say(f"stage.{visit.stage.replace(' ', '_')}"),
                sentence=plain_sentence(account, say.words) if account else say("vehicle_page.no_account"),
            )
        )
    return VehiclePage(
        id=newest.vehicle.id,
        vehicle=newest.vehicle.description,
        plate=newest.vehicle.plate,
        vin=newest.vehicle.vin,
        owner=newest.owner.name if newest.owner else "",
        owner_id=newest.owner.id if newest.owner else "",
        visits=tuple(rows),
    )
