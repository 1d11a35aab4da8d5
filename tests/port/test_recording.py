"""A recording from start to end: what it holds, at what rate, and that whatever ends it costs nothing that was read."""

import errno
from dataclasses import replace

import numpy as np
import pytest

from lostgallon.port import log_files
from lostgallon.port.addressing import ELEVEN, TWENTY_NINE
from lostgallon.port.channel import NothingAnswers, read_channel
from lostgallon.port.gate import PortLost
from lostgallon.port.simulated import Memory, SimulatedVehicle
from lostgallon.readers.drives import read_drive
from lostgallon.shop.trouble import BadArgument, NotCovered, Trouble
from tests.port.bench import HERE, Bent, Dying, connect, recorded, steady_drive, table_of, vehicle


def test_a_drive_is_recorded_and_read_back(tmp_path):
    done = recorded(Bent(vehicle()), tmp_path / "drive.csv")
    log = read_drive(tmp_path / "drive.csv")
    assert done.ended_by == "silent"
    assert "that part is kept" in done.says
    assert done.seconds == pytest.approx(60.0, abs=1.0)
    assert done.rows == len(log.time_s)
    assert log.time_s[-1] == pytest.approx(done.seconds, abs=0.01)
    # 60 km/h, 1500 rpm, 8.00 g/s, 90 degC are whole steps of the port, so nothing may be lost.
    for name, value in {"speed_m_s": 60 / 3.6, "rpm": 1500.0, "air_flow_g_s": 8.0, "coolant_c": 90.0}.items():
        assert np.nanmax(np.abs(log.channels[name] - value)) < 1e-9
    assert log.codes == ("P0128", "P0302", "P0741")
    assert done.connection.modules == ("7E8", "7E9", "7EA")


def test_the_raw_bytes_stand_beside_the_values(tmp_path):
    done = recorded(Bent(vehicle()), tmp_path / "drive.csv")
    heading, rows = table_of(tmp_path / "drive.raw.csv")
    assert heading == ["time_s", "module", "request", "answer"]
    assert len(rows) > done.rows
    request, answer = rows[0][2], bytes.fromhex(rows[0][3])
    assert request.startswith("010d0c100b")
    assert answer[:3] == bytes([0x41, 0x0D, 60])
    assert (256 * answer[4] + answer[5]) / 4 == 1500.0
    # A recording asks for current values alone: no identification number can be in it.
    assert {row[2][:2] for row in rows} == {"01"}


def test_29_bits_and_both_rates(tmp_path):
    asked = []

    def opens(channel, rate):
        asked.append(rate)
        return Bent(vehicle(addressing=TWENTY_NINE)) if rate == 250_000 else Bent(SimulatedVehicle([]))

    from lostgallon.port.channel import Channel, connected  # noqa: PLC0415

    with connected(Channel("slcan", "x"), opens, iter_clock()) as there:
        assert there.connection.bit_rate == 250_000
        assert there.connection.identifier_bits == 29
    assert asked == [500_000, 250_000]


def iter_clock():
    """A clock that goes on by itself, for buses whose own clock is not at hand."""
    state = {"now": 0.0}

    def clock():
        state["now"] += 0.01
        return state["now"]

    return clock


def test_several_parameters_go_in_one_request(tmp_path):
    bus = Bent(vehicle(delay_s=0.02))
    together = recorded(bus, tmp_path / "a.csv")
    alone = recorded(Bent(vehicle(delay_s=0.02, most_in_one=1)), tmp_path / "b.csv")
    # Eight fast parameters and a slow one: three requests of 20 ms and the rest of their frames against nine.
    assert together.rounds_hz > 13.0
    assert 5.0 < alone.rounds_hz < 6.5
    assert together.channels == alone.channels
    speeds = [row[1] for row in table_of(tmp_path / "b.csv")[1]]
    assert speeds.count("60") > 0.9 * len(speeds)
    assert max(len(data) and data[0] for _, _, data in bus.sent if data[0] < 8) == 7


class NoGroups(Bent):
    """A module that says nothing at all to a request for several parameters."""

    def send(self, msg, timeout=None):
        if msg.data[0] > 2 and msg.data[1] == 1:
            return
        super().send(msg, timeout)


def test_a_module_that_ignores_requests_for_several(tmp_path):
    done = recorded(NoGroups(vehicle()), tmp_path / "drive.csv")
    log = read_drive(tmp_path / "drive.csv")
    assert np.nanmax(log.channels["coolant_c"]) == 90.0
    assert done.rounds_hz > 3.0


def test_one_parameter_that_spoils_its_group_is_left_out_and_said(tmp_path):
    class Spoiled(Bent):
        def send(self, msg, timeout=None):
            if msg.data[1] == 1 and 0x42 in msg.data[2 : 1 + msg.data[0]] and msg.data[0] > 1:
                return
            super().send(msg, timeout)

    done = recorded(Spoiled(vehicle()), tmp_path / "drive.csv")
    assert "control module voltage: supported, but not answered" in done.remarks
    assert np.nanmin(read_drive(tmp_path / "drive.csv").channels["coolant_c"]) == 90.0


ENDS = [("unplugged", "No such device"), ("bus-off", "bus-off"), ("error frame", "bus-off")]


@pytest.mark.parametrize(("how", "says"), ENDS)
def test_a_lost_adapter_costs_nothing_that_was_read(how, says, tmp_path):
    done = recorded(Dying(vehicle(), at_s=30.0, how=how), tmp_path / "drive.csv")
    assert done.ended_by == "lost"
    assert says in done.says
    assert "that part is kept" in done.says
    log = read_drive(tmp_path / "drive.csv")
    assert log.time_s[-1] == pytest.approx(29.5, abs=1.0)
    assert len(log.time_s) == done.rows


@pytest.mark.parametrize("how", ["unplugged", "bus-off", "error frame"])
def test_an_adapter_lost_before_anything_was_read_is_one_line(how, tmp_path):
    with pytest.raises(Trouble) as trouble:
        recorded(Dying(vehicle(), at_s=0.0, how=how), tmp_path / "drive.csv")
    assert "\n" not in str(trouble.value)


def test_a_full_disk_keeps_what_it_has(tmp_path, monkeypatch):
    class Full(log_files.LogFiles):
        def row(self, at_s, values):
            if self.rows == 100:
                raise OSError(errno.ENOSPC, "No space left on device")
            super().row(at_s, values)

    monkeypatch.setattr("lostgallon.port.recording.LogFiles", Full)
    done = recorded(Bent(vehicle()), tmp_path / "drive.csv")
    assert done.ended_by == "full"
    assert len(read_drive(tmp_path / "drive.csv").time_s) == 100


def test_a_folder_that_can_not_be_written_is_one_line(tmp_path):
    with pytest.raises(Trouble, match="can be written"):
        recorded(Bent(vehicle()), tmp_path / "missing" / "drive.csv")


def test_it_stops_when_told(tmp_path):
    calls = iter(range(1000))
    done = recorded(Bent(vehicle()), tmp_path / "drive.csv", stop=lambda: next(calls) >= 49)
    assert (done.ended_by, done.rows) == ("stopped", 50)
    assert "that part is kept" not in done.says


def test_a_stop_for_fuel_is_waited_out(tmp_path):
    class Pause(Bent):
        def send(self, msg, timeout=None):
            if 20.0 < self.clock_s() < 32.0:
                return
            super().send(msg, timeout)

    done = recorded(Pause(vehicle()), tmp_path / "drive.csv", wait_back_s=20.0)
    assert done.seconds == pytest.approx(60.0, abs=1.0)
    log = read_drive(tmp_path / "drive.csv")
    assert np.diff(log.time_s).max() == pytest.approx(12.0, abs=1.0)
    assert set(done.channels) == set(recorded(Bent(vehicle()), tmp_path / "b.csv").channels)


def test_nothing_there_says_what_to_look_at(tmp_path):
    with pytest.raises(NothingAnswers, match="before CAN"):
        recorded(Bent(SimulatedVehicle([])), tmp_path / "drive.csv")


def test_a_diesel_is_refused(tmp_path):
    # SAE J1979, parameter 01, byte B, bit 3: compression ignition.
    car = vehicle(memory=Memory(status=b"\x00\x0f\x00\x00"))
    with pytest.raises(NotCovered, match="diesel"):
        recorded(Bent(car), tmp_path / "drive.csv")


UNRULY = {
    "late": lambda at, can_id, data: [(at + (0.3 if round(at * 1000) % 7 == 0 else 0.0), can_id, data)],
    "doubled": lambda at, can_id, data: [(at, can_id, data), (at + 0.0001, can_id, data)],
    "lost": lambda at, can_id, data: [] if round(at * 1000) % 11 == 0 else [(at, can_id, data)],
    "flipped": lambda at, can_id, data: [
        (at, can_id, bytes([data[0] ^ 0x41, *data[1:]]) if round(at * 1000) % 13 == 0 else data)
    ],
    "chatter": lambda at, can_id, data: [(at - 0.001, 0x7EB, b"\x10\x14" + bytes(6)), (at, can_id, data)],
}


@pytest.mark.parametrize("how", sorted(UNRULY))
def test_an_unruly_bus_costs_rounds_and_no_truth(how, tmp_path):
    done = recorded(Bent(vehicle(), UNRULY[how]), tmp_path / "drive.csv")
    log = read_drive(tmp_path / "drive.csv")
    assert done.seconds > 50.0
    assert done.rows > 100
    for name, value in {"speed_m_s": 60 / 3.6, "rpm": 1500.0, "coolant_c": 90.0}.items():
        seen = log.channels[name][np.isfinite(log.channels[name])]
        assert len(seen) > 20
        assert np.all(np.abs(seen - value) < 1e-9)


def test_the_engine_is_found_even_if_another_module_answers_first():
    car = vehicle(delay_s=0.045)
    with connect(Bent(car)) as there:
        assert there.vehicle.engine == 0
        assert there.vehicle.module_for(0x0C) == 0


CHANNELS = {
    "can0": (None, "can0"),
    "slcan:/dev/ttyACM0@250k": (250_000, "/dev/ttyACM0"),
    "pcan:PCAN_USBBUS1": (None, "PCAN_USBBUS1"),
}


@pytest.mark.parametrize("text", sorted(CHANNELS))
def test_channels_as_typed(text):
    found = read_channel(text)
    assert (found.bit_rate, found.name) == CHANNELS[text]


@pytest.mark.parametrize(
    "text", ["", "socketcand:host", "udp_multicast:239.0.0.1", "can0@125k", "no_such:x", "a b", "x" * 200]
)
def test_channels_that_are_none(text):
    with pytest.raises(BadArgument):
        read_channel(text)


def test_an_adapter_that_is_not_there_is_one_line(tmp_path):
    from lostgallon.port.channel import open_bus  # noqa: PLC0415

    with pytest.raises(PortLost, match="can't be opened"):
        open_bus(replace(HERE, interface="socketcan", name="no_such_channel"), None)


def test_a_recording_of_a_second_bank_and_wide_sensors(tmp_path):
    drive = steady_drive(short_trim_2_pct=3.125, lambda_1=1.0, equivalence_commanded=1.0)
    recorded(Bent(vehicle(drive)), tmp_path / "drive.csv")
    log = read_drive(tmp_path / "drive.csv")
    assert np.nanmax(np.abs(log.channels["short_trim_2_pct"] - 3.125)) < 1e-9
    assert np.nanmax(np.abs(log.channels["lambda_1"] - 1.0)) < 1e-4
    assert ELEVEN.bits == 11


def test_a_module_that_falls_silent_takes_nothing_with_it(tmp_path):
    """The transmission's module answers when asked what it is, and never again."""

    def silent(at_s, can_id, data):
        return [] if can_id == 0x7E9 and data[1:3] != b"\x41\x00" else [(at_s, can_id, data)]

    done = recorded(Bent(vehicle(), silent), tmp_path / "drive.csv")
    assert done.connection.modules == ("7E8", "7E9", "7EA")
    assert np.nanmin(read_drive(tmp_path / "drive.csv").channels["coolant_c"]) == 90.0
    assert done.seconds == pytest.approx(60.0, abs=2.0)


def test_a_module_that_never_answers_is_not_there(tmp_path):
    done = recorded(Bent(vehicle(), lambda *frame: [frame] if frame[1] == 0x7E8 else []), tmp_path / "drive.csv")
    assert done.connection.modules == ("7E8",)
    assert done.rows > 500


def test_a_bus_that_loses_one_answer_in_six_loses_no_channel(tmp_path):
    rng = np.random.default_rng(3)

    def lossy(*frame):
        return [] if rng.random() < 1 / 6 else [frame]

    done = recorded(Bent(vehicle(steady_drive(300.0)), lossy), tmp_path / "drive.csv", wait_back_s=5.0)
    assert done.seconds == pytest.approx(300.0, abs=5.0)
    assert not [remark for remark in done.remarks if "not answered" in remark]
    log = read_drive(tmp_path / "drive.csv")
    for name in ("speed_m_s", "rpm", "coolant_c", "short_trim_1_pct"):
        late = log.channels[name][log.time_s > 240.0]
        assert np.isfinite(late).sum() > 30, name
