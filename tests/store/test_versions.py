"""Older data are brought up to date after a copy; newer or foreign data are refused."""

import sqlite3
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import MetaData, insert, select

from lostgallon.shop.trouble import BadFile, Damaged, NewerData
from lostgallon.store import open_store
from lostgallon.store.engine import server_engine, sqlite_engine
from lostgallon.store.opening import DATABASE_NAME, upgrade
from lostgallon.store.schema import REVISIONS, tables

RELEASED = sorted((Path(__file__).parent / "released").glob("*.sql"))


def write_database(place, script):
    place.mkdir()
    connection = sqlite3.connect(place / DATABASE_NAME)
    connection.executescript(script)
    connection.close()


def read_value(database, question):
    connection = sqlite3.connect(database)
    try:
        return connection.execute(question).fetchone()[0]
    finally:
        connection.close()


def test_the_steps_are_those_in_the_folder():
    config = Config()
    config.set_main_option("script_location", str(Path(open_store.__code__.co_filename).parent / "migrations"))
    steps = ScriptDirectory.from_config(config).walk_revisions()
    assert tuple(step.revision for step in steps) == REVISIONS[::-1]


def test_there_is_a_stored_copy_of_every_earlier_version():
    assert [path.stem for path in RELEASED] == list(REVISIONS[:-1])


@pytest.mark.parametrize("released", RELEASED, ids=lambda path: path.stem)
def test_an_older_shop_is_brought_up_to_date_after_a_copy(released, place, clock):
    write_database(place, released.read_text("utf-8"))
    with open_store(place, clock=clock) as store:
        van, wagon = store.visits()
        assert (wagon.vehicle.plate, wagon.owner.name, wagon.stage) == ("BAY 101", "Invented Owner", "handed back")
        assert van.owner is None
        values = [entry.value for entry in store.history(wagon.id)]
        assert values[:4] == ["3650 lb", "23 mpg", "24 mpg", "23 mpg"]
        assert values[-1] == "uses more, señor"
        store.record(wagon.id, "then.economy", "22 mpg", who="Pat", idempotency_key="later")
        assert store.setting("shop.labor_rate") == "150 USD/h"
    (copy,) = (place / "copies").iterdir()
    assert read_value(copy, "SELECT version_num FROM alembic_version") == released.stem
    assert read_value(copy, "SELECT count(*) FROM entry") == len(values)


@pytest.mark.parametrize("released", [None, *RELEASED], ids=lambda path: path.stem if path else "new")
def test_the_steps_lead_to_the_tables_of_today(released, place, clock):
    if released:
        write_database(place, released.read_text("utf-8"))
    open_store(place, clock=clock).close()
    engine = sqlite_engine(place / DATABASE_NAME)
    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), tables) == []
    engine.dispose()


def test_the_steps_lead_to_the_same_tables_on_postgresql(store):
    with store.engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), tables) == []


@pytest.mark.parametrize("released", RELEASED, ids=lambda path: path.stem)
def test_an_older_server_database_is_brought_up_to_date(released, place, tmp_path, clock, server):
    database = server.new_database(f"older{released.stem}")
    write_database(tmp_path / "old", released.read_text("utf-8"))
    old, new, then = sqlite_engine(tmp_path / "old" / DATABASE_NAME), server_engine(database), MetaData()
    with old.connect() as source, new.execution_options(writes=True).begin() as target:
        upgrade(target, released.stem)
        then.reflect(source, only=lambda name, _: name != "alembic_version")
        for table in then.sorted_tables:
            rows = source.execute(select(table).order_by(*table.primary_key)).mappings()
            target.execute(insert(table), [dict(row) for row in rows])
    old.dispose()
    new.dispose()
    with open_store(place, clock=clock, database=database) as store:
        (wagon,) = [visit for visit in store.visits() if visit.vehicle.plate]
        assert (wagon.owner.name, len(store.history(wagon.id))) == ("Invented Owner", 7)


def test_data_of_a_newer_program_are_refused_and_left_alone(place, clock):
    write_database(
        place, "CREATE TABLE alembic_version (version_num TEXT); INSERT INTO alembic_version VALUES ('9999');"
    )
    with pytest.raises(NewerData, match="found data of version 9999, made by a newer program"):
        open_store(place, clock=clock)
    connection = sqlite3.connect(place / DATABASE_NAME)
    assert connection.execute("SELECT name FROM sqlite_master").fetchall() == [("alembic_version",)]
    connection.close()


def test_a_database_of_something_else_is_refused(place, clock):
    write_database(place, "CREATE TABLE recipes (name TEXT);")
    with pytest.raises(BadFile, match="found a database of something else"):
        open_store(place, clock=clock)


def test_a_file_that_is_no_database_is_damage(place, clock):
    place.mkdir()
    (place / DATABASE_NAME).write_bytes(b"not a database at all, but long enough to look like one" * 100)
    with pytest.raises(Damaged, match="restore the last backup"):
        open_store(place, clock=clock)


def test_two_programs_may_start_an_empty_shop_together(place, clock):
    with open_store(place, clock=clock) as first, open_store(place, clock=clock) as second:
        assert first.visits() == second.visits() == ()
