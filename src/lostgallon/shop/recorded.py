"""What a vehicle's diagnostic port gave: a recorded drive, and the memory of its modules."""

from dataclasses import dataclass
from typing import Literal

from lostgallon.shop.driven import Code

EndedBy = Literal["stopped", "silent", "lost", "full", "long"]
"""Why a recording ended: a person, no answer any more, the adapter, the disk, its limit."""


@dataclass(frozen=True)
class Connection:
    """How the modules were reached: bits a second and width of identifiers, and who answered (identifiers, base 16).

    `bit_rate` is None where the adapter was already set by the operating system.
    """

    channel: str
    bit_rate: int | None
    identifier_bits: int
    modules: tuple[str, ...]


@dataclass(frozen=True)
class Recorded:
    """A recording of a drive. `log` is the table, `raw` every answer byte by byte; both are whole up to the end.

    `rounds_hz` is rounds a second: each round reads every fast channel once. `remarks` says what was left out and what
    arrived garbled or late.
    """

    log: str
    raw: str
    started: str
    seconds: float
    rows: int
    rounds_hz: float
    connection: Connection
    channels: tuple[str, ...]
    ended_by: EndedBy
    says: str
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Value:
    """One value as a module keeps it, in the unit it is sent in."""

    name: str
    value: float
    unit: str


@dataclass(frozen=True)
class FreezeFrame:
    """What the engine did when a code was set."""

    module: str
    code: str
    values: tuple[Value, ...]


@dataclass(frozen=True)
class Misfires:
    """Misfires of one cylinder: mean of the last ten drives, and this or the last drive; None where not told."""

    cylinder: int
    ten_drives: float | None
    this_drive: float | None


@dataclass(frozen=True)
class Readiness:
    """The lamp, how many codes it counts, and which monitors have run since the memory was cleared."""

    lamp_on: bool
    codes: int
    complete: tuple[str, ...]
    incomplete: tuple[str, ...]


@dataclass(frozen=True)
class KeptMemory:
    """Everything that vanishes when the battery comes off, read in one press. `read_at` is ISO 8601 with its zone.

    The vehicle identification number is not among it: it goes to the vehicle's card and nowhere else.
    `not_answered` says what was asked and not told.
    """

    read_at: str
    connection: Connection
    stored: tuple[Code, ...]
    pending: tuple[Code, ...]
    permanent: tuple[Code, ...]
    freeze_frames: tuple[FreezeFrame, ...]
    misfires: tuple[Misfires, ...]
    readiness: Readiness | None
    warm_ups: float | None
    distance_since_clear_km: float | None
    values: tuple[Value, ...] = ()
    not_answered: tuple[str, ...] = ()
    raw: tuple[str, ...] = ()

    @property
    def codes(self) -> tuple[str, ...]:
        """Every code once, stored before pending before permanent."""
        return tuple(dict.fromkeys(one.code for one in (*self.stored, *self.pending, *self.permanent)))
