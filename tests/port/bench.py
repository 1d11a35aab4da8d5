"""A simulated vehicle on the bench, and what can go wrong between it and the program."""

import datetime as dt

import can
import numpy as np

from lostgallon.port.addressing import ELEVEN
from lostgallon.port.channel import Channel, connected
from lostgallon.port.gate import Gate
from lostgallon.port.line import Line
from lostgallon.port.recording import Edges, Wish, record
from lostgallon.port.simulated import Memory, SimulatedDrive, SimulatedModule, SimulatedVehicle
from lostgallon.port.simulated_bus import SimulatedBus
from lostgallon.shop.recorded import Misfires

HERE = Channel("virtual", "bench")
NOON = dt.datetime(2026, 1, 15, 12, 0, tzinfo=dt.UTC)
# The number of all ones is the standard's own example of a check digit that fits (49 CFR 565.15 by hand: 89 mod 11 = 1).
VIN = "1" * 17


def steady_drive(seconds=60.0, **more):
    """The same readings all the way."""
    time_s = np.arange(0.0, seconds + 1.0)
    values = {
        "speed_m_s": 60.0, "rpm": 1500.0, "air_flow_g_s": 8.0, "load_pct": 30.0, "short_trim_1_pct": 1.5625,
        "long_trim_1_pct": 3.125, "coolant_c": 90.0, "intake_air_c": 12.0, "voltage_v": 14.1, "fuel_status": 2.0,
        "manifold_pa": 40.0, "pedal_pct": 20.0, "warm_ups": 40.0, "distance_since_clear_km": 800.0, **more,
    }  # fmt: skip
    return SimulatedDrive(time_s, {name: np.full(time_s.shape, value) for name, value in values.items()})


MEMORY = Memory(
    stored=(b"\x01\x28",),
    pending=(b"\x03\x02",),
    permanent=(b"\x01\x28",),
    misfires=(Misfires(1, 2.0, 0.0), Misfires(2, 99.0, 50.0)),
    status=b"\x81\x07\x65\x01",
    vin=VIN,
)


def vehicle(drive=None, *, addressing=ELEVEN, **engine):
    """An engine's module, a transmission's that knows little, and one that knows nothing but to be there."""
    drive = drive or steady_drive()
    modules = [
        SimulatedModule(0, drive, **{"memory": MEMORY, "delay_s": 0.03, **engine}),
        SimulatedModule(1, drive, Memory(pending=(b"\x07\x41",)), pids=frozenset({0x01, 0x0C, 0x42})),
        SimulatedModule(2, None, pids=frozenset({0x01})),
    ]
    return SimulatedVehicle(modules, addressing=addressing, ends_s=drive.ends_s)


class Bent(SimulatedBus):
    """A bus on which frames of the vehicle meet what can happen to frames.

    `bend` gets (at_s, can_id, data) and hands back what arrives instead; every frame the program sends is kept.
    """

    def __init__(self, car, bend=lambda *frame: [frame], **more):
        super().__init__(car, **more)
        self.bend, self.sent = bend, []

    def send(self, msg, timeout=None):
        self.sent.append((self.clock_s(), msg.arbitration_id, bytes(msg.data)))
        for frame in self.vehicle.react(msg.arbitration_id, bytes(msg.data), self.clock_s()):
            for arrives in self.bend(*frame):
                self.put(*arrives)


class Dying(Bent):
    """An adapter that is lost at a moment: by an error of its driver, or by leaving the bus."""

    def __init__(self, car, *, at_s, how):
        super().__init__(car)
        self.at_s, self.how = at_s, how

    @property
    def state(self):
        off = self.how == "bus-off" and self.clock_s() >= self.at_s
        return can.BusState.ERROR if off else can.BusState.ACTIVE

    def recv(self, timeout=None):
        if self.how == "unplugged" and self.clock_s() >= self.at_s:
            raise can.CanOperationError("No such device")
        if self.how == "error frame" and self.clock_s() >= self.at_s:
            return can.Message(arbitration_id=0x40, is_error_frame=True)
        return super().recv(timeout)


def line_on(bus, addressing=ELEVEN):
    return Line(Gate(bus, addressing), bus.clock_s)


def connect(bus):
    return connected(HERE, lambda _channel, _rate: bus, bus.clock_s)


def recorded(bus, path, *, stop=lambda: False, wait_back_s=2.0):
    """A recording off a bus; the table's path and what was said."""
    edges = Edges(lambda _channel, _rate: bus, bus.clock_s, stop, lambda _progress: None)
    return record(Wish(HERE, path, NOON, wait_back_s), edges)


def table_of(path):
    """Headings and rows of a table, read by nothing of ours."""
    heading, *rows = [line.split(",") for line in path.read_text("utf-8").splitlines()]
    return heading, rows
