"""The vehicle's diagnostic port: record a drive, read the memory. The optional extra is only loaded from here."""

import datetime as dt
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lostgallon.drives.kept import cylinder_apart, km_per_warm_up
from lostgallon.readers.case import read_case
from lostgallon.readers.cast import cast
from lostgallon.shop.recorded import KeptMemory, Recorded
from lostgallon.shop.trouble import NotCovered
from lostgallon.shop.visit import Vehicle

if TYPE_CHECKING:
    from lostgallon.port.channel import Channel, Connected
    from lostgallon.port.recording import Progress

EXTRA = ("can", "isotp")
HOW_TO_INSTALL = "reading the port needs its optional extra: pip install 'lostgallon[port]'"
SIMULATED = ("demo", "demo-leak", "demo-sound")
"""Channels of a simulated vehicle: a thermostat stuck open, an air leak, nothing wrong."""
DEMO_TIMES_FASTER = 60.0
SLOW_MODULE_S = 0.1

CAUTIONS = (
    "An engine that runs indoors needs exhaust extraction.",
    "Keep the lead clear of the pedals and of the steering column.",
    "One drives, the other watches the screen; traffic and local law come first.",
)
"""They stand before the start of every recording."""
READS_ONLY = "The port is only read: nothing is cleared, written or commanded."

SOMEBODYS = "wagon"
"""The simulated vehicle where no other is known: one of the cast."""


@dataclass(frozen=True)
class Source:
    """Which port, and what a simulated vehicle should be like.

    Attributes:
        channel: As typed.
        vehicle: The vehicle, if known.
        ambient_c: The air outside. [degC]
        times_faster: How fast a simulated vehicle lives; None as fast as the processor goes.
    """

    channel: str
    vehicle: Vehicle | None = None
    ambient_c: float = 0.0
    times_faster: float | None = None


@dataclass(frozen=True)
class Watch:
    """A person at a recording: told how far it is, asked whether to stop."""

    stop: Callable[[], bool]
    progress: "Callable[[Progress], None]"


@dataclass(frozen=True)
class MemoryRead:
    """The memory, and apart from it the vehicle identification number; empty where it was not told."""

    memory: KeptMemory
    vin: str


def is_simulated(channel: str) -> bool:
    """Whether a channel is no adapter but the simulated vehicle."""
    return channel.strip() in SIMULATED


def has_extra() -> bool:
    """Whether the port's extra is installed."""
    try:
        return all(find_spec(name) is not None for name in EXTRA)
    except ImportError:
        return False


def require_extra() -> None:
    """Say how to install the extra where it is missing.

    Raises:
        NotCovered: If it is.
    """
    if not has_extra():
        raise NotCovered(HOW_TO_INSTALL)


def check_channel(channel: str) -> None:
    """Refuse a channel that can't be one, before anything is opened.

    Raises:
        NotCovered: If the extra is missing.
        BadArgument: If the channel is none.
    """
    require_extra()
    if not is_simulated(channel):
        from lostgallon.port.channel import read_channel  # noqa: PLC0415 - the extra loads only where it is used

        read_channel(channel)


def source_from(channel: str, case_file: Path | None) -> Source:
    """The port as typed; a case tells a simulated vehicle what it is.

    Raises:
        BadInput: If the case can't be used.
    """
    if case_file is None:
        return Source(channel)
    case = read_case(case_file)
    return Source(channel, vehicle=case.vehicle, ambient_c=case.now.ambient_c)


def record_drive(source: Source, log: Path, watch: Watch, *, now: dt.datetime) -> Recorded:
    """Record a drive into a log, and its raw answers beside it.

    Args:
        source: Which port.
        log: Where the table goes.
        watch: The person.
        now: The time of day with its zone.

    Raises:
        NotCovered: If the extra is missing or the engine is a diesel.
        BadArgument: If the channel is none.
        Trouble: If nothing answers, the adapter can't be used, or nothing can be written.
    """
    require_extra()
    from lostgallon.port.recording import Edges, Wish, record  # noqa: PLC0415 - as above

    channel, opens, clock_s = _opened(source)
    return record(Wish(channel, log, now), Edges(opens, clock_s, watch.stop, watch.progress))


def read_memory(source: Source, *, now: dt.datetime) -> MemoryRead:
    """Read the modules' memory in one press.

    Args:
        source: Which port.
        now: The time of day with its zone.

    Raises:
        NotCovered: If the extra is missing or the engine is a diesel.
        BadArgument: If the channel is none.
        Trouble: If nothing answers or the adapter can't be used.
    """
    require_extra()
    from lostgallon.port import kept_memory  # noqa: PLC0415 - as above

    with _connected(source) as there:
        read = kept_memory.read_memory(there, now)
    return MemoryRead(read.memory, read.vin)


def _connected(source: Source) -> "AbstractContextManager[Connected]":
    from lostgallon.port.channel import connected  # noqa: PLC0415 - as above

    return connected(*_opened(source))


def _opened(source: Source) -> "tuple[Channel, Any, Callable[[], float]]":
    import time  # noqa: PLC0415 - the clock of an edge

    from lostgallon.port.channel import Channel, open_bus, read_channel  # noqa: PLC0415 - as above

    if not is_simulated(source.channel):
        return read_channel(source.channel), open_bus, time.monotonic
    bus = _simulated(source)
    return Channel("virtual", source.channel.strip()), lambda _channel, _rate: bus, bus.clock_s


def _simulated(source: Source) -> Any:
    from lostgallon.job.simulated_drive import FAULTS, simulated_drive, simulated_memory  # noqa: PLC0415 - loads physics
    from lostgallon.port.simulated import Memory, SimulatedModule, SimulatedVehicle  # noqa: PLC0415 - as above
    from lostgallon.port.simulated_bus import SimulatedBus  # noqa: PLC0415 - as above

    fault = FAULTS[source.channel.strip()]
    vehicle = source.vehicle or cast(SOMEBODYS).vehicle
    drive = simulated_drive(vehicle, fault, ambient_c=source.ambient_c)
    engine = SimulatedModule(0, drive, simulated_memory(fault, vehicle.cylinders), delay_s=SLOW_MODULE_S)
    gearbox = SimulatedModule(1, drive, Memory(), delay_s=SLOW_MODULE_S, pids=frozenset({0x01, 0x0C}))
    car = SimulatedVehicle([engine, gearbox], ends_s=drive.ends_s)
    return SimulatedBus(car, times_faster=source.times_faster)


def file_name(now: dt.datetime) -> str:
    """What a recording is called: `drive-2026-01-15-1352.csv`."""
    return f"drive-{now:%Y-%m-%d-%H%M}.csv"


def findings_of_memory(memory: KeptMemory) -> tuple[dict[str, Any], ...]:
    """What the memory says as findings of the catalogue's checks: codes, kilometers a warm-up, one cylinder apart.

    Only what a technician would enter from the same reading; a count that proves nothing enters nothing.
    """
    codes = memory.codes
    found: list[dict[str, Any]] = [
        {"check": "kept_memory", "codes": list(codes)} if codes else {"check": "kept_memory", "result": "normal"}
    ]
    ratio_km, _ = km_per_warm_up(memory.warm_ups, memory.distance_since_clear_km)
    if ratio_km is not None:
        found.append({"check": "km_per_warmup", "value": [f"{ratio_km:.1f} km"]})
    counted = [one for one in memory.misfires if one.ten_drives is not None]
    apart = cylinder_apart([one.ten_drives or 0.0 for one in counted])
    if apart is not None:
        place = f"cyl {counted[apart].cylinder}"
        found.append({"check": "misfire_counts", "reading": ["one_cylinder"], "place": [place]})
    return tuple(found)
