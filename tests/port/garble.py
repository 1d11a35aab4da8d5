"""Frames made up at random, thrown at a session: no crash, no hang, and nothing leaves but reads."""

import time

from lostgallon.port.addressing import ELEVEN
from lostgallon.port.kept_memory import read_memory
from lostgallon.shop.trouble import Trouble
from tests.port.bench import NOON, Bent, connect, recorded, steady_drive, vehicle
from tests.port.test_gate import MAY_LEAVE

KINDS = ("noise", "any answer", "first frame", "next frame", "flow control", "flipped bits", "negative")


class Garbling(Bent):
    """A vehicle whose every answer meets made-up frames before, after or instead of it; counts them."""

    def __init__(self, car, rng, *, share):
        super().__init__(car)
        self.rng, self.share, self.made = rng, share, 0

    def send(self, msg, timeout=None):
        before = len(self._waiting)
        super().send(msg, timeout)
        count = int(self.rng.poisson(self.share))
        for _ in range(count):
            self.put(self.clock_s() + float(self.rng.uniform(0.0, 0.2)), *self._frame(msg))
        self.made += count
        if self._waiting and len(self._waiting) > before and self.rng.random() < 0.1:
            self._waiting.pop()
            self._waiting.sort()

    def _frame(self, msg):
        rng = self.rng
        can_id = 0x7E8 + int(rng.integers(0, 8)) if rng.random() < 0.9 else int(rng.integers(0, 0x800))
        data = bytearray(rng.integers(0, 256, int(rng.integers(0, 9)), dtype="uint8").tobytes())
        kind = KINDS[int(rng.integers(0, len(KINDS)))]
        if kind == "any answer":
            length = int(rng.integers(0, 16))
            data = bytearray([length, (msg.data[1] + 0x40) & 0xFF, *data])
        elif kind == "first frame":
            data = bytearray([0x10 | int(rng.integers(0, 16)), *data])
        elif kind == "next frame":
            data = bytearray([0x20 | int(rng.integers(0, 16)), *data])
        elif kind == "flow control":
            data = bytearray([0x30 | int(rng.integers(0, 16)), *data])
        elif kind == "flipped bits":
            data = bytearray(msg.data)
            data[int(rng.integers(0, len(data)))] ^= 1 << int(rng.integers(0, 8))
        elif kind == "negative":
            data = bytearray([3, 0x7F, msg.data[1], int(rng.choice([0x10, 0x11, 0x12, 0x21, 0x31, 0x78, 0xFF]))])
        return can_id, bytes(data[:8])


def session(rng, folder, *, share):
    """A press of the memory and a short recording on garbled buses.

    Returns made-up frames, lines recorded, and seconds of processor time.
    """
    began_s, rows = time.process_time(), 0
    buses = [Garbling(vehicle(steady_drive(60.0)), rng, share=share) for _ in range(2)]
    try:
        _press(buses[0])
        rows = recorded(buses[1], folder / "drive.csv", wait_back_s=0.5, stop=_after(buses[1])).rows
    except Trouble as trouble:
        assert "\n" not in str(trouble)
    for bus in buses:
        for _, can_id, data in bus.sent:
            assert ELEVEN.may_ask(can_id) or can_id > 0x7FF
            assert data[0] in (0x30, 0x32) or data[1] in MAY_LEAVE
    return sum(bus.made for bus in buses), rows, time.process_time() - began_s


def _after(bus):
    """Stops a recording that bends time: made-up waits must not make it endless."""
    until_s = bus.clock_s() + 120.0
    return lambda: bus.clock_s() > until_s


def _press(bus):
    with connect(bus) as there:
        read_memory(there, NOON)
