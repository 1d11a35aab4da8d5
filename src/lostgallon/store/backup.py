"""A consistent copy of the whole shop while the program runs."""

import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from sqlalchemy import Connection, insert, select

from lostgallon.shop.kept import BackupMade
from lostgallon.shop.trouble import BadFile
from lostgallon.store import archive, schema
from lostgallon.store.engine import is_server, sqlite_engine
from lostgallon.store.opening import copy_aside, upgrade
from lostgallon.store.plainly import said_plainly
from lostgallon.store.schema import REVISIONS
from lostgallon.store.store import Store

ROWS_AT_ONCE = 1000


def back_up(store: Store, target: Path) -> BackupMade:
    """Write the whole shop as it is at this moment into one archive.

    The database is copied first and the files it names after it; a file is on the shelf before a row names it and is
    never changed, so the copy names nothing that is not there.

    Args:
        store: The shop, open; others may go on writing.
        target: The archive; an earlier backup of that name is replaced once the new one is whole.

    Raises:
        BadFile: If something else than a backup stands at the target.
        CantKeep: If the target can't be written.
    """
    if target.exists():
        _ = archive.read_manifest(target)
    if not target.parent.is_dir():
        raise BadFile(str(target), found="no such folder", expected="a name in a folder that is there")
    made_at = store.clock()
    with said_plainly(target), tempfile.TemporaryDirectory(dir=target.parent, prefix=".lostgallon-") as scratch:
        copy = Path(scratch) / archive.DATABASE
        _copy_database(store, copy)
        with archive.writing(target) as out, closing(sqlite3.connect(copy)) as rows:
            out.add(archive.DATABASE, copy)
            for sha256, suffix in rows.execute(
                "SELECT sha256, suffix FROM file WHERE erased_at IS NULL ORDER BY sha256"
            ):
                path = store.shelf.path(sha256, suffix)
                out.add(f"files/{path.relative_to(store.shelf.folder).as_posix()}", path, expected_sha256=sha256)
            manifest = out.finish(made_at=made_at, revision=REVISIONS[-1])
            visits = rows.execute("SELECT count(*) FROM visit").fetchone()[0]
            entries = rows.execute("SELECT count(*) FROM entry").fetchone()[0]
    return BackupMade(
        archive=str(target),
        made_at=manifest.made_at,
        size_bytes=target.stat().st_size,
        visits=visits,
        entries=entries,
        files=len(manifest.parts) - 1,
        not_readable=manifest.not_readable,
    )


def _copy_database(store: Store, copy: Path) -> None:
    if not is_server(store.engine):
        copy_aside(Path(str(store.engine.url.database)), copy)
        return
    engine = sqlite_engine(copy)
    with store.snapshot() as source, engine.execution_options(writes=True).begin() as target:
        upgrade(target, REVISIONS[-1])
        copy_rows(source, target)
    engine.dispose()


def copy_rows(source: Connection, target: Connection) -> None:
    """Copy every row of every table, parents first."""
    for table in schema.tables.sorted_tables:
        rows = source.execution_options(yield_per=ROWS_AT_ONCE).execute(select(table).order_by(*table.primary_key))
        for some in rows.mappings().partitions():
            target.execute(insert(table), [dict(row) for row in some])
