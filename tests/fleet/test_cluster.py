"""A fleet on an existing cluster: the same answer as on one machine, also when a worker dies in the middle."""

import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lostgallon.fleet import parts
from lostgallon.fleet.screening import Asked, screen
from lostgallon.shop.trouble import BadArgument
from tests.fleet.made import made_fleet

pytest.importorskip("distributed", reason="the extra 'fleet' is not installed")
ENVIRONMENT = os.environ | {"PYTHONPATH": "src", "OMP_NUM_THREADS": "1"}


def started(*arguments):
    command = [sys.executable, "-m", *map(str, arguments)]
    return subprocess.Popen(command, env=ENVIRONMENT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


@pytest.fixture
def cluster(tmp_path):
    """A scheduler and two workers, started by their own commands: the address and the workers' processes."""
    told = tmp_path / "scheduler.json"
    quiet = ("--no-dashboard", "--scheduler-file", told)
    running = [started("distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0", *quiet)]
    while not (told.is_file() and told.read_text("utf-8").rstrip().endswith("}")):
        assert running[0].poll() is None
        time.sleep(0.05)
    for _ in range(2):
        where = ("--local-directory", tmp_path)
        running.append(started("distributed.cli.dask_worker", *quiet, "--no-nanny", "--nthreads", "1", *where))
    address = next(line.split('"')[3] for line in told.read_text("utf-8").splitlines() if '"address"' in line)
    yield address.replace("tcp://", "dask://"), running[1:]
    for process in running:
        process.kill()
        process.wait()


def test_a_worker_killed_in_the_middle_loses_nothing(cluster, tmp_path, monkeypatch):
    address, workers = cluster
    monkeypatch.setattr(parts, "PER_PART", 16)
    frame, _ = made_fleet(np.random.default_rng(34), 320)
    frame.write_parquet(tmp_path / "fleet.parquet")
    asked = Asked(files=(tmp_path / "fleet.parquet",), price_per_l=1.0, currency="USD")
    killed = []

    def told(what, done, total):
        if what == "weighing" and not killed and done < total / 2:
            workers[0].send_signal(signal.SIGKILL)
            killed.append(done)

    alone = screen(asked, clock=time.monotonic, told=lambda _what, _done, _total: None)
    spread = screen(replace(asked, engine=address), clock=time.monotonic, told=told)
    assert killed
    assert workers[0].wait(timeout=10) == -signal.SIGKILL
    assert replace(spread.record, seconds=0.0) == replace(alone.record, seconds=0.0)
    assert len(alone.record.flagged) > 5


def test_no_scheduler_there_is_one_clear_line(tmp_path, monkeypatch):
    monkeypatch.setattr("lostgallon.fleet.engines.CONNECT_S", 1)
    frame, _ = made_fleet(np.random.default_rng(34), 2)
    frame.write_parquet(tmp_path / "fleet.parquet")
    asked = Asked((Path(tmp_path / "fleet.parquet"),), price_per_l=1.0, currency="USD", engine="dask://127.0.0.1:9")
    with pytest.raises(BadArgument, match="scheduler that answers"):
        screen(asked, clock=time.monotonic, told=lambda _what, _done, _total: None)
