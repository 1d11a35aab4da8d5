"""The same over buses of python-can, in real time: its virtual bus, and vcan where the kernel has one."""

import threading
import time
from contextlib import contextmanager
from pathlib import Path

import can
import pytest

from lostgallon.port.addressing import ADDRESSINGS
from lostgallon.port.channel import Channel, connected, open_bus
from lostgallon.port.kept_memory import read_memory
from lostgallon.port.recording import Edges, Wish, record
from lostgallon.port.simulated import answer_on
from lostgallon.readers.drives import read_drive
from tests.port.bench import NOON, VIN, steady_drive, vehicle

VCAN = sorted(path.name for path in Path("/sys/class/net").glob("vcan*"))


@contextmanager
def answering(interface, name, car):
    """A simulated vehicle on a bus of python-can, in a thread."""
    stop = threading.Event()
    with can.Bus(name, interface=interface) as bus:
        thread = threading.Thread(target=answer_on, args=(bus, car), kwargs={"stop": stop.is_set}, daemon=True)
        thread.start()
        yield
        stop.set()
        thread.join(5)


def whole_session(interface, name, path, addressing):
    channel = Channel(interface, name)
    with answering(interface, name, vehicle(steady_drive(4.0), addressing=addressing, delay_s=0.005)):
        with connected(channel, open_bus, time.monotonic) as there:
            read = read_memory(there, NOON)
        edges = Edges(open_bus, time.monotonic, lambda: False, lambda _progress: None)
        done = record(Wish(channel, path, NOON, 0.0), edges)
    assert read.vin == VIN
    assert read.memory.codes == ("P0128", "P0302", "P0741")
    assert done.ended_by == "silent"
    assert done.connection.identifier_bits == addressing.bits
    log = read_drive(path)
    assert log.channels["coolant_c"][0] == 90.0
    assert done.rows == len(log.time_s) > 3


@pytest.mark.parametrize("addressing", ADDRESSINGS, ids=lambda one: f"{one.bits} bits")
def test_virtual_bus(addressing, tmp_path):
    whole_session("virtual", f"lost gallon {addressing.bits}", tmp_path / "drive.csv", addressing)


@pytest.mark.skipif(not VCAN, reason="this kernel has no vcan interface")
def test_vcan(tmp_path):
    whole_session("socketcan", VCAN[0], tmp_path / "drive.csv", ADDRESSINGS[0])
