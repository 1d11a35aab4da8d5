"""One vehicle or one owner, whole, for the owner or another program: JSON that says what it is, and the files."""

import json
from collections.abc import Iterable
from pathlib import Path

from sqlalchemy import select

from lostgallon.shop.wire import SCHEMA, plain
from lostgallon.store import archive, schema
from lostgallon.store.plainly import said_plainly
from lostgallon.store.records import Entry, OwnerCard, Seal, VehicleCard, VisitSummary
from lostgallon.store.references import files_named
from lostgallon.store.store import Store

RECORD = "record.json"


def visits_of_owner(store: Store, owner_id: str) -> tuple[VisitSummary, ...]:
    """Every visit of an owner, the oldest first."""
    ids = store.read(
        lambda connection: connection.scalars(
            select(schema.visit.c.id).where(schema.visit.c.owner_id == owner_id).order_by(schema.visit.c.opened_at)
        ).all()
    )
    return tuple(store.visit(visit_id) for visit_id in ids)


def export_owner(store: Store, owner_id: str, target: Path) -> None:
    """Write everything kept of an owner: card, vehicles, visits with history and seals, files.

    Raises:
        BadInput: If there is no such owner.
        CantKeep: If the target can't be written.
    """
    _write(store, store.owner(owner_id), visits_of_owner(store, owner_id), target)


def export_vehicle(store: Store, vehicle_id: str, target: Path) -> None:
    """Write everything kept of a vehicle, with the owner of each visit: personal data.

    Raises:
        BadInput: If there is no such vehicle.
        CantKeep: If the target can't be written.
    """
    card = store.vehicle(vehicle_id)
    _write(store, card, sorted(store.visits(vehicle_id=card.id, limit=100_000), key=lambda one: one.opened_at), target)


def _write(store: Store, of: OwnerCard | VehicleCard, visits: Iterable[VisitSummary], target: Path) -> None:
    told = [(visit, store.history(visit.id), store.seals(visit.id)) for visit in visits]
    names = {sha256 for _, history, seals in told for sha256 in _files_of(history, seals)}
    kept = [file for sha256 in sorted(names) if (file := store.file(sha256)) and not file.erased]
    record = {
        "export_of": plain(of),
        "visits": [
            {**plain(visit), "history": plain(history), "seals": plain(seals)} for visit, history, seals in told
        ],
        "files": [{"name": f"files/{file.sha256}{file.suffix}", "size_bytes": file.size_bytes} for file in kept],
    }
    with said_plainly(target), archive.writing(target) as out:
        out.add_text(RECORD, json.dumps({"schema": SCHEMA, **record}, indent=2, ensure_ascii=False))
        for file in kept:
            out.add(f"files/{file.sha256}{file.suffix}", store.shelf.path(file.sha256, file.suffix))


def _files_of(history: Iterable[Entry], seals: Iterable[Seal]) -> set[str]:
    return {sha256 for entry in history for sha256 in files_named(entry.value)} | {seal.letter_sha256 for seal in seals}
