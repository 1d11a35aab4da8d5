"""Erasing an owner's personal data; what was learned from the vehicle stays, without a name."""

import json
from dataclasses import dataclass

from sqlalchemy import Connection, RowMapping, exists, or_, select, text, update

from lostgallon.shop.trouble import BadInput
from lostgallon.store import file_rows, schema, written
from lostgallon.store.engine import is_server
from lostgallon.store.records import KeptFile
from lostgallon.store.references import files_named, is_personal
from lostgallon.store.store import Store


@dataclass(frozen=True)
class Erased:
    """How many visits were gone through, and how many values and files were erased in them."""

    visits: int
    values: int
    files: int


def erase_owner(store: Store, owner_id: str) -> Erased:
    """Erase an owner's name, phone, words, consent, photos, logs and letters, and number and plate of the vehicle.

    Entries keep their place, hash, key and time, so that the history still holds; seals keep account and hashes.
    Backups made before still hold what was erased until they are rotated out.

    Raises:
        BadInput: If there is no such owner.
    """
    at = written.as_text(store.clock())
    erased, gone = store.write(lambda connection: _erase_rows(connection, owner_id, at))
    for kept in gone:
        store.shelf.remove(kept.sha256, kept.suffix)
    if not is_server(store.engine):
        with store.engine.execution_options(isolation_level="AUTOCOMMIT").connect() as connection:
            # The log still holds the pages as they were; empty it.
            connection.execute(text("PRAGMA wal_checkpoint(TRUNCATE)"))
    return erased


def _erase_rows(connection: Connection, owner_id: str, at: str) -> tuple[Erased, list[KeptFile]]:
    _erase_cards(connection, owner_id, at)
    visits = list(connection.scalars(select(schema.visit.c.id).where(schema.visit.c.owner_id == owner_id)))
    named = set(connection.scalars(select(schema.seal.c.letter_sha256).where(schema.seal.c.visit_id.in_(visits))))
    personal = _personal_entries(connection, visits)
    for row in personal:
        named |= set(files_named(None if row["value"] is None else json.loads(row["value"])))
        _erase_value(connection, row)
    gone = [kept for sha256 in sorted(named) if (kept := _erase_file(connection, sha256, visits, at=at))]
    return Erased(visits=len(visits), values=len(personal), files=len(gone)), gone


def _erase_cards(connection: Connection, owner_id: str, at: str) -> None:
    owner, vehicle = schema.owner, schema.vehicle
    nothing = {"name": "", "phone": "", "email": "", "language": "", "erased_at": at}
    if connection.execute(update(owner).where(owner.c.id == owner_id).values(**nothing)).rowcount == 0:
        raise BadInput("", found=f"no owner {owner_id!r}", expected="an owner of this shop")
    connection.execute(update(vehicle).where(vehicle.c.owner_id == owner_id).values(vin="", plate=""))


def _personal_entries(connection: Connection, visits: list[str]) -> list[RowMapping]:
    table = schema.entry
    rows = connection.execute(
        select(table.c.visit_id, table.c.number, table.c.key, table.c.value)
        .where(table.c.visit_id.in_(visits), table.c.salt.is_not(None))
        .order_by(table.c.visit_id, table.c.number)
    )
    return [row for row in rows.mappings() if is_personal(row["key"])]


def _erase_value(connection: Connection, row: RowMapping) -> None:
    # Without its salt the hash that stays says nothing of the value.
    table = schema.entry
    this_one = (table.c.visit_id == row["visit_id"], table.c.number == row["number"])
    connection.execute(update(table).where(*this_one).values(value=None, salt=None))


def _erase_file(connection: Connection, sha256: str, visits: list[str], *, at: str) -> KeptFile | None:
    entry, seal = schema.entry, schema.seal
    elsewhere = connection.scalar(
        select(
            or_(
                exists().where(entry.c.visit_id.not_in(visits), entry.c.value.contains(sha256, autoescape=True)),
                exists().where(seal.c.visit_id.not_in(visits), seal.c.letter_sha256 == sha256),
            )
        )
    )
    kept = file_rows.find(connection, sha256)
    if elsewhere or kept is None or kept.erased:
        return None
    connection.execute(update(schema.file).where(schema.file.c.sha256 == sha256).values(erased_at=at))
    return kept
