"""A simulated vehicle: modules that answer like a vehicle's, from a drive handed in as arrays. Never a real vehicle.

It speaks in frames and knows nothing of how they travel: simulated_bus.py carries them on a clock of its own,
`answer_on` over any bus of python-can.
"""

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import can
import numpy as np

from lostgallon.port.addressing import ELEVEN, FRAME_BYTES, Addressing
from lostgallon.port.answers import BITMAP_BYTES, COUNTS, FIRST_CYLINDER, GROUP, TEN_DRIVES, THIS_DRIVE
from lostgallon.port.parameters import Parameter, parameters
from lostgallon.shop.recorded import Misfires
from lostgallon.shop.spread import Floats

NEGATIVE, NO_SUCH_SERVICE, NOT_SUPPORTED = 0x7F, 0x11, 0x12
FIRST_FRAME, NEXT_FRAME, FLOW_FRAME = 0x10, 0x20, 0x30
SINGLE_BYTES, FIRST_BYTES, NEXT_BYTES = 7, 6, 7
FRAME_GAP_S = 0.0005


@dataclass(frozen=True)
class SimulatedDrive:
    """A drive as the modules would measure it: channels of data/headings.csv in the port's units, shape (seconds,)."""

    time_s: Floats
    channels: Mapping[str, Floats]

    @property
    def ends_s(self) -> float:
        """When the ignition goes off. [s]"""
        return float(self.time_s[-1])

    def at(self, channel: str, now_s: float) -> float:
        """One channel at a moment."""
        return float(np.interp(now_s, self.time_s, self.channels[channel]))


@dataclass(frozen=True)
class Memory:
    """What the engine's module keeps: codes as two bytes each, misfires, the bytes of parameter 01."""

    stored: tuple[bytes, ...] = ()
    pending: tuple[bytes, ...] = ()
    permanent: tuple[bytes, ...] = ()
    misfires: tuple[Misfires, ...] = ()
    status: bytes = b"\x00\x07\x65\x00"
    vin: str = ""


@dataclass
class SimulatedModule:
    """One module.

    Attributes:
        module: Its byte.
        drive: What it measures; None for a module that measures nothing.
        memory: What it keeps.
        delay_s: How long it takes to answer.
        pids: Parameters it supports; None for all that the drive has.
        most_in_one: How many parameters it takes in one request.
    """

    module: int
    drive: SimulatedDrive | None
    memory: Memory = field(default_factory=Memory)
    delay_s: float = 0.02
    pids: frozenset[int] | None = None
    most_in_one: int = 6

    def answer(self, request: bytes, now_s: float, *, to_all: bool = False) -> bytes | None:
        """The answer to a request, or None where the module keeps silent."""
        if not request:
            return None
        service = _SERVICES.get(request[0])
        if service is not None:
            return service(self, request, now_s)
        return None if to_all else bytes([NEGATIVE, request[0], NO_SUCH_SERVICE])

    def supported(self) -> frozenset[int]:
        """Parameters of service 01."""
        if self.pids is not None:
            return self.pids
        first: dict[str, int] = {}
        for pid, parameter in parameters().items():
            if self.drive and parameter.channel in self.drive.channels:
                first.setdefault(parameter.channel, pid)
        return frozenset({0x01, *first.values(), *([0x02] if self.memory.stored else [])})

    def value(self, pid: int, now_s: float) -> bytes:
        """The bytes of one parameter."""
        if pid == 0x01:
            return self.memory.status
        parameter = parameters()[pid]
        if self.drive is None or parameter.channel not in self.drive.channels:
            return bytes(parameter.length)
        return encoded(self.drive.at(parameter.channel, now_s), parameter)


def encoded(value: float, parameter: Parameter) -> bytes:
    """A value as a module sends it: whole steps, no more and no less than its bytes hold."""
    most = (1 << 8 * parameter.size) - 1
    raw = min(max(round((value - parameter.offset) / parameter.scale), 0), most)
    data = bytes(parameter.start) + raw.to_bytes(parameter.size, "big")
    return data.ljust(max(parameter.length, len(data)), b"\0")


def bitmap(numbers: Sequence[int] | frozenset[int], group: int) -> bytes:
    """Which of the 32 numbers after a group are supported; the last says whether there are more beyond."""
    inside = {one - group for one in numbers if group < one <= group + GROUP}
    if any(one > group + GROUP for one in numbers):
        inside.add(GROUP)
    word = sum(1 << (GROUP - one) for one in inside)
    return word.to_bytes(BITMAP_BYTES, "big")


def _current(one: SimulatedModule, request: bytes, now_s: float) -> bytes | None:
    pids = request[1:]
    if len(pids) > one.most_in_one:
        return bytes([NEGATIVE, 0x01, NOT_SUPPORTED])
    known = one.supported()
    groups = {pid: bitmap(known, pid) for pid in pids if pid % GROUP == 0 and _reaches(known, pid)}
    parts = {pid: groups.get(pid) or (one.value(pid, now_s) if pid in known else b"") for pid in pids}
    body = b"".join(bytes([pid]) + data for pid, data in parts.items() if data)
    return b"\x41" + body if body else None


def _reaches(known: frozenset[int], group: int) -> bool:
    return group == 0 or any(pid > group for pid in known)


def _frozen(one: SimulatedModule, request: bytes, _now_s: float) -> bytes | None:
    pid = request[1] if len(request) > 1 else 0
    if not one.memory.stored:
        return b"\x42\x02\x00\x00\x00" if pid == 0x02 else None
    if pid == 0x02:
        return b"\x42\x02\x00" + one.memory.stored[0]
    if one.drive is None or pid not in one.supported():
        return None
    return bytes([0x42, pid, 0]) + one.value(pid, 0.5 * one.drive.ends_s)


def _codes(name: str) -> "_Service":
    def answer(one: SimulatedModule, request: bytes, _now_s: float) -> bytes | None:
        codes: tuple[bytes, ...] = getattr(one.memory, name)
        return bytes([request[0] + 0x40, len(codes)]) + b"".join(codes)

    return answer


def _tests(one: SimulatedModule, request: bytes, _now_s: float) -> bytes | None:
    monitor = request[1] if len(request) > 1 else 0
    cylinders = {FIRST_CYLINDER + found.cylinder - 1: found for found in one.memory.misfires}
    if not cylinders:
        return None
    if monitor % GROUP == 0:
        return bytes([0x46, monitor]) + bitmap(frozenset(cylinders), monitor)
    if monitor not in cylinders:
        return None
    counts = {TEN_DRIVES: cylinders[monitor].ten_drives, THIS_DRIVE: cylinders[monitor].this_drive}
    body = b"".join(
        bytes([monitor, test, COUNTS]) + round(count or 0.0).to_bytes(2, "big") + b"\0\0\xff\xff"
        for test, count in counts.items()
    )
    return b"\x46" + body


def _about(one: SimulatedModule, request: bytes, _now_s: float) -> bytes | None:
    if request[1:] == b"\x00":
        return b"\x49\x00\x40\x00\x00\x00"
    return b"\x49\x02\x01" + one.memory.vin.encode("ascii") if request[1:] == b"\x02" and one.memory.vin else None


_Service = Callable[[SimulatedModule, bytes, float], bytes | None]
_SERVICES: Mapping[int, _Service] = {
    0x01: _current,
    0x02: _frozen,
    0x03: _codes("stored"),
    0x06: _tests,
    0x07: _codes("pending"),
    0x09: _about,
    0x0A: _codes("permanent"),
}

Frame = tuple[float, int, bytes]
"""When it is on the bus [s], its identifier, its data."""


class SimulatedVehicle:
    """Modules on one bus, frame in and frames out.

    Args:
        modules: The modules.
        addressing: The width of identifiers.
        ends_s: When all of them fall silent, the ignition being off. [s]
    """

    def __init__(
        self, modules: Sequence[SimulatedModule], *, addressing: Addressing = ELEVEN, ends_s: float = np.inf
    ) -> None:
        self.modules, self.addressing, self.ends_s = tuple(modules), addressing, ends_s
        self._rest: dict[int, list[bytes]] = {}

    def react(self, can_id: int, data: bytes, now_s: float) -> list[Frame]:
        """What the modules put on the bus for one frame."""
        if now_s >= self.ends_s or not data:
            return []
        frames: list[Frame] = []
        for one in self.modules:
            alone = can_id == self.addressing.request_id(one.module)
            if not alone and can_id != self.addressing.functional:
                continue
            if data[0] & 0xF0 == FLOW_FRAME:
                frames += self._go_on(one, now_s)
            elif data[0] >> 4 == 0:
                payload = one.answer(data[1 : 1 + (data[0] & 0x0F)], now_s, to_all=not alone)
                frames += self._start(one, payload, now_s) if payload else []
        return frames

    def _start(self, one: SimulatedModule, payload: bytes, now_s: float) -> list[Frame]:
        first, *rest = cut(payload)
        self._rest[one.module] = rest
        return [(now_s + one.delay_s, self.addressing.answer_id(one.module), first)]

    def _go_on(self, one: SimulatedModule, now_s: float) -> list[Frame]:
        rest = self._rest.pop(one.module, [])
        can_id = self.addressing.answer_id(one.module)
        return [(now_s + FRAME_GAP_S * (place + 1), can_id, data) for place, data in enumerate(rest)]


def cut(payload: bytes) -> list[bytes]:
    """An answer in frames: one, or a first and its rest (ISO 15765-2)."""
    if len(payload) <= SINGLE_BYTES:
        return [bytes([len(payload), *payload]).ljust(FRAME_BYTES, b"\0")]
    head = bytes([FIRST_FRAME | len(payload) >> 8, len(payload) & 0xFF]) + payload[:FIRST_BYTES]
    rest = [payload[at : at + NEXT_BYTES] for at in range(FIRST_BYTES, len(payload), NEXT_BYTES)]
    return [
        head,
        *(bytes([NEXT_FRAME | (place + 1) & 0x0F, *part]).ljust(FRAME_BYTES, b"\0") for place, part in enumerate(rest)),
    ]


def answer_on(bus: can.BusABC, vehicle: SimulatedVehicle, *, stop: Callable[[], bool]) -> None:
    """Answer on a bus of python-can (virtual, or vcan where the kernel has it) until told to stop."""
    waiting: list[Frame] = []
    began_s = time.monotonic()
    while not stop():
        frame = bus.recv(0.001)
        now_s = time.monotonic() - began_s
        if frame is not None and not frame.is_error_frame:
            waiting += vehicle.react(frame.arbitration_id, bytes(frame.data), now_s)
        due = sorted(one for one in waiting if one[0] <= now_s)
        waiting = [one for one in waiting if one[0] > now_s]
        for _, can_id, data in due:
            extended = vehicle.addressing.bits > ELEVEN.bits
            bus.send(can.Message(arbitration_id=can_id, data=data, is_extended_id=extended))
