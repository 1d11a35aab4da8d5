"""A shop's data in a temporary folder, on SQLite and on PostgreSQL."""

import shutil
import tempfile
from itertools import count
from pathlib import Path

import pytest

from lostgallon.store import open_store
from tests.store.people import Clock
from tests.store.server import Server, server_programs


@pytest.fixture(scope="session")
def server():
    if server_programs() is None:
        pytest.skip("no PostgreSQL server on this machine (apt-get install postgresql)")
    started = Server("-c fsync=off")
    with tempfile.TemporaryDirectory() as folder:
        open_store(Path(folder), clock=Clock(), database=started.new_database("ready")).close()
    yield started
    started.stop("immediate")
    shutil.rmtree(started.folder)


_databases = count()


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request):
    """None for SQLite in the data folder, or the URL of an empty shop on the server."""
    if request.param == "sqlite":
        return None
    return request.getfixturevalue("server").new_database(f"shop{next(_databases)}", template="ready")


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def place(tmp_path):
    return tmp_path / "shop"


@pytest.fixture
def store(place, clock, database):
    opened = open_store(place, clock=clock, database=database)
    yield opened
    opened.close()


@pytest.fixture
def light_store(place, clock):
    """SQLite alone, where the database makes no difference."""
    opened = open_store(place, clock=clock)
    yield opened
    opened.close()
