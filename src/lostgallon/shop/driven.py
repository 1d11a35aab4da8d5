"""A recorded drive as a reader hands it over, and what it says (keys of `lostgallon drive --json`)."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from lostgallon.shop.filled import ColumnTaken, Rejected
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Floats, Spread

Region = Literal["idle", "cruise", "load"]


@dataclass(frozen=True)
class DriveLog:
    """A log as read. Channels are named as in docs/words.md with their unit; NaN where a sample is missing.

    `time_s` and every channel have shape (samples,).
    """

    name: str
    time_s: Floats
    channels: Mapping[str, Floats]
    columns: tuple[ColumnTaken, ...]
    rejected: tuple[Rejected, ...]
    unsupported: tuple[str, ...]


@dataclass(frozen=True)
class Idle:
    """Standing with the engine running: share of time, and fuel an hour."""

    share: float
    l_per_h: Spread | None


@dataclass(frozen=True)
class WarmUp:
    """The coolant from start to plateau."""

    start_c: float | None
    plateau_c: float | None
    minutes_to_70c: float | None
    says: str


@dataclass(frozen=True)
class Trim:
    """Fuel trim of a bank in a region of load."""

    bank: int
    region: Region
    short_pct: float | None
    long_pct: float | None
    total_pct: float
    samples: int


@dataclass(frozen=True)
class Pattern:
    """What the drive says about a cause, as a likelihood ratio with its reason."""

    cause: str
    likelihood_ratio: float
    because: str


@dataclass(frozen=True)
class LockUp:
    """The converter clutch: share of cruise it was applied, and slip while applied."""

    applied_share: float | None
    slip_rpm: float | None
    says: str


@dataclass(frozen=True)
class CoastDown:
    """Road load from one coasting stretch or a pair."""

    f0_n: float
    f2_n_per_kmh2: float
    rolling_coefficient: Spread
    says: str


@dataclass(frozen=True)
class DriveVerdict:
    """What a recorded drive says."""

    duration_s: float
    distance_km: float | None
    fuel_l: Spread | None
    l_per_100km: Spread | None
    idle: Idle | None
    warm_up: WarmUp | None
    trims: tuple[Trim, ...]
    pattern: tuple[Pattern, ...]
    lock_up: LockUp | None
    coast_downs: tuple[CoastDown, ...]
    columns: tuple[ColumnTaken, ...]
    rejected: tuple[Rejected, ...]
    not_enough: tuple[NotEnough, ...]
    sentence: str = ""
