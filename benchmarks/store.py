"""How long the shop's data take: an entry saved, a visit read, the list, a backup. python -m benchmarks.store [--json].

The ratio is to a bare write and fsync of 4 kB in the same folder in the same run: a disk is fast or slow, and the
machine is shared.
"""

import datetime as dt
import json
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from itertools import count
from pathlib import Path

from lostgallon.readers.cast import cast_entries
from lostgallon.store import Store, VehicleCard, back_up, case_of, inspect_store, open_store

SHOP_VISITS = 1000
CASE = {"visit.date": "2026-01-15", "visit.promised": "2026-01-15T16:30", **cast_entries("two-faults")}


def timed(work: Callable[[], object], repeats: int) -> float:
    """Median wall time in milliseconds."""
    taken = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        taken.append(1000.0 * (time.perf_counter() - start))
    return statistics.median(taken)


def bare_sync(folder: Path) -> None:
    """What the disk takes for 4 kB that last."""
    with (folder / "bare").open("wb") as out:
        out.write(b"x" * 4096)
        out.flush()
        os.fsync(out.fileno())


def worked(store: Store) -> str:
    """A visit with a full case, in a shop of many visits."""
    for number in range(SHOP_VISITS):
        visit = store.new_visit(who="Pat", idempotency_key=f"{number}", vehicle=VehicleCard(f"van {number}")).id
        store.record(visit, "booked.operation", "brake pads", who="Pat", idempotency_key="a")
    visit = store.new_visit(who="Pat", idempotency_key="worked", vehicle=VehicleCard("wagon")).id
    for key, value in CASE.items():
        store.record(visit, key, value, who="Pat", idempotency_key=key)
    return visit


def measure() -> list[dict[str, float | str]]:
    """Every line in milliseconds, and as a ratio to the bare write."""
    with tempfile.TemporaryDirectory() as scratch:
        folder, marks = Path(scratch), count()
        with open_store(folder / "shop", clock=lambda: dt.datetime.now(dt.UTC)) as store:
            visit = worked(store)
            history = store.history(visit)
            bare_ms = timed(lambda: bare_sync(folder), 50)
            lines = {
                "bare write of 4 kB, synced": bare_ms,
                "entry saved": timed(
                    lambda: store.record(
                        visit, "then.economy", "23 mpg", who="Pat", idempotency_key=f"saved {next(marks)}"
                    ),
                    100,
                ),
                "photo of 1 MB kept": timed(lambda: store.keep_file(os.urandom(1_000_000), suffix=".jpg"), 20),
                "history of a visit": timed(lambda: store.history(visit), 50),
                "case of a history": timed(lambda: case_of(history), 50),
                f"list of {SHOP_VISITS} visits, first 200": timed(store.visits, 20),
                f"search in {SHOP_VISITS} visits": timed(lambda: store.visits(search="van 77"), 20),
                "backup": timed(lambda: back_up(store, folder / "out.zip"), 3),
                "inspection": timed(lambda: inspect_store(store), 3),
            }
    return [{"what": name, "ms": round(ms, 2), "ratio": round(ms / bare_ms, 2)} for name, ms in lines.items()]


if __name__ == "__main__":
    rows = measure()
    if "--json" in sys.argv:
        print(json.dumps(rows, indent=2))
    else:
        for row in rows:
            print(f"{row['what']:<36} {row['ms']:>8} ms  {row['ratio']:>7} x")
