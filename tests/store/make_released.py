"""Writes the copy of today's tables that later versions are tested to upgrade: `python -m tests.store.make_released`.

Run it before the next step is added to migrations/versions, from the version that is released; never change a copy
that is there.
"""

import random
import sqlite3
import sys
import tempfile
from pathlib import Path

from lostgallon.store import VehicleCard, open_store
from lostgallon.store.opening import DATABASE_NAME
from lostgallon.store.schema import REVISIONS
from tests.store.people import Clock, new_visit

FOLDER = Path(__file__).parent / "released"


def fill(store):
    """What test_versions looks for: seven entries, an undo, a photo, a seal, a setting, a visit of nobody."""
    visit = new_visit(store, "visit 1")
    store.record(visit, "vehicle.curb_weight", "3650 lb", who="Pat", idempotency_key="a")
    store.record(visit, "then.economy", "23 mpg", who="Pat", idempotency_key="b")
    store.undo(store.record(visit, "then.economy", "24 mpg", who="Pat", idempotency_key="c").id, who="Sam")
    finding = {"check": "tire_pressure", "value": ["27 psi", "26 psi"]}
    store.add(visit, "finding", finding, who="Pat", idempotency_key="d")
    photo = store.keep_file(b"photo", suffix=".jpg")
    store.add(visit, "photo", {"sha256": photo, "of": "finding.1"}, who="Pat", idempotency_key="e")
    store.seal(visit, '{"loss": 1}', b"%PDF letter", who="Pat")
    store.record(visit, "words.concern", "uses more, señor", who="Pat", idempotency_key="f")
    new_visit(store, "visit 2", vehicle=VehicleCard("van, 3.0 L"), owner=None)
    store.set("shop.labor_rate", "150 USD/h", who="Pat")


def main():
    target = FOLDER / f"{REVISIONS[-1]}.sql"
    if target.exists():
        sys.exit(f"{target}: found a copy of this version; expected none")
    with tempfile.TemporaryDirectory() as place:
        with open_store(Path(place), clock=Clock(), random_bytes=random.Random(1).randbytes) as store:
            fill(store)
        connection = sqlite3.connect(Path(place) / DATABASE_NAME)
        target.write_text("\n".join(connection.iterdump()) + "\n", "utf-8")
        connection.close()


if __name__ == "__main__":
    main()
