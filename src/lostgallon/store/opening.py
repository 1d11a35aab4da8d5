"""Opening the shop's data: the steps from an older version, the refusal of a newer one."""

import datetime as dt
import os
import secrets
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from lostgallon.shop.trouble import BadFile, Damaged, NewerData
from lostgallon.store import hold
from lostgallon.store.engine import database_name, is_server, server_engine, sqlite_engine
from lostgallon.store.files import Shelf, sync_folder
from lostgallon.store.plainly import said_plainly
from lostgallon.store.schema import REVISIONS, tables
from lostgallon.store.store import Store

DATABASE_NAME = "lostgallon.sqlite"
_ONE_AT_A_TIME = 4_705_237  # any number: programs of this name agree on it


def open_store(
    place: Path,
    *,
    clock: Callable[[], dt.datetime],
    database: str | None = None,
    random_bytes: Callable[[int], bytes] = secrets.token_bytes,
) -> Store:
    """Open the shop's data, or start them where there are none.

    Args:
        place: The data folder: photos, logs, letters, and the SQLite database where no server is named.
        clock: Hands over the time now, aware of its zone.
        database: A URL like postgresql://user@host/name; None for SQLite in the folder.
        random_bytes: Where ids and salts come from.

    Raises:
        CantKeep: If the folder can't be made or written, or the server does not answer.
        NewerData: If the data were made by a newer version of the program.
        BadFile: If the database belongs to something else.
        BadArgument: If the URL names no database we know.
    """
    with ExitStack() as on_failure:
        with said_plainly(place):
            if database is None:
                hold.require_no_interrupted_restore(place)
            _make_folder(place)
            Shelf(place / "files").incoming.mkdir(parents=True, exist_ok=True)
            held = hold.share(place)
            on_failure.callback(held.close)
        engine = sqlite_engine(place / DATABASE_NAME) if database is None else server_engine(database)
        on_failure.callback(engine.dispose)
        with said_plainly(database_name(engine)):
            _bring_up_to_date(engine, place, clock())
            sync_folder(place)
        on_failure.pop_all()
    return Store(place, engine, clock, random_bytes, _hold=held)


def _make_folder(place: Path) -> None:
    new = [folder for folder in (place, *place.parents) if not folder.exists()]
    place.mkdir(mode=0o700, parents=True, exist_ok=True)
    for folder in new:
        sync_folder(folder.parent)


@contextmanager
def look_into(place: Path, *, clock: Callable[[], dt.datetime], database: str | None = None) -> Iterator[Store]:
    """Open the shop's data to read them alone: nothing is made, and older data are brought up to date in a copy.

    Raises:
        BadFile: If there are no data of a shop, or a server's are of an older version.
        NewerData: If the data were made by a newer program.
        Damaged: If the database file is none, or is gone from beside its photos.
    """
    with ExitStack() as afterwards:
        engine = _engine_to_read(place, database, afterwards)
        with said_plainly(database_name(engine)), engine.connect() as connection:
            found = revision_of(connection)
        if found is None and database is None:
            _require_no_photos(place)
        if found is None or (database is not None and found != REVISIONS[-1]):
            said = "an empty database" if found is None else f"data of the older version {found}"
            raise BadFile(str(database_name(engine)), found=said, expected="a shop's data, brought up to date by serve")
        if found != REVISIONS[-1]:
            copy = Path(afterwards.enter_context(tempfile.TemporaryDirectory())) / DATABASE_NAME
            copy_aside(Path(str(engine.url.database)), copy)
            engine = sqlite_engine(copy)
            afterwards.callback(engine.dispose)
            with engine.execution_options(writes=True).begin() as connection:
                upgrade(connection, REVISIONS[-1])
        yield Store(place, engine, clock, secrets.token_bytes)


def _engine_to_read(place: Path, database: str | None, afterwards: ExitStack) -> Engine:
    if database is not None:
        engine = server_engine(database)
    else:
        path = place / DATABASE_NAME
        if not path.is_file():
            _require_no_photos(place)
            raise BadFile(str(place), found="no data of a shop", expected="the data folder of one (--data)")
        if not os.access(place, os.W_OK):
            # SQLite keeps a small file beside the database even to read it; on a read-only disk it reads a copy.
            scratch = Path(afterwards.enter_context(tempfile.TemporaryDirectory()))
            with said_plainly(place):
                for part in place.glob(f"{DATABASE_NAME}*"):
                    shutil.copyfile(part, scratch / part.name)
            path = scratch / DATABASE_NAME
        engine = sqlite_engine(path)
    afterwards.callback(engine.dispose)
    return engine


def _require_no_photos(place: Path) -> None:
    shelf = Shelf(place / "files")
    if any(path.parent != shelf.incoming for path in shelf.names()):
        raise Damaged(
            f"{place / DATABASE_NAME}: found no database beside the photos; expected the one that names them; restore "
            "the last backup into a new folder"
        )


def revision_of(connection: Connection) -> str | None:
    """The step a database stands at; None where it is empty.

    Raises:
        NewerData: If this program does not know the step.
        BadFile: If the tables are those of something else.
    """
    where = database_name(connection.engine)
    names = inspect(connection).get_table_names()
    if "alembic_version" not in names:
        if set(names) & set(tables.tables) or (names and not is_server(connection.engine)):
            raise BadFile(str(where), found="a database of something else", expected="data of Lost Gallon")
        return None
    found: str | None = connection.scalar(text("SELECT version_num FROM alembic_version"))
    if found is not None and found not in REVISIONS:
        raise NewerData(
            f"{where}: found data of version {found}, made by a newer program; expected {REVISIONS[-1]} or older; "
            "start the newer program, or restore a backup made by this one"
        )
    return found


def _bring_up_to_date(engine: Engine, place: Path, now: dt.datetime) -> None:
    with engine.connect() as connection:
        found = revision_of(connection)
    if found == REVISIONS[-1]:
        return
    if found is None and not is_server(engine):
        _require_no_photos(place)
    if found is not None and not is_server(engine):
        copy_aside(Path(str(engine.url.database)), place / "copies" / f"{found}-{now:%Y%m%dT%H%M%S}.sqlite")
    with engine.execution_options(writes=True).begin() as connection:
        if is_server(engine):
            connection.execute(text("SELECT pg_advisory_xact_lock(:number)"), {"number": _ONE_AT_A_TIME})
        if revision_of(connection) != REVISIONS[-1]:
            upgrade(connection, REVISIONS[-1])


def upgrade(connection: Connection, revision: str) -> None:
    """Take the steps up to a revision, in the transaction of the connection."""
    from alembic import command  # noqa: PLC0415 - alembic takes 0.1 s to import and is needed once per version
    from alembic.config import Config  # noqa: PLC0415 - the same

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    config.attributes["connection"] = connection
    command.upgrade(config, revision)


def copy_aside(database: Path, copy: Path) -> None:
    """A consistent copy of a SQLite database that others may be writing, synced to the disk."""
    copy.parent.mkdir(parents=True, exist_ok=True)
    part = copy.with_suffix(".part")
    source, target = sqlite3.connect(database), sqlite3.connect(part)
    try:
        source.backup(target)
        target.execute("PRAGMA journal_mode=DELETE").close()
    finally:
        target.close()
        source.close()
    with part.open("rb+") as stream:
        os.fsync(stream.fileno())
    part.replace(copy)
    sync_folder(copy.parent)
