"""A small sample of tests/hard/store.py: pulled plugs and backups under way. The full counts stand in docs/store.md."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.hard.store import lost_of
from tests.store.people import new_visit
from tests.store.server import server_programs

ROOT = Path(__file__).parents[2]

needs_server = pytest.mark.skipif(server_programs() is None, reason="no PostgreSQL server on this machine")
needs_fork = pytest.mark.skipif(sys.platform == "win32", reason="processes are killed in another way there")


@pytest.mark.slow
@needs_fork
@pytest.mark.parametrize(
    ("line", "times"),
    [("kill", 40), ("backup", 4), pytest.param("kill-postgresql", 4, marks=needs_server)],
)
def test_nothing_acknowledged_is_lost(line, times):
    # In a process of its own: a writer is started by fork, which wants a process without threads.
    command = [sys.executable, "-m", "tests.hard.store", line, "--times", f"{times}"]
    done = subprocess.run(command, cwd=ROOT, env={"PYTHONPATH": "src"}, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    _, counted, acknowledged, lost, damaged, _ = [
        cell.strip() for cell in done.stdout.splitlines()[-1].strip("|").split("|")
    ]
    assert (int(counted), int(lost), int(damaged)) == (times, 0, 0)
    assert int(acknowledged) > times, "the writers did write"


def test_a_lost_write_is_counted_as_lost(light_store):
    visit = new_visit(light_store)
    entry = light_store.record(visit, "words.a", "kept", who="Pat", idempotency_key="a")
    kept = {"entry": entry.id, "value": "kept"}
    never_kept = [{"entry": f"{visit}.2", "value": "x"}, {"entry": entry.id, "value": "other"}, {"seal": "0" * 64}]
    assert lost_of(light_store, [kept]) == 0
    assert lost_of(light_store, [kept, *never_kept]) == 3
