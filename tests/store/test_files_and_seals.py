"""Files are named by their content; a seal covers account, letter and history; later changes make a new version."""

import hashlib
import io

import pytest

from lostgallon.shop.trouble import BadInput
from lostgallon.store import VehicleCard
from tests.store.people import OWNER, WAGON, new_visit

PHOTO = b"what a camera wrote"


def test_a_file_is_named_by_its_content_and_kept_once(store):
    sha256 = store.keep_file(PHOTO, suffix=".jpg")
    assert sha256 == hashlib.sha256(PHOTO).hexdigest()
    assert store.keep_file(io.BytesIO(PHOTO), suffix=".jpg") == sha256
    assert store.file_path(sha256).read_bytes() == PHOTO
    assert [path.name for path in store.shelf.names()] == [f"{sha256}.jpg"]


@pytest.mark.parametrize("suffix", ["jpg", "../x", ".jp/g", ".", ".verylong", "/etc/passwd"])
def test_no_text_of_a_person_becomes_a_path(light_store, suffix):
    with pytest.raises(BadInput, match="the file suffix"):
        light_store.keep_file(PHOTO, suffix=suffix)


@pytest.mark.parametrize("sha256", ["0" * 64, "../../etc/passwd", ""])
def test_a_file_that_is_not_kept(light_store, sha256):
    with pytest.raises(BadInput, match="expected a file that is kept"):
        light_store.file_path(sha256)


def test_a_seal_covers_account_letter_and_history(store, clock):
    visit = new_visit(store)
    store.record(visit, "then.economy", "23 mpg", who="Pat", idempotency_key="a")
    seal = store.seal(visit, '{"loss": 1}', b"%PDF letter", who="Pat")
    assert (seal.version, seal.entries, seal.sealed_by, seal.sealed_at) == (1, 1, "Pat", clock.now)
    assert store.file_path(seal.letter_sha256).read_bytes() == b"%PDF letter"
    assert store.visit(visit).stage == "handed back"


def test_a_later_change_makes_a_new_version_and_the_first_stays(store):
    visit = new_visit(store)
    first = store.seal(visit, '{"loss": 1}', b"%PDF 1", who="Pat")
    store.record(visit, "then.economy", "24 mpg", who="Pat", idempotency_key="a")
    second = store.seal(visit, '{"loss": 2}', b"%PDF 2", who="Pat")
    assert store.seals(visit) == (first, second)
    assert (first.account_json, second.account_json) == ('{"loss": 1}', '{"loss": 2}')
    assert second.version == 2
    assert second.entries == 1


def test_sealing_twice_with_nothing_between_is_one_seal(store):
    visit = new_visit(store)
    assert store.seal(visit, "{}", b"%PDF", who="Pat") == store.seal(visit, "{}", b"%PDF", who="Pat")
    assert len(store.seals(visit)) == 1


def test_an_account_that_is_not_json_is_not_sealed(light_store):
    with pytest.raises(BadInput, match="the account as JSON"):
        light_store.seal(new_visit(light_store), "{", b"%PDF", who="Pat")


def test_visits_are_found_by_every_word(store):
    wagon = new_visit(store, "a")
    van = new_visit(store, "b", VehicleCard(description="van, 3.0 L", plate="100% A_B"), None)
    store.record(van, "booked.operation", "coolant hose", who="Pat", idempotency_key="a")
    found = {words: {visit.id for visit in store.visits(search=words)} for words in ("invented bay", "HOSE", "100%", "a_b", "%", "wagon van", "2026-01-15", "555 0100", "' OR ''='")}  # fmt: skip
    assert found == {"invented bay": {wagon}, "HOSE": {van}, "100%": {van}, "a_b": {van}, "%": {van}, "wagon van": set(), "2026-01-15": {wagon, van}, "555 0100": {wagon}, "' OR ''='": set()}  # fmt: skip


def test_open_visits_come_first_by_the_promised_time(store):
    late, soon, done, unpromised = (new_visit(store, mark) for mark in "abcd")
    for visit, promised in ((late, "2026-01-15T17:00"), (soon, "2026-01-15T14:00")):
        store.record(visit, "visit.promised", promised, who="Pat", idempotency_key="p")
    store.seal(done, "{}", b"%PDF", who="Pat")
    assert [visit.id for visit in store.visits()] == [soon, late, unpromised, done]
    assert done not in {visit.id for visit in store.visits(open_only=True)}
    store.add(done, "tank", {"volume": "12 gal"}, who="Pat", idempotency_key="t")
    assert store.visit(done).stage == "proof"


def test_a_visit_closed_by_mistake_opens_again(store):
    visit = new_visit(store)
    closed = store.record(visit, "stage.closed", "owner took it home", who="Pat", idempotency_key="c")
    assert store.visits(open_only=True) == ()
    store.undo(closed.id, who="Pat")
    assert [found.stage for found in store.visits(open_only=True)] == ["in the bay"]


def test_a_vehicle_comes_again(store):
    first = store.visit(new_visit(store, "a"))
    again = store.visit(new_visit(store, "b", first.vehicle.id, None))
    assert again.vehicle == first.vehicle
    assert again.owner.name == OWNER.name
    assert {visit.id for visit in store.visits(vehicle_id=first.vehicle.id)} == {first.id, again.id}
    assert [card.plate for card in store.vehicles("wagon")] == [WAGON.plate]


def test_a_setting_stands_until_changed(store):
    assert store.setting("shop.labor_rate", "140 USD/h") == "140 USD/h"
    store.set("shop.labor_rate", "150 USD/h", who="Pat")
    store.set("shop.labor_rate", {"per hour": 155}, who="Pat")
    assert store.setting("shop.labor_rate") == {"per hour": 155}


def test_an_entry_never_names_a_file_that_is_not_kept(store):
    visit = new_visit(store)
    with pytest.raises(BadInput, match="the name of a file that is not kept"):
        store.add(visit, "photo", {"sha256": "0" * 64, "of": "finding.1"}, who="Pat", idempotency_key="p")
    with pytest.raises(BadInput, match="expected a kept file"):
        store.record(visit, "evidence.fill_ups", {"sha256": "0" * 64}, who="Pat", idempotency_key="e")
    assert store.history(visit) == ()


def test_a_vehicle_of_nobody_known_is_refused(store):
    with pytest.raises(BadInput, match="found no owner 'nobody'"):
        store.keep_vehicle(VehicleCard(description="van", owner_id="nobody"))
    with pytest.raises(BadInput, match="found no vehicle 'none'"):
        new_visit(store, "v", "none", None)
