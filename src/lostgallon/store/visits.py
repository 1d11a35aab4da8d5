"""Visits: opening one, and the list with vehicle, owner, booked job, promised time and stage."""

import datetime as dt
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Select, and_, exists, func, insert, or_, select

from lostgallon.shop.trouble import BadInput
from lostgallon.store import cards, schema, written
from lostgallon.store.records import OwnerCard, Stage, VehicleCard, VisitSummary

_NEVER = dt.datetime(9999, 12, 31)  # noqa: DTZ001 - promises are the shop's local times
_LISTED_KEYS = ("booked.operation", "visit.date", "visit.promised", "stage.closed")


@dataclass(frozen=True)
class VisitDraft:
    """A visit before it is opened: ids of known cards, or cards to keep under the new ids."""

    new_id: str
    new_vehicle_id: str
    new_owner_id: str
    vehicle: VehicleCard | str
    owner: OwnerCard | str | None
    who: str
    at: dt.datetime
    idempotency_key: str


def open_visit(connection: Connection, draft: VisitDraft) -> VisitSummary:
    """Open a visit with its cards; the one already opened under the same mark is handed back."""
    known = connection.scalar(select(schema.visit.c.id).where(schema.visit.c.idempotency_key == draft.idempotency_key))
    if known:
        return one_visit(connection, known)
    vehicle = cards.vehicle_card(connection, draft.vehicle) if isinstance(draft.vehicle, str) else draft.vehicle
    whose = vehicle.owner_id
    if isinstance(draft.owner, str):
        whose = cards.owner_card(connection, draft.owner).id
    elif draft.owner is not None:
        whose = cards.keep_owner(connection, draft.owner, draft.new_owner_id).id
    kept = cards.keep_vehicle(connection, replace(vehicle, owner_id=whose), draft.new_vehicle_id)
    values = {
        "id": draft.new_id,
        "vehicle_id": kept.id,
        "opened_at": written.as_text(draft.at),
        "opened_by": written.check_text("who", draft.who),
        "idempotency_key": draft.idempotency_key,
        "owner_id": whose,
    }
    connection.execute(insert(schema.visit).values(**values))
    return one_visit(connection, draft.new_id)


def list_visits(
    connection: Connection, *, search: str = "", open_only: bool = False, vehicle_id: str | None = None, limit: int
) -> tuple[VisitSummary, ...]:
    """Visits, open ones first by the promised time, then the newest."""
    if "\0" in search:
        # No text that is kept holds one; SQLite would take it for the end of the word, PostgreSQL for an error.
        return ()
    chosen = _visits()
    if vehicle_id is not None:
        chosen = chosen.where(schema.visit.c.vehicle_id == vehicle_id)
    if open_only:
        chosen = chosen.where(~_is_closed())
    holds_booked = exists().where(
        schema.entry.c.visit_id == schema.visit.c.id, schema.entry.c.key == "booked.operation"
    )
    for word in search.split():
        on_card = or_(*(column.icontains(word, autoescape=True) for column in cards.searched_columns()))
        chosen = chosen.where(
            or_(
                on_card,
                schema.visit.c.opened_at.startswith(word, autoescape=True),
                holds_booked.where(schema.entry.c.value.icontains(word, autoescape=True)),
            )
        )
    rows = connection.execute(chosen.order_by(_is_closed(), schema.visit.c.opened_at.desc()).limit(limit)).all()
    return tuple(sorted(_summaries(connection, rows), key=_urgency))


def one_visit(connection: Connection, visit_id: str) -> VisitSummary:
    """One visit of a list.

    Raises:
        BadInput: If there is none of this id.
    """
    rows = connection.execute(_visits().where(schema.visit.c.id == visit_id)).all()
    if not rows:
        raise BadInput("", found=f"no visit {visit_id!r}", expected="a visit of this shop")
    return next(iter(_summaries(connection, rows)))


def _visits() -> Select[Any]:
    vehicle, owner = schema.vehicle.c, schema.owner.c
    return (
        select(
            schema.visit.c.id.label("visit_id"), schema.visit.c.opened_at,
            vehicle.id, vehicle.description, vehicle.vin, vehicle.plate, vehicle.owner_id,
            owner.id.label("visit_owner_id"), owner.name, owner.phone, owner.email, owner.language,
        )
        .select_from(schema.visit)
        .join(schema.vehicle)
        .join(schema.owner, schema.visit.c.owner_id == owner.id, isouter=True)
    )  # fmt: skip


def _is_closed() -> ColumnElement[bool]:
    sealed = exists().where(schema.seal.c.visit_id == schema.visit.c.id)
    closing, later = schema.entry.alias(), schema.entry.alias()
    taken_back = exists().where(
        later.c.visit_id == closing.c.visit_id, later.c.key == closing.c.key, later.c.number > closing.c.number
    )
    closed = exists().where(
        closing.c.visit_id == schema.visit.c.id,
        closing.c.key == "stage.closed",
        closing.c.value.is_not(None),
        ~taken_back,
    )
    return or_(sealed, closed)


def _summaries(connection: Connection, rows: Sequence[Row[Any]]) -> list[VisitSummary]:
    ids = [row.visit_id for row in rows]
    told, sealed, tanks = _told(connection, ids), _with_seal(connection, ids), _with_tanks(connection, ids)
    counts = _counts(connection, ids)
    return [
        _summary(
            row,
            told.get(row.visit_id, {}),
            stage=_stage(row.visit_id, told, sealed, tanks),
            count=counts.get(row.visit_id),
        )
        for row in rows
    ]


def _told(connection: Connection, ids: list[str]) -> dict[str, dict[str, Any]]:
    table = schema.entry
    newest = (
        select(func.max(table.c.number).label("number"), table.c.visit_id)
        .where(table.c.visit_id.in_(ids), table.c.key.in_(_LISTED_KEYS))
        .group_by(table.c.visit_id, table.c.key)
        .subquery()
    )
    joined = and_(table.c.visit_id == newest.c.visit_id, table.c.number == newest.c.number)
    told: dict[str, dict[str, Any]] = {}
    for row in connection.execute(select(table.c.visit_id, table.c.key, table.c.value).join(newest, joined)):
        if row.value is not None:
            told.setdefault(row.visit_id, {})[row.key] = json.loads(row.value)
    return told


def _with_seal(connection: Connection, ids: list[str]) -> set[str]:
    return set(connection.scalars(select(schema.seal.c.visit_id).where(schema.seal.c.visit_id.in_(ids))))


def _with_tanks(connection: Connection, ids: list[str]) -> set[str]:
    table = schema.entry
    return set(
        connection.scalars(
            select(table.c.visit_id).where(table.c.visit_id.in_(ids), table.c.key.startswith("tank.")).distinct()
        )
    )


def _counts(connection: Connection, ids: list[str]) -> dict[str, tuple[int, str]]:
    table = schema.entry
    rows = connection.execute(
        select(table.c.visit_id, func.max(table.c.number), func.max(table.c.kept_at))
        .where(table.c.visit_id.in_(ids))
        .group_by(table.c.visit_id)
    )
    return {visit_id: (number, kept_at) for visit_id, number, kept_at in rows}


def _stage(visit_id: str, told: dict[str, dict[str, Any]], sealed: set[str], tanks: set[str]) -> Stage:
    if visit_id in sealed:
        return "proof" if visit_id in tanks else "handed back"
    return "closed" if "stage.closed" in told.get(visit_id, {}) else "in the bay"


def _summary(row: Row[Any], told: dict[str, Any], *, stage: Stage, count: tuple[int, str] | None) -> VisitSummary:
    day, promised = told.get("visit.date"), told.get("visit.promised")
    return VisitSummary(
        id=row.visit_id,
        vehicle=cards.vehicle_of(row),
        owner=_owner_of_visit(row),
        booked_job=told.get("booked.operation", ""),
        date=dt.date.fromisoformat(day) if day else None,
        promised=dt.datetime.fromisoformat(promised) if promised else None,
        stage=stage,
        opened_at=written.as_moment(row.opened_at),
        last_entry_at=written.as_moment(count[1]) if count else None,
        entries=count[0] if count else 0,
    )


def _urgency(summary: VisitSummary) -> tuple[bool, dt.datetime, float]:
    is_open = summary.stage == "in the bay"
    promised = summary.promised if is_open and summary.promised else _NEVER
    return (not is_open, promised, -summary.opened_at.timestamp())


def _owner_of_visit(row: Row[Any]) -> OwnerCard | None:
    if row.visit_owner_id is None:
        return None
    return OwnerCard(row.name, row.phone, row.email, row.language, row.visit_owner_id)
