"""From a channel as a person types it to a line on which modules answer."""

import logging
import platform
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import cast

import can

from lostgallon.port.addressing import ADDRESSINGS
from lostgallon.port.discovery import Vehicle, discover
from lostgallon.port.gate import Bus, Gate, PortLost
from lostgallon.port.line import Line
from lostgallon.shop.recorded import Connection
from lostgallon.shop.trouble import BadArgument, Trouble

BIT_RATES = (500_000, 250_000)
"""In the order in which ISO 15765-4 tries them."""
INTERFACES = (
    "socketcan", "slcan", "gs_usb", "pcan", "kvaser", "ixxat", "vector", "usb2can", "canalystii", "seeedstudio",
    "robotell", "systec", "cantact", "nican", "nixnet", "neousys", "ics_neovi", "iscan", "etas", "virtual",
)  # fmt: skip
"""Adapters of python-can on this machine; those that go over a network are left out."""
SET_BY_SYSTEM = ("socketcan", "virtual")
"""Their bit rate is not ours to choose."""
TYPED = re.compile(r"(?:(?P<interface>[a-z0-9_]+):)?(?P<name>[A-Za-z0-9_./\\-]{1,64})(?:@(?P<rate>250|500)k)?")
EXPECTED = (
    "a channel like can0, slcan:/dev/ttyACM0 or pcan:PCAN_USBBUS1, with @500k or @250k behind it where it is known"
)


@dataclass(frozen=True)
class Channel:
    """An adapter: its kind, its name, and its bit rate where a person knows it."""

    interface: str
    name: str
    bit_rate: int | None = None

    @property
    def bit_rates(self) -> tuple[int | None, ...]:
        """What is tried, in order; None leaves it to the operating system."""
        if self.interface in SET_BY_SYSTEM:
            return (None,)
        return (self.bit_rate,) if self.bit_rate else BIT_RATES


def read_channel(text: str) -> Channel:
    """A channel as typed.

    Raises:
        BadArgument: If it is none.
    """
    found = TYPED.fullmatch(text.strip())
    interface = (found["interface"] or _usual_interface()) if found else ""
    if found is None or interface not in INTERFACES:
        raise BadArgument("port", found=repr(text[:80]), expected=EXPECTED)
    return Channel(interface, found["name"], int(found["rate"]) * 1000 if found["rate"] else None)


def _usual_interface() -> str:
    return "socketcan" if platform.system() == "Linux" else "slcan"


class NothingAnswers(Trouble):
    """No module answers: ignition, plug, adapter, or a vehicle from before CAN."""


NO_ANSWER = (
    "no module answers at 500 or 250 kbit/s. Ignition on, plug seated, adapter ready? A vehicle from before CAN (in "
    "the US up to model year 2007) speaks on other wires and can't be read here: record it with a scan tool and give "
    "the log"
)


@dataclass(frozen=True)
class Connected:
    """A line on which modules answer, what they are, and how they were reached."""

    line: Line
    vehicle: Vehicle
    connection: Connection


Opens = Callable[[Channel, int | None], Bus]


def open_bus(channel: Channel, bit_rate: int | None) -> Bus:
    """Open an adapter.

    Raises:
        PortLost: If it is not there or can't be opened.
    """
    # What a driver of another maker lacks on this machine is nobody's concern here.
    logging.getLogger("can").setLevel(logging.ERROR)
    speed = {} if bit_rate is None else {"bitrate": bit_rate}
    filters = [
        {"can_id": one.answer_base, "can_mask": one.answer_mask, "extended": one.bits > 11} for one in ADDRESSINGS
    ]
    try:
        bus = can.Bus(channel.name, interface=channel.interface, can_filters=filters, **speed)  # type: ignore[arg-type]
    except Exception as error:
        # Each maker's driver has errors of its own.
        said = " ".join(str(error).split())[:200]
        raise PortLost(f"the adapter {channel.interface}:{channel.name} can't be opened: {said}") from error
    return cast("Bus", bus)


@contextmanager
def connected(channel: Channel, opens: Opens, clock_s: Callable[[], float]) -> Iterator[Connected]:
    """Find the bit rate and the width of identifiers at which modules answer; lets go of the adapter at the end.

    Args:
        channel: The adapter.
        opens: Opens it at a bit rate.
        clock_s: Seconds that only grow.

    Raises:
        NothingAnswers: If no module answers at any of them.
        PortLost: If the adapter can't be used.
        NotCovered: If the engine is a diesel.

    Source: ISO 15765-4, initialization: 500 before 250 kbit/s, 11 before 29 bits.
    """
    lost: PortLost | None = None
    for bit_rate in channel.bit_rates:
        bus = opens(channel, bit_rate)
        try:
            for addressing in ADDRESSINGS:
                line = Line(Gate(bus, addressing), clock_s)
                try:
                    vehicle = discover(line)
                except PortLost as error:
                    # At the wrong bit rate nobody acknowledges, and the adapter may leave the bus: on to the next.
                    lost = error
                    break
                if vehicle is not None:
                    names = tuple(addressing.name(module) for module in sorted(vehicle.supports))
                    yield Connected(
                        line,
                        vehicle,
                        Connection(f"{channel.interface}:{channel.name}", bit_rate, addressing.bits, names),
                    )
                    return
        finally:
            bus.shutdown()
    raise lost or NothingAnswers(NO_ANSWER)
