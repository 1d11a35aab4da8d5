"""Nothing but reading leaves: every service, every identifier, every line of the room."""

import ast
from pathlib import Path

import pytest

from lostgallon.port.addressing import ADDRESSINGS, ELEVEN, TWENTY_NINE
from lostgallon.port.gate import READING_SERVICES, Gate, Refused
from lostgallon.port.kept_memory import read_memory
from tests.port.bench import NOON, Bent, connect, recorded, vehicle

ROOM = Path(__file__).parents[2] / "src" / "lostgallon"
# SAE J1979: 01 current, 02 freeze frame, 03 codes, 06 test results, 07 pending, 09 vehicle information, 0A permanent.
# 04 clears, 05 is for buses before CAN, 08 commands; from 10 on sessions, writing and resets begin (ISO 14229-1).
MAY_LEAVE = {0x01, 0x02, 0x03, 0x06, 0x07, 0x09, 0x0A}


class Counting:
    """A bus that only counts."""

    def __init__(self):
        self.sent = []

    def send(self, msg, timeout=None):
        self.sent.append((msg.arbitration_id, bytes(msg.data)))


@pytest.mark.parametrize("addressing", ADDRESSINGS, ids=lambda one: f"{one.bits} bits")
def test_no_other_service_byte_can_leave(addressing):
    bus = Counting()
    gate = Gate(bus, addressing)
    for service in range(256):
        for length in range(256):
            for can_id in (addressing.functional, addressing.request_id(0), addressing.request_id(7)):
                try:
                    gate.send(can_id, bytes([length, service, 0, 0, 0, 0, 0, 0]))
                except Refused:
                    continue
    requests = [data for _, data in bus.sent if data[0] not in (0x30, 0x32)]
    assert {data[1] for data in requests} == MAY_LEAVE
    assert all(1 <= data[0] <= 7 for data in requests)
    assert set(READING_SERVICES) == MAY_LEAVE


def test_only_the_identifiers_of_diagnostics_are_asked():
    bus = Counting()
    gate = Gate(bus, ELEVEN)
    for can_id in range(0x800):
        try:
            gate.send(can_id, bytes([2, 1, 0, 0, 0, 0, 0, 0]))
        except Refused:
            continue
    # ISO 15765-4: 7DF asks all, 7E0 to 7E7 one each.
    assert [can_id for can_id, _ in bus.sent] == [0x7DF, *range(0x7E0, 0x7E8)]


def test_29_bit_identifiers():
    # ISO 15765-4: 18DB33F1 asks all; module 10 is asked at 18DA10F1 and answers at 18DAF110.
    assert TWENTY_NINE.may_ask(0x18DB33F1)
    assert TWENTY_NINE.may_ask(0x18DA10F1)
    assert not TWENTY_NINE.may_ask(0x18DAF110)
    assert not TWENTY_NINE.may_ask(0x18DB33F2)
    assert TWENTY_NINE.request_id(0x10) == 0x18DA10F1
    assert TWENTY_NINE.module_at(0x18DAF110) == 0x10
    assert TWENTY_NINE.module_at(0x18DA10F1) is None


def test_long_requests_and_short_frames_do_not_leave():
    gate = Gate(Counting(), ELEVEN)
    for data in (
        b"\x10\x0a\x01\x00\x00\x00\x00\x00",
        b"\x21\x01\x00\x00\x00\x00\x00\x00",
        b"\x02\x01\x00",
        b"\x31" + bytes(7),
    ):
        with pytest.raises(Refused):
            gate.send(0x7E0, data)
    with pytest.raises(Refused):
        gate.send(0x7DF, b"\x30" + bytes(7))  # flow control goes to one module, never to all


@pytest.mark.parametrize("addressing", ADDRESSINGS, ids=lambda one: f"{one.bits} bits")
def test_all_that_left_in_a_whole_session_were_reads(addressing, tmp_path):
    bus = Bent(vehicle(addressing=addressing))
    with connect(bus) as there:
        read_memory(there, NOON)
    recorded(bus, tmp_path / "drive.csv")
    assert len(bus.sent) > 100
    for _, can_id, data in bus.sent:
        assert addressing.may_ask(can_id) or (can_id == ELEVEN.functional and data[1] == 1)
        assert data[0] == 0x30 or (1 <= data[0] <= 7 and data[1] in MAY_LEAVE)


def test_one_line_of_the_program_sends():
    """`.send(` and python-can's other ways out stand in gate.py alone; the simulated vehicle is no program of a shop's."""
    ways_out = {"send", "send_periodic", "send_nmt_command", "set_bitrate"}
    found = set()
    for path in [*(ROOM / "port").rglob("*.py"), *ROOM.glob("job/port*.py"), *ROOM.glob("web/record*.py")]:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in ways_out:
                found.add((path.name, ast.unparse(node.func.value)))
    assert found == {("gate.py", "self._bus"), ("line.py", "self.gate"), ("line.py", "gate"), ("simulated.py", "bus")}
