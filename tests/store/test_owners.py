"""What is personal goes at the owner's wish, everywhere in the folder; the lesson and the seals stay."""

import json
import zipfile

import pytest

from lostgallon.shop.trouble import BadInput
from lostgallon.store import OwnerCard, case_of, erase_owner, export_owner, export_vehicle, inspect_store, standing
from tests.store.people import OWNER, WAGON, a_worked_visit, new_visit

SECRETS = (b"Invented Owner", b"555 0100", b"BAY 101", b"photo", b"%PDF letter")


def everything_in(folder):
    return b"".join(path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file())


def test_nothing_personal_is_left_in_the_folder(light_store, place):
    visit = a_worked_visit(light_store)
    assert all(secret in everything_in(place) for secret in SECRETS)
    erased = erase_owner(light_store, light_store.visit(visit).owner.id)
    assert (erased.visits, erased.values, erased.files) == (1, 2, 2)
    left = everything_in(place)
    kept = b"".join(path.name.encode() for path in light_store.shelf.names())
    for secret in set(SECRETS) - {b"photo"}:
        assert secret not in left
        assert secret not in kept
    assert list(light_store.shelf.names()) == []


def test_the_lesson_and_the_seals_stay(store):
    visit = a_worked_visit(store)
    before, seals = store.history(visit), store.seals(visit)
    owner = store.visit(visit).owner
    erase_owner(store, owner.id)
    after = store.history(visit)
    assert store.seals(visit) == seals
    assert [entry.number for entry in after if entry.erased] == [5, 6]
    assert [entry.value for entry in after if not entry.erased] == [
        entry.value for entry in before if entry.number not in (5, 6)
    ]
    assert standing(after)["then.economy"].value == "22 mpg"
    assert isinstance(case_of(after), tuple), "still a history that a case can be made of"
    assert inspect_store(store).damage == ()
    assert store.visit(visit).owner == OwnerCard(id=owner.id)
    assert (store.visit(visit).vehicle.plate, store.visit(visit).vehicle.description) == ("", WAGON.description)


def test_erasing_twice_is_the_same_as_once(store):
    owner = store.visit(a_worked_visit(store)).owner.id
    erase_owner(store, owner)
    assert erase_owner(store, owner).values == 0
    with pytest.raises(BadInput, match="found no owner"):
        erase_owner(store, "nobody")


def test_another_owner_keeps_what_is_theirs(store):
    first = a_worked_visit(store)
    sold = new_visit(store, "sold", store.visit(first).vehicle.id, OwnerCard(name="New Owner"))
    photo = store.keep_file(b"photo", suffix=".jpg")
    store.add(sold, "photo", {"sha256": photo}, who="Pat", idempotency_key="p")
    erase_owner(store, store.visit(first).owner.id)
    assert store.visit(sold).owner.name == "New Owner"
    assert store.visit(sold).vehicle.plate == WAGON.plate, "the vehicle is the new owner's"
    assert store.file_path(photo).read_bytes() == b"photo", "the new owner's visit names it too"
    assert inspect_store(store).damage == ()


def test_a_photo_kept_again_after_erasure_is_kept(store):
    erase_owner(store, store.visit(a_worked_visit(store)).owner.id)
    photo = store.keep_file(b"photo", suffix=".jpg")
    assert store.file_path(photo).read_bytes() == b"photo"
    assert inspect_store(store).damage == ()


def test_an_owner_gets_everything(store, tmp_path):
    visit = a_worked_visit(store)
    new_visit(store, "another", owner=OwnerCard(name="Somebody Else"))
    export_owner(store, store.visit(visit).owner.id, tmp_path / "owner.zip")
    with zipfile.ZipFile(tmp_path / "owner.zip") as archive:
        record = json.loads(archive.read("record.json"))
        assert {archive.read(file["name"]) for file in record["files"]} == {b"photo", b"%PDF letter"}
    assert record["schema"] == "lostgallon/1"
    assert record["export_of"]["name"] == OWNER.name
    (told,) = record["visits"]
    assert [entry["value"] for entry in told["history"]] == [entry.value for entry in store.history(visit)]
    assert [seal["account_json"] for seal in told["seals"]] == ['{"loss": 1}', '{"loss": 2}']
    assert "Somebody Else" not in json.dumps(record)


def test_a_vehicle_s_record_has_its_visits_in_order(store, tmp_path):
    first = a_worked_visit(store)
    vehicle = store.visit(first).vehicle.id
    second = new_visit(store, "again", vehicle, None)
    new_visit(store, "another")
    export_vehicle(store, vehicle, tmp_path / "vehicle.zip")
    with zipfile.ZipFile(tmp_path / "vehicle.zip") as archive:
        record = json.loads(archive.read("record.json"))
    assert [visit["id"] for visit in record["visits"]] == [first, second]
    with pytest.raises(BadInput, match="found no vehicle"):
        export_vehicle(store, "none", tmp_path / "none.zip")
    assert not (tmp_path / "none.zip").exists()
