"""backup, restore, inspect-data and self-check as a person runs them."""

import shutil
import sqlite3
from datetime import UTC, datetime

import pytest

from lostgallon.store import VehicleCard, open_store


@pytest.fixture
def shop(tmp_path):
    """A data folder with a visit, a photo and a sealed letter."""
    place = tmp_path / "shop"
    with open_store(place, clock=lambda: datetime.now(UTC)) as store:
        visit = store.new_visit(who="Pat", idempotency_key="1", vehicle=VehicleCard(description="van, 3.0 L")).id
        store.record(visit, "then.economy", "23 mpg", who="Pat", idempotency_key="2")
        photo = store.keep_file(b"photo", suffix=".jpg")
        store.add(visit, "photo", {"sha256": photo}, who="Pat", idempotency_key="3")
        store.seal(visit, '{"loss": 1}', b"%PDF letter", who="Pat")
    return place


def test_a_shop_is_backed_up_restored_and_inspected(run, shop, tmp_path):
    made = run("backup", tmp_path / "out.zip", "--data", shop, "--json")
    assert made.status == 0
    assert made.json["schema"] == "lostgallon/1"
    assert (made.json["visits"], made.json["entries"], made.json["files"]) == (1, 2, 2)
    back = run("restore", tmp_path / "out.zip", "--data", tmp_path / "again", "--json")
    assert (back.status, back.json["entries"], back.json["set_aside"]) == (0, 2, None)
    found = run("inspect-data", "--data", tmp_path / "again", "--json")
    assert (found.status, found.json["damage"], found.json["seals"]) == (0, [], 1)


def test_what_is_printed_says_what_to_do_next(run, shop, tmp_path):
    made = run("backup", tmp_path / "out.zip", "--data", shop)
    assert "Keep it on another disk" in made.out
    assert "entries 2" in made.out
    assert "every file verified" in run("restore", tmp_path / "out.zip", "--data", tmp_path / "again").out
    assert "reads as it was written" in run("inspect-data", "--data", tmp_path / "again").out
    replaced = run("restore", tmp_path / "out.zip", "--data", tmp_path / "again", "--replace")
    assert f"what stood there before is in {tmp_path / 'again'}-before-" in replaced.out
    assert all(
        len(line) <= 100 for ran in (made, replaced) for line in ran.out.splitlines() if str(tmp_path) not in line
    )


def change_a_value(shop):
    connection = sqlite3.connect(shop / "lostgallon.sqlite")
    connection.execute("UPDATE entry SET value = '\"99 mpg\"' WHERE number = 1")
    connection.commit()
    connection.close()


def change_a_seal(shop):
    connection = sqlite3.connect(shop / "lostgallon.sqlite")
    connection.execute("UPDATE seal SET account_json = '{\"loss\": 2}'")
    connection.commit()
    connection.close()


def change_a_photo(shop):
    next((shop / "files").glob("*/*.jpg")).write_bytes(b"Photo")


def lose_a_letter(shop):
    next((shop / "files").glob("*/*.pdf")).unlink()


def cut_the_database(shop):
    database = shop / "lostgallon.sqlite"
    database.write_bytes(database.read_bytes()[:5000])


def empty_the_database(shop):
    (shop / "lostgallon.sqlite").write_bytes(b"")


def lose_the_database(shop):
    (shop / "lostgallon.sqlite").unlink()


def scramble_the_database(shop):
    (shop / "lostgallon.sqlite").write_bytes(b"no database " * 1000)


DAMAGE = {
    change_a_value: "a value that does not match its hash",
    change_a_seal: "an account that does not match its hash",
    change_a_photo: "5 bytes with the hash",
    lose_a_letter: "no such file or directory",
    cut_the_database: "",
    empty_the_database: "no database beside the photos",
    lose_the_database: "no database beside the photos",
    scramble_the_database: "a damaged database",
}


@pytest.mark.parametrize("damage", DAMAGE, ids=lambda damage: damage.__name__)
def test_damage_is_named_and_is_the_one_reason_for_status_1(run, shop, damage):
    damage(shop)
    found = run("inspect-data", "--data", shop, "--json")
    assert found.status == 1
    assert any(DAMAGE[damage] in one["found"] for one in found.json["damage"])
    said = run("inspect-data", "--data", shop)
    assert said.status == 1
    assert "DAMAGE" in said.out
    assert "Restore the last backup into a new folder" in said.out


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["backup", "{tmp}/out.zip", "--data", "{tmp}/none"], "found no data of a shop"),
        (["backup", "{tmp}/none/out.zip", "--data", "{tmp}/shop"], "found no such folder"),
        (["backup", "--data", "{tmp}/shop"], "found no OUT"),
        (["restore", "{tmp}/none.zip", "--data", "{tmp}/new"], "found no such file"),
        (
            ["restore", "{tmp}/shop/lostgallon.sqlite", "--data", "{tmp}/new"],
            "expected a backup made by lostgallon backup",
        ),
        (["inspect-data", "--data", "{tmp}/none"], "found no data of a shop"),
        (["inspect-data", "--data", "{tmp}/shop", "--database", "mysql://x"], "expected one like postgresql://"),
    ],
)
def test_what_can_t_be_done_gets_one_line_and_status_2(run, shop, tmp_path, arguments, sentence):
    ran = run(*(argument.format(tmp=tmp_path) for argument in arguments))
    assert ran.status == 2
    assert sentence in ran.line


def test_data_that_stand_there_are_not_replaced_unasked(run, shop, tmp_path):
    run("backup", tmp_path / "out.zip", "--data", shop)
    ran = run("restore", tmp_path / "out.zip", "--data", shop)
    assert ran.status == 2
    assert "--replace to set what is there aside" in ran.line


def test_self_check_tries_everything_and_makes_nothing(run, tmp_path):
    ran = run("self-check", "--data", tmp_path / "shop", "--json")
    checks = {check["name"]: check for check in ran.json["checks"]}
    assert ran.status == 0
    assert [name for name, check in checks.items() if not check["works"]] == []
    assert {"data folder", "the shop's data", "database", "fonts", "PDF", "Python", "packages"} <= set(checks)
    assert list(tmp_path.iterdir()) == []


def test_self_check_says_what_does_not_work(run, shop):
    scramble_the_database(shop)
    ran = run("self-check", "--data", shop)
    assert ran.status == 0
    assert "FAILS" in ran.out
    assert "Not working: the shop's data." in ran.out


def test_self_check_opens_the_data_that_are_there(run, shop):
    assert "they open; the newest visit is from" in " ".join(run("self-check", "--data", shop).out.split())
    shutil.rmtree(shop)
