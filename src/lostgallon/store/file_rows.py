"""What the database knows of kept files."""

import datetime as dt
from typing import Any

from sqlalchemy import Connection, insert, select, update

from lostgallon.shop.trouble import BadInput
from lostgallon.store import schema, written
from lostgallon.store.records import KeptFile
from lostgallon.store.references import files_named


def keep(connection: Connection, kept: tuple[str, int], *, suffix: str, at: dt.datetime) -> None:
    """Name a file (SHA-256, size in bytes) that lies on the shelf by now; one that was erased is kept again."""
    sha256, size_bytes = kept
    table = schema.file
    known = connection.execute(select(table).where(table.c.sha256 == sha256)).one_or_none()
    values = {"suffix": suffix, "size_bytes": size_bytes, "kept_at": written.as_text(at), "erased_at": None}
    if known is None:
        connection.execute(insert(table).values(sha256=sha256, **values))
    elif known.erased_at is not None:
        connection.execute(update(table).where(table.c.sha256 == sha256).values(**values))


def find(connection: Connection, sha256: str) -> KeptFile | None:
    """A kept file by its SHA-256, or None."""
    row = connection.execute(select(schema.file).where(schema.file.c.sha256 == sha256)).one_or_none()
    if row is None:
        return None
    return KeptFile(row.sha256, row.suffix, row.size_bytes, written.as_moment(row.kept_at), row.erased_at is not None)


def require_kept(connection: Connection, key: str, value: Any) -> None:
    """Refuse an entry that names a file before the file is on the shelf.

    Raises:
        BadInput: If a file that the value names is not kept, or was erased.
    """
    for sha256 in files_named(value):
        kept = find(connection, sha256)
        if kept is None or kept.erased:
            raise BadInput(key, found=f"the name of a file that is not kept, {sha256[:12]!r}", expected="a kept file")
