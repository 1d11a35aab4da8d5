"""The one place from which a frame leaves. It lets reading services through and nothing else, whoever asks.

Nothing that clears, writes, commands or starts a session has a way out: what is allowed is listed, not what is
forbidden. A test holds that no other line of the room sends, and tries every service at every identifier.
"""

from typing import Protocol

import can

from lostgallon.port.addressing import FRAME_BYTES, Addressing
from lostgallon.shop.trouble import Trouble

READING_SERVICES = {
    0x01: "current values",
    0x02: "freeze frame",
    0x03: "stored codes",
    0x06: "test results of monitors",
    0x07: "pending codes",
    0x09: "vehicle information",
    0x0A: "permanent codes",
}
"""Services of SAE J1979 that only read. 04 clears, 05 is older than CAN, 08 commands: none of them is here."""

FLOW_CONTROL = (0x30, 0x32)
"""Go on, and no room: what a receiver of a long answer has to say (ISO 15765-2)."""

_SINGLE, _LONGEST_SINGLE = 0, 7
ELEVEN_BITS = 11
SEND_TIMEOUT_S = 0.5
SOCKETCAN_BUS_OFF = 0x40
"""The bit of an error frame that says bus-off (Linux, can/error.h)."""
OFF_THE_BUS = "the adapter left the bus after too many errors (bus-off): wiring, plug or bit rate"


class Refused(Trouble):
    """A frame that is not a reading request; it did not leave."""


class PortLost(Trouble):
    """The adapter can't be used any more: unplugged, off the bus, or switched off."""


class Bus(Protocol):
    """What is used of python-can's bus."""

    @property
    def state(self) -> can.BusState:
        """Whether the adapter still takes part."""
        ...

    def send(self, msg: can.Message, timeout: float | None = None) -> None:
        """Hand one frame to the adapter."""
        ...

    def recv(self, timeout: float | None = None) -> can.Message | None:
        """The next frame, or None when the seconds have passed."""
        ...

    def shutdown(self) -> None:
        """Let go of the adapter."""
        ...


def refusal(can_id: int, data: bytes, addressing: Addressing) -> str:
    """Why a frame must not leave; empty where it may."""
    if len(data) != FRAME_BYTES:
        return f"{len(data)} bytes"
    if data[0] in FLOW_CONTROL:
        return "" if addressing.alone(can_id) else f"flow control to {can_id:X}"
    kind, length = data[0] >> 4, data[0] & 0x0F
    if kind != _SINGLE or not 1 <= length <= _LONGEST_SINGLE:
        return f"a frame that starts with {data[0]:02X}"
    if data[1] not in READING_SERVICES:
        return f"service {data[1]:02X}"
    return "" if addressing.may_ask(can_id) else f"a request to {can_id:X}"


class Gate:
    """An adapter that can only be read with.

    Args:
        bus: The adapter.
        addressing: The width of identifiers.
    """

    def __init__(self, bus: Bus, addressing: Addressing) -> None:
        self._bus, self.addressing = bus, addressing

    def send(self, can_id: int, data: bytes) -> None:
        """Send one frame, if it only reads.

        Raises:
            Refused: If it is anything else.
            PortLost: If the adapter can't send.
        """
        reason = refusal(can_id, data, self.addressing)
        if reason:
            raise Refused(f"found {reason}; expected a request that only reads")
        frame = can.Message(
            arbitration_id=can_id, data=data, is_extended_id=self.addressing.bits > ELEVEN_BITS, check=True
        )
        try:
            self._bus.send(frame, timeout=SEND_TIMEOUT_S)
        except (can.CanError, OSError) as error:
            raise PortLost(f"the adapter can't send: {_words(error)}") from error

    def receive(self, timeout_s: float) -> tuple[int, bytes] | None:
        """The next frame of the right width, or None. Identifier and data.

        Raises:
            PortLost: If the adapter is gone or off the bus.
        """
        try:
            frame = self._bus.recv(timeout_s)
        except (can.CanError, OSError, ValueError) as error:
            raise PortLost(f"the adapter does not answer: {_words(error)}") from error
        if frame is None:
            return None
        if frame.is_error_frame:
            self._look_at(frame)
            return None
        extended = self.addressing.bits > ELEVEN_BITS
        if frame.is_remote_frame or frame.is_fd or bool(frame.is_extended_id) != extended:
            return None
        return frame.arbitration_id, bytes(frame.data)

    def require_on_bus(self) -> None:
        """See whether the adapter still takes part.

        Raises:
            PortLost: If it left the bus after too many errors (bus-off).
        """
        try:
            state = self._bus.state
        except NotImplementedError:
            return
        except (can.CanError, OSError) as error:
            raise PortLost(f"the adapter does not answer: {_words(error)}") from error
        if state is can.BusState.ERROR:
            raise PortLost(OFF_THE_BUS)

    def _look_at(self, error_frame: can.Message) -> None:
        if error_frame.arbitration_id & SOCKETCAN_BUS_OFF:
            raise PortLost(OFF_THE_BUS)


def _words(error: Exception) -> str:
    return " ".join(str(error).split()) or type(error).__name__
