"""Seals: the account and the letter as handed back, with the history up to then, under one hash."""

import datetime as dt
import hashlib
import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Row, func, insert, select

from lostgallon.shop.trouble import BadInput
from lostgallon.store import schema, written
from lostgallon.store.entries import START_OF_HISTORY
from lostgallon.store.records import LastSeal, Seal


@dataclass(frozen=True)
class SealDraft:
    """A seal before it has a version; the letter is already kept as a file."""

    visit_id: str
    account_json: str
    letter_sha256: str
    who: str
    at: dt.datetime


def append_seal(connection: Connection, draft: SealDraft) -> Seal:
    """Seal a visit; where it is sealed already this is the next version and the earlier ones stay.

    Sealing again what was sealed, with nothing entered since, is the same seal.

    Raises:
        BadInput: If the account is not JSON.
    """
    try:
        json.loads(draft.account_json)
    except ValueError:
        raise BadInput("", found="an account that is not JSON", expected="the account as JSON") from None
    entry = schema.entry
    last = connection.execute(
        select(entry.c.number, entry.c.sha256)
        .where(entry.c.visit_id == draft.visit_id)
        .order_by(entry.c.number.desc())
        .limit(1)
    ).one_or_none()
    before = seals_of(connection, draft.visit_id)
    if before and _same(before[-1], draft, entries=last.number if last else 0):
        return before[-1]
    values: dict[str, Any] = {
        "visit_id": draft.visit_id,
        "version": len(before) + 1,
        "account_sha256": account_hash(draft.account_json),
        "letter_sha256": draft.letter_sha256,
        "entries": last.number if last else 0,
        "history_sha256": last.sha256 if last else START_OF_HISTORY,
        "sealed_at": written.as_text(draft.at),
        "sealed_by": draft.who,
    }
    values["sha256"] = seal_hash(before[-1].sha256 if before else "", values)
    values["account_json"] = written.check_text("account", draft.account_json)
    row = connection.execute(insert(schema.seal).values(**values).returning(*schema.seal.c)).one()
    return _from_row(row)


def _same(sealed: Seal, draft: SealDraft, *, entries: int) -> bool:
    now = (account_hash(draft.account_json), draft.letter_sha256, entries)
    return (sealed.account_sha256, sealed.letter_sha256, sealed.entries) == now


def account_hash(account_json: str) -> str:
    """SHA-256 of the account's bytes in UTF-8, as any other program would reckon it."""
    return hashlib.sha256(account_json.encode()).hexdigest()


def seal_hash(before: str, row: dict[str, Any]) -> str:
    """The hash of a seal over everything it covers and the seal before it."""
    fields = (
        "visit_id", "version", "account_sha256", "letter_sha256", "entries", "history_sha256", "sealed_at", "sealed_by",
    )  # fmt: skip
    return written.hash_of(before, *(row[name] for name in fields))


def seals_of(connection: Connection, visit_id: str) -> tuple[Seal, ...]:
    """Every sealed version of a visit, oldest first."""
    table = schema.seal
    rows = connection.execute(select(table).where(table.c.visit_id == visit_id).order_by(table.c.version))
    return tuple(_from_row(row) for row in rows)


def last_seals(connection: Connection, *, limit: int) -> tuple[LastSeal, ...]:
    """The newest seal of each sealed visit, the newest of them first."""
    seal, entry = schema.seal, schema.entry
    version = select(seal.c.visit_id, func.max(seal.c.version).label("last")).group_by(seal.c.visit_id).subquery()
    number = select(entry.c.visit_id, func.max(entry.c.number).label("last")).group_by(entry.c.visit_id).subquery()
    rows = connection.execute(
        select(seal.c.visit_id, seal.c.sealed_at, seal.c.sha256, entry.c.sha256.label("entered"))
        .join(version, (version.c.visit_id == seal.c.visit_id) & (version.c.last == seal.c.version))
        .outerjoin(number, number.c.visit_id == seal.c.visit_id)
        .outerjoin(entry, (entry.c.visit_id == seal.c.visit_id) & (entry.c.number == number.c.last))
        .order_by(seal.c.sealed_at.desc(), seal.c.visit_id)
        .limit(limit)
    )
    return tuple(
        LastSeal(row.visit_id, written.as_moment(row.sealed_at), written.hash_of(row.sha256, row.entered or ""))
        for row in rows
    )


def _from_row(row: Row[Any]) -> Seal:
    return Seal(**{**row._mapping, "sealed_at": written.as_moment(row.sealed_at)})  # noqa: SLF001 - SQLAlchemy's own name
