"""Pulled plugs, many hands and backups under way, counted. `python -m tests.hard.store` prints docs/store.md's table.

Nothing here decides what is right by the store's own word alone: a writing process says on a pipe what it was
acknowledged; after its death each of these is looked up by value, and each file by its hash.
"""

import argparse
import contextlib
import datetime as dt
import json
import os
import random
import shutil
import signal
import sys
import tempfile
import threading
import time
from dataclasses import dataclass
from hashlib import sha256
from itertools import count
from pathlib import Path

from lostgallon.shop.trouble import CantKeep
from lostgallon.store import VehicleCard, back_up, inspect_store, open_store, restore
from tests.store.server import Server, server_programs

VISITS, WRITERS = 3, 3
ROUNDS_PER_SHOP = 10
BREATH_SECONDS = 0.01
"""Between two writes of a thread while backups are made: a shop of gigabytes would measure the disk."""


def now():
    return dt.datetime.now(dt.UTC)


@dataclass(frozen=True)
class Place:
    folder: Path
    database: str | None = None

    def open(self):
        return open_store(self.folder, clock=now, database=self.database)


@dataclass(frozen=True)
class Count:
    """How often, how many acknowledged writes were lost, and how often anything was found damaged."""

    name: str
    times: int
    acknowledged: int
    lost: int
    damaged: int
    seconds: float

    def line(self):
        return (
            f"| {self.name} | {self.times} | {self.acknowledged} | {self.lost} | {self.damaged} | {self.seconds:.0f} |"
        )


def write_on(store, visits, acknowledge, seed):
    """Write entries, findings with a photo, undos and seals without end, and say each one that was acknowledged."""
    rng = random.Random(seed)
    for turn in count():
        visit, mark = rng.choice(visits), f"{seed} {turn}"
        kind = rng.random()
        if kind < 0.6:
            entry = store.record(
                visit, f"words.of_{turn % 7}", mark * rng.randint(1, 50), who="Pat", idempotency_key=mark
            )
            acknowledge({"entry": entry.id, "value": entry.value})
        elif kind < 0.8:
            photo = store.keep_file(rng.randbytes(rng.randint(1, 20_000)), suffix=".jpg")
            acknowledge({"file": photo})
            entry = store.add(visit, "photo", {"sha256": photo}, who="Pat", idempotency_key=mark)
            acknowledge({"entry": entry.id, "value": entry.value})
        elif kind < 0.95:
            entry = store.record(visit, f"words.by_{seed.rpartition('-')[2]}", mark, who="Pat", idempotency_key=mark)
            taken_back = store.undo(entry.id, who="Pat")
            acknowledge({"entry": taken_back.id, "value": taken_back.value})
        else:
            seal = store.seal(visit, json.dumps({"turn": turn}), f"%PDF {mark}".encode(), who="Pat")
            acknowledge({"seal": seal.sha256, "visit": visit})


def lost_of(store, acknowledged):
    """How many of the acknowledged writes are not there, or not what was acknowledged."""
    visits = {visit.id for visit in store.visits()}
    entries = {entry.id: entry.value for visit in visits for entry in store.history(visit)}
    seals = {seal.sha256 for visit in visits for seal in store.seals(visit)}
    lost = 0
    for one in acknowledged:
        if "entry" in one:
            lost += one["entry"] not in entries or entries[one["entry"]] != one["value"]
        elif "file" in one:
            lost += sha256(store.file_path(one["file"]).read_bytes()).hexdigest() != one["file"]
        else:
            lost += one["seal"] not in seals
    return lost


def write_until_killed(place, visits, pipe, seed):
    """The life of a writing process: several threads, each acknowledged write a line on the pipe."""
    store, started = place.open(), threading.Barrier(WRITERS)

    def writer(number):
        started.wait()
        if number == 0:
            os.write(pipe, b"{}\n")
        # Where the server is killed first, the writers are told so; that is one clear line and not a loss.
        with contextlib.suppress(CantKeep):
            write_on(store, visits, lambda said: os.write(pipe, json.dumps(said).encode() + b"\n"), f"{seed}-{number}")

    for number in range(WRITERS):
        threading.Thread(target=writer, args=(number,)).start()
    time.sleep(600)


def one_kill(place, visits, rng, server=None):
    """Start a writing process, kill it at a random instant, and hand back what it was acknowledged."""
    reading, writing = os.pipe()
    seed = rng.randrange(10**9)
    child = os.fork()
    if child == 0:
        os.close(reading)
        # A failure in the child shows as acknowledgements that never come.
        write_until_killed(place, visits, writing, seed)
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as said:
        first = said.readline()
        time.sleep(rng.expovariate(1 / 0.15))
        if server:
            server.kill()
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        lines = said.read().splitlines()
    # The last line may be cut: then it was not acknowledged to anybody. {} says that the writers have begun.
    said = [json.loads(line) for line in (first, *lines) if line.rstrip().endswith(b"}")]
    return [one for one in said if one]


def new_shop(folder, database=None):
    place = Place(folder, database)
    with place.open() as store:
        visits = [
            store.new_visit(who="Pat", idempotency_key=f"{number}", vehicle=VehicleCard(description="van")).id
            for number in range(VISITS)
        ]
    return place, visits


def kills(times, *, rng, server=None, kill_server=False):
    """Kill a writing process (and the server with it) many times; count what was lost and what was damaged."""
    begun, acknowledged, lost, damaged, named = time.monotonic(), 0, 0, 0, count()
    with tempfile.TemporaryDirectory() as scratch:
        for turn in range(times):
            if turn % ROUNDS_PER_SHOP == 0:
                database = server.new_database(f"kill{rng.randrange(10**9)}") if server else None
                place, visits = new_shop(Path(scratch) / f"shop{next(named)}", database)
            said = one_kill(place, visits, rng, server if kill_server else None)
            if kill_server:
                server.start()
            with place.open() as store:
                found = inspect_store(store)
                lost += lost_of(store, said)
            damaged += bool(found.damage) or not all(" " in remark for remark in found.remarks)
            acknowledged += len(said)
    which = "PostgreSQL" if server else "SQLite"
    name = f"kill -9 of the writer and the server, {which}" if kill_server else f"kill -9 of the writer, {which}"
    return Count(name, times, acknowledged, lost, damaged, time.monotonic() - begun)


def backups(times, *, rng, server=None):
    """Back up in the middle of writes and restore: what was acknowledged before it began is in it, and all is sound."""
    begun, known, lost, damaged, named = time.monotonic(), 0, 0, 0, count()
    with tempfile.TemporaryDirectory() as scratch:
        for first in range(0, times, ROUNDS_PER_SHOP):
            database = server.new_database(f"backup{rng.randrange(10**9)}") if server else None
            place, visits = new_shop(Path(scratch) / f"shop{next(named)}", database)
            with place.open() as store, writers(store, visits) as said:
                for _ in range(first, min(first + ROUNDS_PER_SHOP, times)):
                    time.sleep(rng.uniform(0, 0.1))
                    before, archive = list(said), Path(scratch) / "out.zip"
                    made = back_up(store, archive)
                    again = Path(scratch) / f"again{next(named)}"
                    restore(archive, again, clock=now)
                    with Place(again).open() as restored:
                        damaged += bool(inspect_store(restored).damage or made.not_readable)
                        lost += lost_of(restored, before)
                    shutil.rmtree(again)
                    known += len(before)
    which = "PostgreSQL" if server else "SQLite"
    return Count(f"backup in the middle of writes, {which}", times, known, lost, damaged, time.monotonic() - begun)


@contextlib.contextmanager
def writers(store, visits):
    """Threads that write without end; what they were acknowledged so far."""
    said, over = [], threading.Event()

    def acknowledge(one):
        if over.is_set():
            raise SystemExit
        said.append(one)
        time.sleep(BREATH_SECONDS)

    threads = [
        threading.Thread(target=write_on, args=(store, visits, acknowledge, f"b-{number}")) for number in range(WRITERS)
    ]
    for thread in threads:
        thread.start()
    yield said
    over.set()
    for thread in threads:
        thread.join()


def devices(seconds, *, hands=20, server=None):
    """Many devices on the same and different visits: no error, nothing lost, one order without a gap."""
    with tempfile.TemporaryDirectory() as scratch:
        database = server.new_database(f"devices{os.getpid()}") if server else None
        place, visits = new_shop(Path(scratch) / "shop", database)
        end, said, errors, waits = time.monotonic() + seconds, [], [], []

        def device(number):
            rng = random.Random(number)
            try:
                for turn in count():
                    if time.monotonic() > end:
                        return
                    visit, mark, begun = rng.choice(visits), f"{number} {turn}", time.monotonic()
                    entry = store.record(visit, f"words.of_{turn % 5}", mark, who=f"{number}", idempotency_key=mark)
                    waits.append(time.monotonic() - begun)
                    said.append({"entry": entry.id, "value": mark})
                    time.sleep(rng.uniform(0, 0.05))
            except Exception as error:  # noqa: BLE001 - counted
                errors.append(error)

        with place.open() as store:
            threads = [threading.Thread(target=device, args=(number,)) for number in range(hands)]
            for thread in threads:
                thread.start()
            for thread in threads:
                thread.join()
            lost = lost_of(store, said)
            ordered = all(
                [entry.number for entry in history] == list(range(1, len(history) + 1))
                and [entry.kept_at for entry in history] == sorted(entry.kept_at for entry in history)
                for history in map(store.history, visits)
            )
            damaged = len(errors) + (not ordered) + len(inspect_store(store).damage)
    waits.sort()
    name = f"{hands} devices, {'PostgreSQL' if server else 'SQLite'}, p95 {1000 * waits[int(0.95 * len(waits))]:.0f} ms an entry"
    return Count(name, 1, len(said), lost, damaged, seconds)


TABLE = {
    "kill": (300, lambda times, rng, _server: kills(times, rng=rng)),
    "backup": (50, lambda times, rng, _server: backups(times, rng=rng)),
    "devices": (60, lambda times, _rng, _server: devices(times)),
    "kill-postgresql": (50, lambda times, rng, server: kills(times, rng=rng, server=server)),
    "kill-server": (50, lambda times, rng, server: kills(times, rng=rng, server=server, kill_server=True)),
    "backup-postgresql": (50, lambda times, rng, server: backups(times, rng=rng, server=server)),
    "devices-postgresql": (60, lambda times, _rng, server: devices(times, server=server)),
}
"""Each line of the table with its full count; for devices that is seconds."""


def main(arguments):
    """Print the table, or some of its lines, in full or a share of it."""
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument(
        "lines", nargs="*", metavar="LINE", help=f"of {', '.join(TABLE)}; all of them where none is named"
    )
    reader.add_argument("--times", type=int, help="instead of the full count")
    reader.add_argument("--seed", type=int, default=1)
    asked = reader.parse_args(arguments)
    names = asked.lines or list(TABLE)
    if unknown := set(names) - set(TABLE):
        reader.error(f"found {', '.join(unknown)}; expected lines of {', '.join(TABLE)}")
    rng = random.Random(asked.seed)
    print("| what | times | acknowledged | lost | damaged | seconds |\n| --- | --- | --- | --- | --- | --- |")
    with contextlib.ExitStack() as afterwards:
        server = (
            afterwards.enter_context(a_server())
            if any("postgresql" in name or "server" in name for name in names)
            else None
        )
        results = []
        for name in names:
            full, work = TABLE[name]
            results.append(work(asked.times or full, rng, server))
            print(results[-1].line(), flush=True)
    return any(result.lost or result.damaged for result in results)


@contextlib.contextmanager
def a_server():
    if server_programs() is None:
        sys.exit("found no PostgreSQL server on this machine; expected one (apt-get install postgresql)")
    server = Server()
    try:
        yield server
    finally:
        server.stop("immediate")
        shutil.rmtree(server.folder)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
