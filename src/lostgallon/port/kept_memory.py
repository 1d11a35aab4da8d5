"""The memory of the modules in one press, because it vanishes when the battery comes off."""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import TypeVar

from lostgallon.port import answers
from lostgallon.port.answers import Garbled
from lostgallon.port.channel import Connected
from lostgallon.port.discovery import CURRENT, STATUS
from lostgallon.port.line import Answer
from lostgallon.port.polling import MOST_IN_ONE
from lostgallon.shop.driven import Code
from lostgallon.shop.recorded import FreezeFrame, KeptMemory, Misfires, Value

STORED, PENDING, PERMANENT = 0x03, 0x07, 0x0A
FROZEN, TESTS, ABOUT = 0x02, 0x06, 0x09
NAMES = {STORED: "stored codes", PENDING: "pending codes", PERMANENT: "permanent codes"}
MISFIRE_GROUP, VIN = 0xA0, 0x02
FREEZE_CODE = 0x02
WARM_UPS, DISTANCE = 0x30, 0x31

T = TypeVar("T")


@dataclass(frozen=True)
class Read:
    """The memory, and the vehicle identification number apart from it; empty where it was not told."""

    memory: KeptMemory
    vin: str


def read_memory(there: Connected, at: dt.datetime) -> Read:
    """Read everything the modules keep.

    Args:
        there: The line and its modules.
        at: The time of day with its zone.

    Raises:
        PortLost: If the adapter can't be used any more.
    """
    press = _Press(there)
    codes = {service: press.codes(service) for service in NAMES}
    values = dict(press.values())
    status = values.pop(STATUS, b"")
    memory = KeptMemory(
        read_at=at.isoformat(timespec="seconds"),
        connection=there.connection,
        stored=codes[STORED],
        pending=codes[PENDING],
        permanent=codes[PERMANENT],
        freeze_frames=press.freeze_frames(),
        misfires=press.misfires(),
        readiness=answers.readiness_of(status) if status else None,
        warm_ups=press.number(values, WARM_UPS),
        distance_since_clear_km=press.number(values, DISTANCE),
        values=tuple(press.said(values)),
        not_answered=tuple(press.not_answered),
        raw=tuple(press.raw),
    )
    return Read(memory, press.vin())


def codes_by_service(there: Connected, *, services: Iterable[int]) -> tuple[str, ...]:
    """Codes of all modules, each once."""
    press = _Press(there)
    return tuple(dict.fromkeys(code.code for service in services for code in press.codes(service)))


class _Press:
    """One press: every question is asked, and what is not answered is noted."""

    def __init__(self, there: Connected) -> None:
        self.line, self.vehicle = there.line, there.vehicle
        self.not_answered: list[str] = []
        self.raw: list[str] = []

    def codes(self, service: int) -> tuple[Code, ...]:
        waiting = frozenset(self.vehicle.supports)
        heard = self.line.ask(bytes([service]), waiting=waiting)
        found: dict[str, Code] = {}
        told: set[int] = {refusal.module for refusal in heard.refusals}
        for answer in sorted(heard.answers, key=lambda one: one.module):
            codes = self._read(answer, answers.codes_of)
            if codes is not None:
                told.add(answer.module)
                found.update((code.code, code) for code in codes)
        for module in sorted(waiting - told):
            self._miss(NAMES[service], module)
        return tuple(found.values())

    def values(self) -> Iterator[tuple[int, bytes]]:
        """Everything the engine's module supports, once."""
        known = self.vehicle.known
        pids = [pid for pid in known if pid in self.vehicle.supports[self.vehicle.engine]]
        together = [pid for pid in pids if known[pid].length]
        groups = [together[at : at + MOST_IN_ONE] for at in range(0, len(together), MOST_IN_ONE)]
        for group in (*groups, *([pid] for pid in pids if not known[pid].length)):
            found = self._values(group) or {pid: data for one in group for pid, data in self._values([one]).items()}
            for pid in group:
                if pid not in found:
                    self._miss(known[pid].name, self.vehicle.engine)
            yield from found.items()

    def _values(self, group: list[int]) -> dict[int, bytes]:
        found = self._one(
            bytes([CURRENT, *group]), lambda payload: answers.values_of(payload, group, self.vehicle.known)
        )
        return found or {}

    def said(self, values: dict[int, bytes]) -> Iterator[Value]:
        for pid, data in values.items():
            parameter = self.vehicle.known[pid]
            if parameter.size:
                yield Value(parameter.name, parameter.value(data), parameter.unit)

    def number(self, values: dict[int, bytes], pid: int) -> float | None:
        return self.vehicle.known[pid].value(values[pid]) if pid in values else None

    def freeze_frames(self) -> tuple[FreezeFrame, ...]:
        return tuple(filter(None, (self._freeze_frame(module) for module in sorted(self.vehicle.supports))))

    def _freeze_frame(self, module: int) -> FreezeFrame | None:
        if FREEZE_CODE not in self.vehicle.supports[module]:
            return None
        code = self._one(bytes([FROZEN, FREEZE_CODE, 0]), answers.frozen_code, module=module)
        if not code:
            return None
        values = tuple(self._frozen(module))
        return FreezeFrame(self.line.addressing.name(module), code, values)

    def _frozen(self, module: int) -> Iterator[Value]:
        for pid in self.vehicle.known:
            parameter = self.vehicle.known[pid]
            if not parameter.size or pid not in self.vehicle.supports[module]:
                continue
            read = partial(answers.frozen_value, parameter=parameter)
            value = self._one(bytes([FROZEN, pid, 0]), read, module=module)
            if value is not None:
                yield Value(parameter.name, value, parameter.unit)

    def misfires(self) -> tuple[Misfires, ...]:
        monitors = self._one(bytes([TESTS, MISFIRE_GROUP]), answers.supported) or ()
        cylinders = [one for one in monitors if answers.FIRST_CYLINDER <= one <= answers.LAST_CYLINDER]
        found = (
            self._one(bytes([TESTS, one]), lambda payload: answers.misfires_of(answers.results_of(payload)))
            for one in cylinders
        )
        counts = tuple(one for one in found if one is not None)
        if not counts:
            self._miss("misfire counts", self.vehicle.engine)
        return counts

    def vin(self) -> str:
        """The number, asked for last and kept in no raw bytes."""
        heard = self.line.ask(bytes([ABOUT, VIN]), waiting=frozenset({self.vehicle.engine}))
        for answer in heard.answers:
            try:
                return answers.vin_of(answer.payload)
            except Garbled:
                self.line.strays.note("garbled: vehicle identification number")
        return ""

    def _one(self, request: bytes, read: Callable[[bytes], T], *, module: int | None = None) -> T | None:
        """One question to one module, read; None where nothing usable came."""
        asked = self.vehicle.engine if module is None else module
        for answer in self.line.ask(request, module=asked).answers:
            return self._read(answer, read)
        return None

    def _read(self, answer: Answer, read: Callable[[bytes], T]) -> T | None:
        self.raw.append(f"{self.line.addressing.name(answer.module)} {answer.payload.hex()}")
        try:
            return read(answer.payload)
        except Garbled:
            self.line.strays.note("garbled: answer")
            return None

    def _miss(self, what: str, module: int) -> None:
        self.not_answered.append(f"{what} ({self.line.addressing.name(module)})")
