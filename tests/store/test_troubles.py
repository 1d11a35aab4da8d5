"""A full disk, a read-only folder, a server that is away: one clear line, and nothing acknowledged is lost."""

import errno
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections import deque
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import event, text
from sqlalchemy.exc import DBAPIError

from lostgallon.shop.trouble import BadArgument, CantKeep
from lostgallon.store import VehicleCard, back_up, inspect_store, open_store
from lostgallon.store.plainly import said_plainly
from lostgallon.store.turns import Turns
from tests.store.people import a_worked_visit, new_visit


def test_a_full_disk_says_so_and_loses_nothing_acknowledged(light_store, place, clock):
    visit = a_worked_visit(light_store)
    before = light_store.history(visit)
    light_store.engine.dispose()
    kept = []

    @event.listens_for(light_store.engine, "connect")
    def limit(connection, _record):
        # SQLite answers a database that may grow no further as it answers a full disk: SQLITE_FULL.
        connection.execute("PRAGMA max_page_count=100").close()

    notes = (
        light_store.record(visit, "words.note", "x" * 20_000, who="Pat", idempotency_key=f"{number}")
        for number in range(500)
    )
    with pytest.raises(CantKeep) as caught:
        kept.extend(notes)
    assert len(kept) > 5
    assert "found a full disk; expected room to write; nothing was kept" in str(caught.value)
    assert "\n" not in str(caught.value)
    assert light_store.history(visit) == (*before, *kept)
    light_store.close()
    with open_store(place, clock=clock) as again:
        assert again.history(visit) == (*before, *kept)
        assert inspect_store(again).damage == ()


@pytest.fixture
def small_disk(tmp_path):
    """A disk of three megabytes."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = shutil.which("mount")
    mounting = [mount, "-t", "tmpfs", "-o", "size=3m", "tmpfs", str(disk)]
    if not mount or subprocess.run(mounting, capture_output=True, check=False).returncode != 0:
        pytest.skip("a disk can't be mounted here")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def test_a_disk_that_fills_up_keeps_all_that_was_acknowledged(small_disk, clock):
    kept, photos, told = [], [], set()
    with open_store(small_disk / "shop", clock=clock) as store:
        visit = new_visit(store)
        for number in range(150):
            try:
                photos.append(store.keep_file(os.urandom(40_000), suffix=".jpg"))
                kept.append(store.record(visit, "words.note", "x" * 10_000, who="Pat", idempotency_key=f"{number}"))
            except CantKeep as trouble:
                told.add(str(trouble).partition(": ")[2])
        assert store.history(visit) == tuple(kept), "what is there can still be read"
        with pytest.raises(CantKeep, match="found a full disk"):
            back_up(store, small_disk / "out.zip")
    assert told == {"found a full disk; expected room to write; nothing was kept; enter it again when there is"}
    with open_store(small_disk / "shop", clock=clock) as again:
        assert again.history(visit) == tuple(kept)
        assert all(again.file_path(photo).is_file() for photo in photos)
        found = inspect_store(again)
    assert (found.damage, found.remarks) == ((), ())
    assert {path.name for path in small_disk.iterdir()} == {"shop"}


def full_disk(*_):
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_a_photo_on_a_full_disk_leaves_nothing_half(light_store, monkeypatch):
    a_worked_visit(light_store)
    before = sorted(light_store.shelf.names())
    monkeypatch.setattr(os, "fsync", full_disk)
    with pytest.raises(CantKeep, match="found a full disk"):
        light_store.keep_file(b"another photo", suffix=".jpg")
    monkeypatch.undo()
    assert sorted(light_store.shelf.names()) == before
    assert inspect_store(light_store).remarks == ()


def test_a_backup_on_a_full_disk_leaves_the_last_one(light_store, tmp_path, monkeypatch):
    a_worked_visit(light_store)
    target = tmp_path / "out.zip"
    back_up(light_store, target)
    before = target.read_bytes()
    monkeypatch.setattr(os, "fsync", full_disk)
    with pytest.raises(CantKeep, match="found a full disk"):
        back_up(light_store, target)
    monkeypatch.undo()
    assert target.read_bytes() == before
    assert [path.name for path in tmp_path.iterdir() if path.name != "shop"] == ["out.zip"]


@contextmanager
def nobody():
    """Root may write anywhere: be nobody in particular for a while."""
    root = os.geteuid() == 0
    if root:
        os.setegid(65534)
        os.seteuid(65534)
    try:
        yield
    finally:
        if root:
            os.seteuid(0)
            os.setegid(0)


@pytest.mark.skipif(sys.platform == "win32", reason="folders are read-only in another way there")
@pytest.mark.parametrize("folder_mode", [0o555, 0o777], ids=["folder", "database"])
def test_what_may_not_be_written_says_so(clock, folder_mode):
    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o755)
        place = Path(folder) / "shop"
        with open_store(place, clock=clock) as store:
            visit = a_worked_visit(store)
        for path in [place, *place.rglob("*")]:
            path.chmod(folder_mode if path.is_dir() else 0o444 if path.suffix == ".sqlite" else 0o666)
        with nobody(), pytest.raises(CantKeep) as caught, open_store(place, clock=clock) as store:
            store.record(visit, "then.economy", "20 mpg", who="Pat", idempotency_key="late")
        assert "choose another" in str(caught.value)
        for path in [place, *place.rglob("*")]:
            path.chmod(0o777)
        with open_store(place, clock=clock) as store:
            assert inspect_store(store).damage == ()


def test_a_file_where_the_folder_should_be(tmp_path, clock):
    (tmp_path / "shop").write_text("a file", "utf-8")
    with pytest.raises(CantKeep, match="found a file where a folder is needed"):
        open_store(tmp_path / "shop", clock=clock)


@pytest.mark.parametrize(
    ("database", "trouble", "sentence"),
    [
        ("postgresql://shop@127.0.0.1:1/none", CantKeep, "found no server that answers"),
        (
            "mysql://shop@localhost/none",
            BadArgument,
            "begins with mysql; expected one like postgresql://user@host/name",
        ),
        ("just words", BadArgument, "found no URL"),
        ("", BadArgument, "found no URL"),
    ],
)
def test_a_server_that_is_none_says_so_without_a_password(place, clock, database, trouble, sentence):
    with pytest.raises(trouble) as caught:
        open_store(place, clock=clock, database=database.replace("shop@", "shop:secret@"))
    assert sentence in str(caught.value)
    assert "secret" not in str(caught.value)


def test_two_writers_at_once_lose_nothing_and_agree_on_the_order(store):
    visits = [new_visit(store, f"visit {number}") for number in range(2)]
    acknowledged, writers, each = [], 6, 12
    started = threading.Barrier(writers)

    def device(number):
        started.wait()
        for turn in range(each):
            visit = visits[turn % 2]
            acknowledged.append(
                store.record(
                    visit, f"words.of_{turn}", f"{number}", who=f"{number}", idempotency_key=f"{number} {turn}"
                )
            )
            acknowledged.append(
                store.add(
                    visit,
                    "finding",
                    {"check": "x", "result": "normal"},
                    who=f"{number}",
                    idempotency_key=f"f {number} {turn}",
                )
            )

    with ThreadPoolExecutor(writers) as pool:
        list(pool.map(device, range(writers)))
    histories = [store.history(visit) for visit in visits]
    assert sorted((entry for history in histories for entry in history), key=lambda entry: entry.id) == sorted(
        acknowledged, key=lambda entry: entry.id
    )
    for history in histories:
        assert [entry.number for entry in history] == list(range(1, writers * each + 1))
        assert len({entry.key for entry in history if entry.key.startswith("finding.")}) == writers * each // 2
        assert [entry.kept_at for entry in history] == sorted(entry.kept_at for entry in history)
    assert inspect_store(store).damage == ()


def test_one_mark_sent_by_many_at_once_is_one_entry(store):
    visit = new_visit(store)
    started = threading.Barrier(6)

    def send(_):
        started.wait()
        opened = store.new_visit(who="Pat", idempotency_key="the same", vehicle=VehicleCard(description="van"))
        return opened.id, store.record(visit, "then.economy", "23 mpg", who="Pat", idempotency_key="a").id

    with ThreadPoolExecutor(6) as pool:
        assert len(set(pool.map(send, range(6)))) == 1
    assert len(store.history(visit)) == 1
    assert len(store.visits()) == 2


def test_two_programs_on_one_folder_take_turns(light_store, place, clock):
    visit = new_visit(light_store)
    with open_store(place, clock=clock) as other:
        for turn in range(10):
            for number, writer in enumerate((light_store, other)):
                writer.record(visit, "then.economy", f"{20 + turn} mpg", who="Pat", idempotency_key=f"{number} {turn}")
    assert [entry.number for entry in light_store.history(visit)] == list(range(1, 21))


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="only here can a handle be named")
def test_a_file_is_synced_before_it_takes_its_name_and_the_name_after(light_store, monkeypatch):
    steps, fsync, replace = [], os.fsync, Path.replace

    def noted_sync(handle):
        path = Path(f"/proc/self/fd/{handle}").readlink()
        steps.append(("sync", "file" if path.is_file() else "folder"))
        fsync(handle)

    def noted_replace(path, target):
        steps.append(("name", target.suffix))
        return replace(path, target)

    monkeypatch.setattr(os, "fsync", noted_sync)
    monkeypatch.setattr(Path, "replace", noted_replace)
    light_store.keep_file(b"photo", suffix=".jpg")
    assert steps == [("sync", "file"), ("name", ".jpg"), ("sync", "folder"), ("sync", "folder")]


def test_every_commit_is_synced(light_store):
    with light_store.engine.connect() as connection:
        answers = {
            name: connection.execute(text(f"PRAGMA {name}")).scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys", "secure_delete")
        }
    # SQLite's documentation of PRAGMA synchronous: 2 is FULL.
    assert answers == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "secure_delete": 1}


def test_writers_get_their_turn_in_the_order_they_came():
    turns, order, waiting = Turns(), [], 6

    def wait(number):
        with turns:
            order.append(number)

    threads = [threading.Thread(target=wait, args=(number,)) for number in range(waiting)]
    with turns:
        for number, thread in enumerate(threads, 1):
            thread.start()
            while len(turns._waiting) < number:
                time.sleep(0.001)
    for thread in threads:
        thread.join()
    assert order == list(range(waiting))
    with turns:
        assert turns._waiting == deque()


def test_a_disk_that_fails_because_it_is_full_is_called_full(tmp_path, monkeypatch):
    usage = shutil.disk_usage(tmp_path)
    failed = DBAPIError("x", None, sqlite3.OperationalError("disk I/O error"))
    with pytest.raises(CantKeep, match="as it should"), said_plainly(tmp_path / "lostgallon.sqlite"):
        raise failed
    monkeypatch.setattr(shutil, "disk_usage", lambda _: usage._replace(free=0))
    with pytest.raises(CantKeep, match="a full disk"), said_plainly(tmp_path / "lostgallon.sqlite"):
        raise failed
