"""The memory in one press."""

import pytest

from lostgallon.port.kept_memory import read_memory
from lostgallon.shop.wire import as_json
from tests.port.bench import NOON, VIN, Bent, connect, vehicle


def press(bus):
    with connect(bus) as there:
        return read_memory(there, NOON)


@pytest.fixture(scope="module")
def read():
    return press(Bent(vehicle()))


def test_codes_with_their_class(read):
    memory = read.memory
    assert [one.code for one in memory.stored] == ["P0128"]
    assert [one.code for one in memory.pending] == ["P0302", "P0741"]
    assert [one.code for one in memory.permanent] == ["P0128"]
    assert memory.codes == ("P0128", "P0302", "P0741")
    assert (memory.stored[0].system, memory.stored[0].defined_by) == ("powertrain", "the standard")


def test_freeze_frame(read):
    (frame,) = read.memory.freeze_frames
    assert (frame.module, frame.code) == ("7E8", "P0128")
    values = {one.name: (one.value, one.unit) for one in frame.values}
    assert values["engine speed"] == (1500.0, "rpm")
    assert values["coolant temperature"] == (90.0, "degC")


def test_counters_and_readiness(read):
    memory = read.memory
    assert [(one.cylinder, one.ten_drives, one.this_drive) for one in memory.misfires] == [
        (1, 2.0, 0.0),
        (2, 99.0, 50.0),
    ]
    assert (memory.warm_ups, memory.distance_since_clear_km) == (40.0, 800.0)
    assert memory.readiness.lamp_on
    assert memory.readiness.incomplete == ("catalyst",)
    assert memory.read_at == "2026-01-15T12:00:00+00:00"


def test_the_number_stands_apart(read):
    # Neither the record nor its raw bytes hold it, in letters or in base 16.
    assert read.vin == VIN
    told = as_json(read.memory)
    assert VIN not in told
    assert VIN.encode().hex() not in told
    assert VIN[3:].encode().hex() not in told


def test_raw_bytes_are_kept(read):
    assert "7E8 43010128" in read.memory.raw


def test_what_is_not_told_is_said():
    def silent(at_s, can_id, data):
        return (
            []
            if data[1:2] in (b"\x4a", b"\x46") or (can_id == 0x7E9 and data[1:2] == b"\x43")
            else [(at_s, can_id, data)]
        )

    found = press(Bent(vehicle(), silent))
    assert "stored codes (7E9)" in found.memory.not_answered
    assert "permanent codes (7E8)" in found.memory.not_answered
    assert "misfire counts (7E8)" in found.memory.not_answered
    assert [one.code for one in found.memory.stored] == ["P0128"]


def test_a_garbled_number_is_none():
    def garbled(at_s, can_id, data):
        return [(at_s, can_id, data.replace(b"1", b"\xfe"))]

    assert press(Bent(vehicle(), garbled)).vin == ""
