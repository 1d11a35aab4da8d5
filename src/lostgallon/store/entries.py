"""Entries of a visit: written once, never changed; each one's hash covers the one before it.

Every function here runs inside a transaction of its caller (store.py), which holds the lock on the visit.
"""

import datetime as dt
import json
import re
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Row, func, insert, select

from lostgallon.shop.trouble import BadInput, ChangedMeanwhile
from lostgallon.store import schema, written
from lostgallon.store.records import Entry

_KEY = re.compile(r"[a-z][a-z0-9_]*(\.[a-z0-9_]+)+")
START_OF_HISTORY = "0" * 64


@dataclass(frozen=True)
class Draft:
    """An entry before it has a number. `value_text` is JSON, or None where the key is taken back."""

    visit_id: str
    key: str
    value_text: str | None
    who: str
    at: dt.datetime
    kept_at: dt.datetime
    idempotency_key: str
    salt: str
    undo: bool = False


def check_key(key: str) -> str:
    """The key itself, if it looks like "vehicle.curb_weight" or "finding.3".

    Raises:
        BadInput: If it does not.
    """
    if not _KEY.fullmatch(key) or len(key) > 120:
        raise BadInput("", found=f"the key {key!r}", expected='a key like "vehicle.curb_weight" or "finding.3"')
    return key


def lock_visit(connection: Connection, visit_id: str) -> None:
    """Hold the visit until the transaction ends: one writer at a time, so that numbers have no gap.

    SQLite has the whole database locked already (BEGIN IMMEDIATE) and knows no FOR UPDATE.

    Raises:
        BadInput: If there is no such visit.
    """
    found = connection.execute(
        select(schema.visit.c.id).where(schema.visit.c.id == visit_id).with_for_update()
    ).one_or_none()
    if found is None:
        raise BadInput("", found=f"no visit {visit_id!r}", expected="a visit of this shop")


def same_mark(connection: Connection, draft: Draft, *, numbered: bool = False) -> Entry | None:
    """The entry already kept under this mark of the device, or None. `numbered`: the key is still without its number.

    Raises:
        BadInput: If the mark was used for something else.
    """
    table = schema.entry
    row = connection.execute(
        select(table).where(table.c.visit_id == draft.visit_id, table.c.idempotency_key == draft.idempotency_key)
    ).one_or_none()
    if row is None:
        return None
    kept_as = row.key.rpartition(".")[0] if numbered else row.key
    if kept_as != draft.key or row.value != draft.value_text:
        raise BadInput(
            draft.key,
            found=f"the mark {draft.idempotency_key!r} of another entry",
            expected="a new mark for each entry",
        )
    return from_row(row)


def standing_row(connection: Connection, visit_id: str, key: str) -> Row[Any] | None:
    """The newest entry under a key, or None."""
    table = schema.entry
    return connection.execute(
        select(table).where(table.c.visit_id == visit_id, table.c.key == key).order_by(table.c.number.desc()).limit(1)
    ).one_or_none()


def require_unchanged(standing: Row[Any] | None, *, key: str, seen: str | None) -> None:
    """Refuse to write over what the writer has not seen.

    Raises:
        ChangedMeanwhile: If the newest entry under the key is not the one that was seen.
    """
    found = from_row(standing) if standing else None
    if (found.id if found else None) != seen:
        said = f"{json.dumps(found.value, ensure_ascii=False)} by {found.who}" if found else "nothing"
        raise ChangedMeanwhile(f"{key}: found {said}, entered meanwhile; expected what this device showed; look again")


def append(connection: Connection, draft: Draft, *, replaces: int | None) -> Entry:
    """Write one entry behind the last one of its visit."""
    table = schema.entry
    last = connection.execute(
        select(table.c.number, table.c.sha256)
        .where(table.c.visit_id == draft.visit_id)
        .order_by(table.c.number.desc())
        .limit(1)
    ).one_or_none()
    values = {
        "visit_id": draft.visit_id,
        "number": last.number + 1 if last else 1,
        "key": draft.key,
        "value_sha256": written.hash_of(draft.salt, draft.value_text),
        "who": draft.who,
        "at": written.as_text(draft.at),
        "kept_at": written.as_text(draft.kept_at),
        "idempotency_key": draft.idempotency_key,
        "replaces": replaces,
        "undo": draft.undo,
    }
    values["sha256"] = entry_hash(last.sha256 if last else START_OF_HISTORY, values)
    row = connection.execute(
        insert(table).values(**values, value=draft.value_text, salt=draft.salt).returning(*table.c)
    ).one()
    return from_row(row)


def entry_hash(before: str, row: dict[str, Any]) -> str:
    """The hash of an entry over everything it says and the hash of the entry before it.

    The value counts through its salted hash, so that a personal value can be erased and the history still holds.
    """
    fields = (
        "visit_id", "number", "key", "value_sha256", "who", "at", "kept_at", "idempotency_key", "replaces", "undo",
    )  # fmt: skip
    return written.hash_of(before, *(row[name] for name in fields))


def next_number(connection: Connection, visit_id: str, prefix: str) -> int:
    """The next free n of keys like "finding.n"."""
    table = schema.entry
    keys = connection.scalars(
        select(table.c.key)
        .where(table.c.visit_id == visit_id, table.c.key.startswith(f"{prefix}.", autoescape=True))
        .distinct()
    )
    numbers = [int(tail) for key in keys if (tail := key.removeprefix(f"{prefix}.")).isdigit()]
    return max(numbers, default=0) + 1


def history(connection: Connection, visit_id: str) -> tuple[Entry, ...]:
    """Every entry of a visit, oldest first."""
    table = schema.entry
    rows = connection.execute(select(table).where(table.c.visit_id == visit_id).order_by(table.c.number))
    return tuple(from_row(row) for row in rows)


def entry_at(connection: Connection, entry_id: str) -> Row[Any]:
    """One entry by its id.

    Raises:
        BadInput: If there is none.
    """
    visit_id, _, number = entry_id.rpartition(".")
    table = schema.entry
    row = None
    if number.isascii() and number.isdigit() and len(number) < 10:
        row = connection.execute(
            select(table).where(table.c.visit_id == visit_id, table.c.number == int(number))
        ).one_or_none()
    if row is None:
        raise BadInput("", found=f"no entry {entry_id!r}", expected="an entry of a visit")
    return row


def last_kept(connection: Connection) -> dt.datetime | None:
    """When the newest entry of the shop was kept, by the clock of that moment."""
    newest = connection.scalar(select(func.max(schema.entry.c.kept_at)))
    return written.as_moment(newest) if newest else None


def from_row(row: Row[Any]) -> Entry:
    """The record of a row."""
    return Entry(
        id=f"{row.visit_id}.{row.number}",
        visit_id=row.visit_id,
        number=row.number,
        key=row.key,
        value=None if row.value is None else json.loads(row.value),
        who=row.who,
        at=written.as_moment(row.at),
        kept_at=written.as_moment(row.kept_at),
        idempotency_key=row.idempotency_key,
        replaces=None if row.replaces is None else f"{row.visit_id}.{row.replaces}",
        undo=row.undo,
        erased=row.salt is None,
    )
