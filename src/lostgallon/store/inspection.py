"""Reading everything: every entry against its hash and the one before, every file against its name, every seal."""

import datetime as dt
import json
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

from sqlalchemy import Connection, Row, func, select, text

from lostgallon.shop.kept import Damage, Inspection
from lostgallon.shop.trouble import Damaged
from lostgallon.store import files, schema, written
from lostgallon.store.engine import database_name, is_server
from lostgallon.store.entries import START_OF_HISTORY, entry_hash
from lostgallon.store.plainly import said_plainly
from lostgallon.store.references import files_named, is_personal
from lostgallon.store.schema import REVISIONS
from lostgallon.store.seals import account_hash, seal_hash
from lostgallon.store.store import Store


@dataclass
class _Notes:
    """What an inspection finds on its way."""

    damage: list[Damage] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    hashes: dict[tuple[str, int], str] = field(default_factory=dict)
    kept: dict[str, bool] = field(default_factory=dict)

    def add(self, where: str, found: str, expected: str) -> None:
        self.damage.append(Damage(where, found, expected))


def inspect_store(store: Store) -> Inspection:
    """Read every record, file and seal, in one view of the database that later writes do not change.

    What can't be read at all is damage too; the rest is still looked at.
    """
    notes, counts = _Notes(), {"visits": 0, "entries": 0, "files": 0, "seals": 0}
    where = database_name(store.engine)
    try:
        with said_plainly(where), store.snapshot() as connection:
            counts = _read_all(connection, store, notes)
    except Damaged as trouble:
        notes.add(str(where), found="pages that can't be read", expected=str(trouble).rpartition("expected ")[2])
    _look_for_strays(store, notes)
    return Inspection(
        place=str(store.place),
        version=REVISIONS[-1],
        damage=tuple(notes.damage),
        remarks=tuple(notes.remarks),
        **counts,
    )


def _read_all(connection: Connection, store: Store, notes: _Notes) -> dict[str, int]:
    if not is_server(store.engine):
        _check_pages(connection, notes)
    counts = {
        "files": _check_files(connection, store.shelf, notes),
        "entries": _check_entries(connection, notes),
        "seals": _check_seals(connection, notes),
        "visits": connection.scalar(select(func.count()).select_from(schema.visit)) or 0,
    }
    _check_clock(connection, store.clock(), notes)
    return counts


def _check_pages(connection: Connection, notes: _Notes) -> None:
    where = str(database_name(connection.engine))
    for (sentence,) in connection.execute(text("PRAGMA integrity_check")):
        if sentence != "ok":
            notes.add(where, found=" ".join(sentence.split()), expected="sound pages and indexes")
    for row in connection.execute(text("PRAGMA foreign_key_check")):
        notes.add(where, found=f"a row of {row[0]} that names no row of {row[2]}", expected="rows that hang together")


def _check_files(connection: Connection, shelf: files.Shelf, notes: _Notes) -> int:
    count = 0
    for row in connection.execute(select(schema.file).order_by(schema.file.c.sha256)):
        count += 1
        notes.kept[row.sha256] = row.erased_at is None
        if row.erased_at is None:
            _check_file(shelf, row, notes)
    return count


def _check_file(shelf: files.Shelf, row: Row[Any], notes: _Notes) -> None:
    path, expected = shelf.path(row.sha256, row.suffix), f"{row.size_bytes} bytes with the hash of its name"
    try:
        sha256, size_bytes = files.hash_file(path)
    except OSError as error:
        notes.add(str(path), found=(error.strerror or "an unreadable file").lower(), expected=expected)
        return
    if (sha256, size_bytes) != (row.sha256, row.size_bytes):
        notes.add(str(path), found=f"{size_bytes} bytes with the hash {sha256[:12]}", expected=expected)


def _check_entries(connection: Connection, notes: _Notes) -> int:
    count, table = 0, schema.entry
    rows = connection.execution_options(yield_per=1000).execute(
        select(table).order_by(table.c.visit_id, table.c.number)
    )
    for _, history in groupby(rows, key=lambda row: row.visit_id):
        before, number = START_OF_HISTORY, 0
        for row in history:
            count, number = count + 1, number + 1
            where = f"entry {row.visit_id}.{row.number}"
            if row.number != number:
                notes.add(where, found="a gap before it", expected=f"number {number}")
                number = row.number
            _check_entry(row, before, where, notes)
            before = notes.hashes[row.visit_id, row.number] = row.sha256
    return count


def _check_entry(row: Row[Any], before: str, where: str, notes: _Notes) -> None:
    if row.sha256 != entry_hash(before, dict(row._mapping)):  # noqa: SLF001 - SQLAlchemy's own name
        notes.add(where, found="an entry that does not match its hash", expected="what was written")
    if row.salt is None:
        if row.value is not None or not is_personal(row.key):
            notes.add(where, found="an erased value that is no personal one", expected="the value as typed")
        return
    if row.value_sha256 != written.hash_of(row.salt, row.value):
        notes.add(where, found="a value that does not match its hash", expected="what was written")
        return
    for sha256 in files_named(None if row.value is None else json.loads(row.value)):
        if sha256 not in notes.kept:
            notes.add(where, found=f"the name of a file that is not kept, {sha256[:12]}", expected="a kept file")


def _check_seals(connection: Connection, notes: _Notes) -> int:
    count, table = 0, schema.seal
    rows = connection.execute(select(table).order_by(table.c.visit_id, table.c.version))
    for _, versions in groupby(rows, key=lambda row: row.visit_id):
        before = ""
        for version, row in enumerate(versions, 1):
            count += 1
            _check_seal(row, before, version, notes)
            before = row.sha256
    return count


def _check_seal(row: Row[Any], before: str, version: int, notes: _Notes) -> None:
    where = f"seal {row.version} of visit {row.visit_id}"
    if row.version != version:
        notes.add(where, found="a version missing before it", expected=f"version {version}")
    if row.sha256 != seal_hash(before, dict(row._mapping)):  # noqa: SLF001 - SQLAlchemy's own name
        notes.add(where, found="a seal that does not match its hash", expected="what was sealed")
    if row.account_sha256 != account_hash(row.account_json):
        notes.add(where, found="an account that does not match its hash", expected="the account as sealed")
    if row.letter_sha256 not in notes.kept:
        notes.add(where, found="no letter", expected=f"the letter {row.letter_sha256[:12]}")
    history = notes.hashes.get((row.visit_id, row.entries), START_OF_HISTORY if row.entries == 0 else "")
    if row.history_sha256 != history:
        notes.add(where, found=f"another history of {row.entries} entries", expected="the history as sealed")


def _check_clock(connection: Connection, now: dt.datetime, notes: _Notes) -> None:
    newest = connection.scalar(select(func.max(schema.entry.c.kept_at)))
    if newest and written.as_moment(newest) > now:
        notes.remarks.append(
            f"the newest entry is from {newest[:16]} UTC, after the clock's {written.as_text(now)[:16]}"
        )


def _look_for_strays(store: Store, notes: _Notes) -> None:
    for path in store.shelf.names():
        if path.parent == store.shelf.incoming:
            notes.remarks.append(f"{path}: left over from an interrupted write; nothing names it and it may be removed")
        elif not notes.kept.get(path.name.partition(".")[0], False):
            notes.remarks.append(f"{path}: no record names it; kept whole, but the entry that wanted it never came")
