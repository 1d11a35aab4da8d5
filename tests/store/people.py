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
