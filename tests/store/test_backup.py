"""A backup is the whole shop at one moment; it is verified to the last hash before it replaces anything."""

import datetime as dt
import errno
import shutil
import sqlite3
import threading
import zipfile
from hashlib import sha256
from itertools import count
from pathlib import Path

import pytest

from lostgallon.shop.trouble import BadArgument, BadFile, CantKeep, NewerData
from lostgallon.store import back_up, back_up_every_day, daily_backup, inspect_store, open_store, restore
from lostgallon.store.archive import MANIFEST, writing
from tests.store.people import a_worked_visit, new_visit
from tests.store.test_versions import RELEASED

_names = count()


@pytest.fixture
def empty_database(database, request):
    """A second empty database of the same kind."""
    if database is None:
        return None
    return request.getfixturevalue("server").new_database(f"empty{next(_names)}", template="ready")


@pytest.fixture
def archive(light_store, tmp_path):
    a_worked_visit(light_store)
    back_up(light_store, tmp_path / "out.zip")
    return tmp_path / "out.zip"


def test_a_backup_comes_back_whole(store, tmp_path, clock, empty_database):
    visit = a_worked_visit(store)
    store.set("shop.labor_rate", "150 USD/h", who="Pat")
    made = back_up(store, tmp_path / "out.zip")
    assert (made.visits, made.entries, made.files, made.not_readable) == (1, 7, 2, ())
    back = restore(tmp_path / "out.zip", tmp_path / "again", clock=clock, database=empty_database)
    assert (back.visits, back.entries, back.files, back.set_aside) == (1, 7, 2, None)
    with open_store(tmp_path / "again", clock=clock, database=empty_database) as again:
        assert again.history(visit) == store.history(visit)
        assert again.seals(visit) == store.seals(visit)
        assert again.visits() == store.visits()
        assert again.setting("shop.labor_rate") == "150 USD/h"
        assert inspect_store(again).damage == ()
        again.record(visit, "then.economy", "21 mpg", who="Pat", idempotency_key="later")
        again.set("shop.labor_rate", "160 USD/h", who="Pat")


def test_a_shop_moves_to_a_server_and_back(light_store, tmp_path, clock, server):
    visit = a_worked_visit(light_store)
    database = server.new_database(f"moved{next(_names)}", template="ready")
    back_up(light_store, tmp_path / "there.zip")
    restore(tmp_path / "there.zip", tmp_path / "server", clock=clock, database=database)
    with open_store(tmp_path / "server", clock=clock, database=database) as moved:
        back_up(moved, tmp_path / "back.zip")
    restore(tmp_path / "back.zip", tmp_path / "again", clock=clock)
    with open_store(tmp_path / "again", clock=clock) as again:
        assert again.history(visit) == light_store.history(visit)
        assert again.seals(visit) == light_store.seals(visit)


def test_a_server_database_in_use_is_not_written_over(archive, tmp_path, clock, server):
    database = server.new_database(f"used{next(_names)}", template="ready")
    with open_store(tmp_path / "used", clock=clock, database=database) as used:
        new_visit(used)
    with pytest.raises(BadArgument, match="expected a new, empty database"):
        restore(archive, tmp_path / "again", clock=clock, database=database)


def test_data_that_stand_there_are_kept_unless_told_and_then_set_aside(archive, tmp_path, clock):
    place = tmp_path / "other"
    with open_store(place, clock=clock) as other:
        visit = new_visit(other, "other")
    with pytest.raises(BadArgument, match="or --replace to set what is there aside"):
        restore(archive, place, clock=clock)
    back = restore(archive, place, clock=clock, replace=True)
    with open_store(place.parent / back.set_aside, clock=clock) as aside:
        assert [found.id for found in aside.visits()] == [visit]
    with open_store(place, clock=clock) as restored:
        assert visit not in {found.id for found in restored.visits()}


def test_data_that_were_set_aside_come_back_where_the_copy_can_t_be_moved_in(archive, tmp_path, clock, monkeypatch):
    place = tmp_path / "other"
    with open_store(place, clock=clock) as other:
        visit = new_visit(other, "other")
    rename = Path.rename

    def refuse(path, target):
        if path.name == "shop":
            raise OSError(errno.EIO, "no")
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", refuse)
    with pytest.raises(CantKeep):
        restore(archive, place, clock=clock, replace=True)
    with open_store(place, clock=clock) as still:
        assert [found.id for found in still.visits()] == [visit]


def test_no_empty_shop_is_started_where_a_restore_was_cut_off(archive, tmp_path, clock):
    (tmp_path / ".other-restoring-abc" / "shop").mkdir(parents=True)
    with pytest.raises(CantKeep, match="found a restore that was cut off"):
        open_store(tmp_path / "other", clock=clock)
    restore(archive, tmp_path / "other", clock=clock)
    with open_store(tmp_path / "other", clock=clock) as restored:
        assert len(restored.visits()) == 1


def test_a_shop_that_is_open_is_not_replaced(archive, light_store, place, clock):
    with pytest.raises(CantKeep, match="a running program has open"):
        restore(archive, place, clock=clock, replace=True)
    assert len(light_store.visits()) == 1


def test_a_folder_of_something_else_is_never_replaced(archive, tmp_path, clock):
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "dear.txt").write_text("kept", "utf-8")
    with pytest.raises(BadArgument, match="found something else"):
        restore(archive, tmp_path / "letters", clock=clock, replace=True)
    assert (tmp_path / "letters" / "dear.txt").read_text("utf-8") == "kept"


def test_a_flipped_byte_anywhere_in_an_archive_is_refused_or_harmless(archive, tmp_path, clock):
    whole = archive.read_bytes()
    for at in range(0, len(whole), len(whole) // 40):
        archive.write_bytes(whole[:at] + bytes([whole[at] ^ 0x5A]) + whole[at + 1 :])
        place = tmp_path / "again"
        try:
            restore(archive, place, clock=clock)
        except BadFile:
            assert not place.exists()
            continue
        with open_store(place, clock=clock) as again:
            assert inspect_store(again).damage == ()
        shutil.rmtree(place)
    assert [path.name for path in tmp_path.iterdir() if "restoring" in path.name] == []


def rewrite(archive, change):
    with zipfile.ZipFile(archive) as source:
        parts = {name: source.read(name) for name in source.namelist()}
    change(parts)
    with zipfile.ZipFile(archive, "w") as out:
        for name, content in parts.items():
            out.writestr(name, content)


BROKEN = {
    "a part gone": (lambda parts: parts.pop("lostgallon.sqlite"), BadFile, "something else than was backed up"),
    "no manifest": (lambda parts: parts.pop(MANIFEST), BadFile, "found something else"),
    "a path out of the folder": (
        lambda parts: parts.update({MANIFEST: parts[MANIFEST].replace(b"files/", b"../../")}), BadFile, "found something else",
    ),
    "a longer part": (
        lambda parts: parts.update({"lostgallon.sqlite": parts["lostgallon.sqlite"] + b"0" * 5_000_000}),
        BadFile, "something else than was backed up",
    ),
    "a newer program's": (
        lambda parts: parts.update({MANIFEST: parts[MANIFEST].replace(b'"revision": "0', b'"revision": "9')}),
        NewerData, "made by a newer program",
    ),
    "a manifest of numbers": (lambda parts: parts.update({MANIFEST: b"[1, 2]"}), BadFile, "found something else"),
}  # fmt: skip


@pytest.mark.parametrize("name", BROKEN)
def test_an_archive_that_is_not_as_it_was_made_is_refused(name, archive, tmp_path, clock):
    change, trouble, sentence = BROKEN[name]
    rewrite(archive, change)
    with pytest.raises(trouble) as caught:
        restore(archive, tmp_path / "again", clock=clock)
    assert sentence in str(caught.value)
    assert not (tmp_path / "again").exists()


@pytest.mark.parametrize("content", [b"", b"not a zip", None])
def test_what_is_no_backup_is_refused(content, tmp_path, clock):
    path = tmp_path / "in.zip"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(BadFile, match="a backup made by lostgallon backup"):
        restore(path, tmp_path / "again", clock=clock)


def test_a_backup_never_goes_over_something_else(light_store, tmp_path):
    (tmp_path / "letter.zip").write_bytes(b"not a backup")
    with pytest.raises(BadFile, match="a backup made by"):
        back_up(light_store, tmp_path / "letter.zip")
    with pytest.raises(BadFile, match="no such folder"):
        back_up(light_store, tmp_path / "none" / "out.zip")


def test_a_lost_photo_does_not_stop_a_backup_and_is_named(light_store, tmp_path, clock):
    a_worked_visit(light_store)
    (photo,) = [path for path in light_store.shelf.names() if path.suffix == ".jpg"]
    photo.write_bytes(b"Photo")
    made = back_up(light_store, tmp_path / "out.zip")
    assert made.not_readable == (f"files/{photo.parent.name}/{photo.name}",)
    back = restore(tmp_path / "out.zip", tmp_path / "again", clock=clock)
    assert back.not_readable == made.not_readable
    assert back.entries == 7


@pytest.mark.parametrize("released", RELEASED, ids=lambda path: path.stem)
def test_a_backup_of_an_older_program_is_brought_up_to_date(released, tmp_path, clock):
    connection = sqlite3.connect(tmp_path / "old.sqlite")
    connection.executescript(released.read_text("utf-8"))
    connection.close()
    with writing(tmp_path / "old.zip") as out:
        out.add("lostgallon.sqlite", tmp_path / "old.sqlite")
        for content, suffix in ((b"photo", ".jpg"), (b"%PDF letter", ".pdf")):
            path = tmp_path / f"file{suffix}"
            path.write_bytes(content)
            name = sha256(content).hexdigest()
            out.add(f"files/{name[:2]}/{name}{suffix}", path)
        out.finish(made_at=clock(), revision=released.stem)
    assert restore(tmp_path / "old.zip", tmp_path / "again", clock=clock).entries == 7


def test_daily_backups_are_made_once_a_day_and_the_oldest_go(light_store, clock, place):
    light_store.set("backup.daily", {"keep": 2}, who="Pat")
    a_worked_visit(light_store)
    assert daily_backup(light_store) is not None
    assert daily_backup(light_store) is None
    for _ in range(2):
        clock.now += dt.timedelta(days=1)
        assert daily_backup(light_store).entries == 7
    assert sorted(path.name for path in (place / "backups").iterdir()) == [
        "lostgallon-2026-01-16.zip",
        "lostgallon-2026-01-17.zip",
    ]
    light_store.set("backup.daily", {"on": False}, who="Pat")
    clock.now += dt.timedelta(days=1)
    assert daily_backup(light_store) is None


def test_a_daily_backup_that_can_t_be_written_is_told_and_the_thread_goes_on(light_store, tmp_path):
    (tmp_path / "file").write_text("no folder", "utf-8")
    light_store.set("backup.daily", {"folder": str(tmp_path / "file")}, who="Pat")
    stop, told = threading.Event(), []

    def on_trouble(trouble):
        told.append(str(trouble))
        stop.set()

    thread = back_up_every_day(light_store, stop=stop, on_trouble=on_trouble)
    thread.join(10)
    assert not thread.is_alive()
    assert "found a file where a folder is needed" in told[0]
