"""What was written is what is read; every kind of damage is named, and what is no damage is only remarked."""

import datetime as dt
import sqlite3

import pytest
from sqlalchemy import text

from lostgallon.shop.trouble import BadFile, Trouble
from lostgallon.store import inspect_store, look_into, open_store
from lostgallon.store.opening import DATABASE_NAME
from tests.store.people import a_worked_visit
from tests.store.test_versions import RELEASED, write_database


@pytest.fixture
def worked(store):
    return a_worked_visit(store)


def change(store, statement):
    """Change a row behind the program's back."""
    with store.engine.execution_options(writes=True).begin() as connection:
        connection.execute(text(statement))


def test_a_sound_shop_has_no_damage(store, worked):
    found = inspect_store(store)
    assert (found.damage, found.remarks) == ((), ())
    assert (found.visits, found.entries, found.files, found.seals) == (1, 7, 2, 2)


DAMAGE = {
    "a value changed": ("UPDATE entry SET value = '\"99 mpg\"' WHERE number = 2", "a value that does not match its hash"),
    "a name changed": ("UPDATE entry SET who = 'Nobody' WHERE number = 2", "an entry that does not match its hash"),
    "a time changed": ("UPDATE entry SET at = '2026-01-16' WHERE number = 2", "an entry that does not match its hash"),
    "the last entry gone": ("DELETE FROM entry WHERE number = 7", "another history of 7 entries"),
    "an entry gone": ("DELETE FROM entry WHERE number = 5", "a gap before it"),
    "a value erased that is not personal": ("UPDATE entry SET value = NULL, salt = NULL WHERE number = 2", "no personal one"),
    "an account changed": ("UPDATE seal SET account_json = '{}' WHERE version = 1", "an account that does not match"),
    "a seal redated": ("UPDATE seal SET sealed_at = '2020-01-01' WHERE version = 1", "a seal that does not match its hash"),
    "a seal gone": ("DELETE FROM seal WHERE version = 1", "a version missing before it"),
    "a photo unknown": ("DELETE FROM file WHERE suffix = '.jpg'", "the name of a file that is not kept"),
}  # fmt: skip


@pytest.mark.parametrize("name", DAMAGE)
def test_what_was_changed_behind_the_back_is_named(store, worked, name):
    statement, sentence = DAMAGE[name]
    change(store, statement)
    found = inspect_store(store)
    assert [damage for damage in found.damage if sentence in damage.found], found.damage


def test_a_photo_that_changed_or_went_is_named(light_store):
    visit = a_worked_visit(light_store)
    (photo,) = [path for path in light_store.shelf.names() if path.suffix == ".jpg"]
    photo.write_bytes(b"Photo")
    (damage,) = inspect_store(light_store).damage
    assert (damage.where, damage.expected) == (str(photo), "5 bytes with the hash of its name")
    photo.unlink()
    (damage,) = inspect_store(light_store).damage
    assert damage.found == "no such file or directory"
    assert visit


def test_leftovers_of_a_crash_are_remarks_that_name_them(light_store):
    a_worked_visit(light_store)
    half = light_store.shelf.incoming / "tmpabc"
    half.write_bytes(b"hal")
    whole, _ = light_store.shelf.put(b"whole, but its entry never came", ".jpg")
    found = inspect_store(light_store)
    assert found.damage == ()
    assert any(str(half) in remark and "interrupted write" in remark for remark in found.remarks)
    assert any(whole in remark and "no record names it" in remark for remark in found.remarks)
    assert len(found.remarks) == 2


def test_a_flipped_byte_anywhere_in_the_database_is_found_or_harmless(place, clock):
    with open_store(place, clock=clock) as store:
        visit = a_worked_visit(store)
        sound = store.history(visit)
    database = place / DATABASE_NAME
    whole = database.read_bytes()
    named = 0
    for at in range(0, len(whole), 1999):
        database.write_bytes(whole[:at] + bytes([whole[at] ^ 0x5A]) + whole[at + 1 :])
        try:
            with look_into(place, clock=clock) as store:
                if inspect_store(store).damage:
                    named += 1
                else:
                    assert store.history(visit) == sound
        except Trouble:
            named += 1
    assert named > 0


def test_a_clock_that_went_back_is_remarked_and_nothing_is_lost(store, worked, clock):
    assert store.clock_remark() is None
    clock.now -= dt.timedelta(hours=3)
    assert "Set the clock" in store.clock_remark()
    entry = store.record(worked, "then.economy", "21 mpg", who="Pat", idempotency_key="late")
    assert store.history(worked)[-1] == entry
    found = inspect_store(store)
    assert found.damage == ()
    assert "after the clock's" in found.remarks[0]


def test_looking_makes_nothing(tmp_path, clock):
    with pytest.raises(BadFile, match="found no data of a shop"), look_into(tmp_path / "none", clock=clock):
        pass
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("released", RELEASED, ids=lambda path: path.stem)
def test_older_data_are_read_in_a_copy(released, place, clock):
    write_database(place, released.read_text("utf-8"))
    with look_into(place, clock=clock) as store:
        found = inspect_store(store)
    assert {damage.found for damage in found.damage} == {"no such file or directory"}, "only its files are not here"
    assert found.entries == 7
    connection = sqlite3.connect(place / DATABASE_NAME)
    assert connection.execute("SELECT version_num FROM alembic_version").fetchone() == (released.stem,)
    connection.close()
