"""Asking and being answered: one request at a time, its answers put together, matched and timed.

Long answers (ISO 15765-2) are put together by can-isotp, one receiver for each module. A frame that fits no open
request is counted and dropped; nothing a module sends can keep a request open beyond its limit.
"""

import logging
from collections import Counter, deque
from collections.abc import Callable
from dataclasses import dataclass, field

import isotp

from lostgallon.port.addressing import FRAME_BYTES, Addressing
from lostgallon.port.gate import Gate

P2_S = 0.050
"""A module answers within this time (ISO 15765-4, P2 CAN)."""
ADAPTER_S = 0.100
"""What an adapter on a cable or by radio may add. From memory, wide on purpose."""
P2_STAR_S = 5.0
"""The same after "response pending" (ISO 15765-4, P2* CAN)."""
MOST_S = 15.0
"""No request stays open longer, however often a module says that it is still at it."""
BETWEEN_FRAMES_S = 1.0
"""The longest wait for the next part of a long answer (ISO 15765-2, N_Cr)."""
BUSY_TRIES, BUSY_PAUSE_S = 3, 0.2

NEGATIVE, PENDING, BUSY = 0x7F, 0x78, 0x21
ECHOES = {0x01, 0x02, 0x06, 0x09}
"""Services whose answer repeats what was asked for."""

_LAYER = {
    "tx_padding": 0,
    "tx_data_min_length": FRAME_BYTES,
    "rx_consecutive_frame_timeout": round(1000 * BETWEEN_FRAMES_S),
    "max_frame_size": 4095,
    # ISO 15765-4: a tester takes the whole answer in one block without pauses.
    "blocksize": 0,
    "stmin": 0,
    "blocking_send": False,
    "logger_name": "lostgallon.port.frames",
}
# Garbled frames are counted; nobody wants each of them on the screen.
logging.getLogger("lostgallon.port.frames").setLevel(logging.CRITICAL)


@dataclass(frozen=True)
class Answer:
    """What a module answered: its bytes from the service on, and when the last of them was there. [s]"""

    module: int
    payload: bytes
    at_s: float


@dataclass(frozen=True)
class Refusal:
    """A negative answer and its code (ISO 14229-1, table A.1)."""

    module: int
    code: int


@dataclass(frozen=True)
class Heard:
    """Everything that came of one request."""

    answers: tuple[Answer, ...]
    refusals: tuple[Refusal, ...]
    took_s: float

    @property
    def anything(self) -> bool:
        """Whether any module reacted at all."""
        return bool(self.answers or self.refusals)


@dataclass
class Strays:
    """Frames and answers that were of no use, by reason. A count of `late` tells of a slow adapter."""

    counts: Counter[str] = field(default_factory=Counter)

    def note(self, reason: str) -> None:
        """Count one."""
        self.counts[reason] += 1


class Line:
    """Asks and listens.

    Args:
        gate: The adapter.
        clock_s: Seconds that only grow, and grow while the adapter waits.
        raw: Told of every exchange: seconds, module, request, answer; None keeps no raw bytes.
    """

    def __init__(
        self, gate: Gate, clock_s: Callable[[], float], raw: Callable[[float, str, bytes, bytes], None] | None = None
    ) -> None:
        self.gate, self.clock_s, self.raw = gate, clock_s, raw
        self.strays = Strays()
        self._receivers: dict[int, _Receiver] = {}

    @property
    def addressing(self) -> Addressing:
        """The width of identifiers."""
        return self.gate.addressing

    def ask(self, request: bytes, *, module: int | None = None, waiting: frozenset[int] = frozenset()) -> Heard:
        """Ask, and wait for the answers; a module that says it is busy is asked again.

        Args:
            request: Service and what it is asked for, at most 7 bytes.
            module: The module asked; None asks all.
            waiting: Modules that are known to answer: when all of them have, nothing more is waited for.

        Raises:
            Refused: If the request is not one that only reads.
            PortLost: If the adapter can't be used any more.
        """
        started_s = self.clock_s()
        for _ in range(BUSY_TRIES):
            asked = _Asked(request, {module} if module is not None else set(waiting))
            self._exchange(asked, module)
            if not asked.busy or asked.answers:
                break
            self.pause(BUSY_PAUSE_S)
        self.gate.require_on_bus()
        return Heard(tuple(asked.answers.values()), tuple(asked.refusals.values()), self.clock_s() - started_s)

    def pause(self, seconds: float) -> None:
        """Let time pass; what arrives meanwhile answers nothing."""
        until_s = self.clock_s() + seconds
        while (left_s := until_s - self.clock_s()) > 0.0:
            self._drop(self.gate.receive(left_s))

    def _exchange(self, asked: "_Asked", module: int | None) -> None:
        self._forget()
        addressing = self.addressing
        can_id = addressing.functional if module is None else addressing.request_id(module)
        self.gate.send(can_id, bytes([len(asked.request), *asked.request]).ljust(FRAME_BYTES, b"\0"))
        sent_s = self.clock_s()
        usual_s, limit_s = sent_s + P2_S + ADAPTER_S, sent_s + MOST_S
        while not asked.done:
            # A module in the middle of a long answer, or one that asked for time, is waited for up to its limit.
            left_s = min(max([usual_s, *asked.open_until_s.values()]), limit_s) - self.clock_s()
            if left_s <= 0.0:
                break
            frame = self.gate.receive(left_s)
            if frame is not None:
                self._take(asked, *frame)
        if asked.waits:
            self.strays.note("no answer")

    def _take(self, asked: "_Asked", can_id: int, data: bytes) -> None:
        module = self.addressing.module_at(can_id)
        if module is None:
            return
        now_s = self.clock_s()
        receiver = self._receiver(module)
        payload = receiver.take(data)
        if receiver.in_the_middle:
            asked.open_until_s[module] = now_s + BETWEEN_FRAMES_S
        elif payload is not None:
            asked.open_until_s.pop(module, None)
            if self.raw is not None:
                self.raw(now_s, self.addressing.name(module), asked.request, payload)
            asked.take(Answer(module, payload, now_s), self.strays)

    def _forget(self) -> None:
        """Answers that came after their request was given up must not pass for answers to the next one."""
        for receiver in self._receivers.values():
            receiver.reset()
        until_s = self.clock_s() + P2_S
        while self.clock_s() < until_s and self._drop(self.gate.receive(0.0)):
            pass

    def _drop(self, frame: tuple[int, bytes] | None) -> bool:
        if frame is not None and self.addressing.module_at(frame[0]) is not None:
            self.strays.note("late")
        return frame is not None

    def _receiver(self, module: int) -> "_Receiver":
        if module not in self._receivers:
            self._receivers[module] = _Receiver(self.gate, module, self.strays)
        return self._receivers[module]


class _Asked:
    """One request while it is open. `open_until_s` holds the modules that are known to have more to say."""

    def __init__(self, request: bytes, waits: set[int]) -> None:
        self.request, self.waits, self._named = request, waits, bool(waits)
        self.answers: dict[int, Answer] = {}
        self.refusals: dict[int, Refusal] = {}
        self.open_until_s: dict[int, float] = {}
        self.busy = False

    @property
    def done(self) -> bool:
        return self._named and not self.waits

    def take(self, answer: Answer, strays: Strays) -> None:
        payload, module = answer.payload, answer.module
        if len(payload) == 3 and payload[0] == NEGATIVE and payload[1] == self.request[0]:
            self._take_refusal(answer, payload[2])
        elif not self._matches(payload):
            strays.note("answers nothing that was asked")
        elif module in self.answers:
            strays.note("answered twice")
        else:
            self.answers[module] = answer
            self.waits.discard(module)

    def _take_refusal(self, answer: Answer, code: int) -> None:
        if code == PENDING:
            self.open_until_s[answer.module] = answer.at_s + P2_STAR_S
            return
        self.busy = self.busy or code == BUSY
        self.refusals[answer.module] = Refusal(answer.module, code)
        self.waits.discard(answer.module)

    def _matches(self, payload: bytes) -> bool:
        service = self.request[0]
        if not payload or payload[0] != service + 0x40:
            return False
        if service not in ECHOES:
            return True
        asked = self.request[1:] if service == 0x01 else self.request[1:2]
        return len(payload) > 1 and payload[1] in asked


class _Receiver:
    """Puts the frames of one module together."""

    def __init__(self, gate: Gate, module: int, strays: Strays) -> None:
        addressing = gate.addressing
        wide = addressing.bits > 11
        self._frames: deque[isotp.CanMessage] = deque()
        self._id, self._wide, self._gate = addressing.answer_id(module), wide, gate
        mode = isotp.AddressingMode.Normal_29bits if wide else isotp.AddressingMode.Normal_11bits
        self._layer = isotp.TransportLayerLogic(
            rxfn=lambda _timeout: self._frames.popleft() if self._frames else None,
            txfn=lambda frame: gate.send(frame.arbitration_id, bytes(frame.data)),
            address=isotp.Address(mode, rxid=self._id, txid=addressing.request_id(module)),
            error_handler=lambda error: strays.note(_garbled(error)),
            params=_LAYER,
        )

    def take(self, data: bytes) -> bytes | None:
        """Take one frame; the whole answer, once it is there."""
        self._frames.append(isotp.CanMessage(arbitration_id=self._id, data=data, extended_id=self._wide))
        self._layer.process()
        whole = self._layer.recv()
        return None if whole is None else bytes(whole)

    @property
    def in_the_middle(self) -> bool:
        """Whether more frames of an answer have to come."""
        return bool(self._layer.is_rx_active())

    def reset(self) -> None:
        """Forget half an answer."""
        if self.in_the_middle:
            self._layer.stop_receiving()


def _garbled(error: Exception) -> str:
    return f"garbled: {type(error).__name__.removesuffix('Error')}"
