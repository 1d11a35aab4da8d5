"""A clock that the test sets, and the people and vehicles of the store's tests, all invented."""

import datetime as dt

from lostgallon.store import OwnerCard, VehicleCard

NOON = dt.datetime(2026, 1, 15, 12, 0, tzinfo=dt.UTC)


class Clock:
    """A clock that goes on by a second each time it is read, and jumps when told."""

    def __init__(self):
        self.now = NOON

    def __call__(self):
        self.now += dt.timedelta(seconds=1)
        return self.now


WAGON = VehicleCard(description="2011 wagon, 2.3 L", plate="BAY 101")
OWNER = OwnerCard(name="Invented Owner", phone="555 0100")


def new_visit(store, mark="visit 1", vehicle=WAGON, owner=OWNER):
    return store.new_visit(who="Pat", idempotency_key=mark, vehicle=vehicle, owner=owner).id


def a_worked_visit(store):
    """A visit with seven entries, a photo, an undo, and two seals with one letter."""
    visit = new_visit(store)
    store.record(visit, "vehicle.curb_weight", "3650 lb", who="Pat", idempotency_key="a")
    store.record(visit, "then.economy", "23 mpg", who="Pat", idempotency_key="b")
    changed = store.record(visit, "then.economy", "24 mpg", who="Pat", idempotency_key="c")
    store.undo(changed.id, who="Sam")
    photo = store.keep_file(b"photo", suffix=".jpg")
    store.add(visit, "photo", {"sha256": photo, "of": "finding.1"}, who="Pat", idempotency_key="d")
    store.record(visit, "words.concern", "uses more, says Invented Owner", who="Pat", idempotency_key="e")
    store.seal(visit, '{"loss": 1}', b"%PDF letter", who="Pat")
    store.record(visit, "then.economy", "22 mpg", who="Pat", idempotency_key="f")
    store.seal(visit, '{"loss": 2}', b"%PDF letter", who="Pat")
    return visit
