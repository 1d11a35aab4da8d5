"""What the database knows of kept files."""

import datetime as dt

from sqlalchemy import Connection, insert, select, update

from lostgallon.store import schema, written
from lostgallon.store.records import KeptFile


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
