"""A consistent copy of the whole shop while the program runs, and once a day by itself."""

import datetime as dt
import re
import sqlite3
import tempfile
from contextlib import closing
from dataclasses import dataclass
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
_DAILY_NAME = re.compile(r"lostgallon-\d{4}-\d{2}-\d{2}\.zip")


@dataclass(frozen=True)
class Daily:
    """The setting "backup.daily": whether, where (None: `backups` in the data folder), and how many are kept."""

    on: bool = True
    folder: str | None = None
    keep: int = 14


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


def daily_backup(store: Store) -> BackupMade | None:
    """Make today's backup if the setting "backup.daily" wants it and it is not there yet; let go of the oldest.

    Call it when the program starts and every hour; it costs nothing when there is nothing to do.

    Raises:
        CantKeep: If it can't be written.
    """
    wanted = Daily(**store.setting("backup.daily", {}))
    if not wanted.on:
        return None
    folder = Path(wanted.folder) if wanted.folder else store.place / "backups"
    target = folder / f"lostgallon-{_local_day(store.clock())}.zip"
    if target.exists():
        return None
    with said_plainly(folder):
        folder.mkdir(parents=True, exist_ok=True)
    made = back_up(store, target)
    dated = sorted(path for path in folder.iterdir() if _DAILY_NAME.fullmatch(path.name))
    with said_plainly(folder):
        for old in dated[: -max(wanted.keep, 1)]:
            old.unlink()
    return made


def _local_day(moment: dt.datetime) -> str:
    return moment.astimezone().date().isoformat()
