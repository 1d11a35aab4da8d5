"""The engines and their promises: what is committed is on the disk."""

import sqlite3
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from lostgallon.shop.trouble import BadArgument, CantKeep

BUSY_SECONDS = 30.0


def sqlite_engine(path: Path) -> Engine:
    """SQLite with a write-ahead log, foreign keys, and every commit synced to the disk."""
    engine = create_engine(URL.create("sqlite", database=str(path)), connect_args={"timeout": BUSY_SECONDS})

    @event.listens_for(engine, "connect")
    def promise(connection: sqlite3.Connection, _record: Any) -> None:
        # The driver's own transactions would begin too late for BEGIN IMMEDIATE; we begin them ourselves.
        connection.isolation_level = None
        for pragma in (
            "journal_mode=WAL",
            "synchronous=FULL",
            "fullfsync=ON",
            "foreign_keys=ON",
            "secure_delete=ON",
            "trusted_schema=OFF",
        ):
            connection.execute(f"PRAGMA {pragma}").close()

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def server_engine(database: str) -> Engine:
    """PostgreSQL by URL; a commit is on the server's disk before it is acknowledged.

    Raises:
        BadArgument: If it is no URL of PostgreSQL.
        CantKeep: If the package for PostgreSQL is not installed.
    """
    try:
        url = make_url(database)
    except (ArgumentError, ValueError):
        url = URL.create("none")
    if url.get_backend_name() not in {"postgresql", "postgres"}:
        # The URL may hold a password: its beginning is enough to recognize it by.
        begins = f"a URL that begins with {url.drivername}" if url.drivername != "none" else "no URL"
        raise BadArgument("--database", found=begins, expected="one like postgresql://user@host/name")
    try:
        return create_engine(
            url.set(drivername="postgresql+psycopg"),
            pool_pre_ping=True,
            connect_args={"options": "-c synchronous_commit=on -c timezone=UTC", "connect_timeout": 10},
        )
    except ImportError:
        raise CantKeep("--database: PostgreSQL needs one more package; pip install 'lostgallon[postgres]'") from None


def database_name(engine: Engine) -> Path | str:
    """Where the database is, without a password."""
    if is_server(engine):
        return engine.url.set(drivername="postgresql").render_as_string(hide_password=True)
    return Path(str(engine.url.database))


def is_server(engine: Engine) -> bool:
    """Whether the database is a server's."""
    return engine.url.get_backend_name() != "sqlite"
