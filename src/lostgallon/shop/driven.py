"""A recorded drive as a reader hands it over, and what it says (keys of `lostgallon drive --json`)."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from lostgallon.shop.filled import ColumnTaken, Rejected
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Floats, Spread

Region = Literal["idle", "cruise", "load"]
Curve = tuple[tuple[float, float], ...]
"""Points of a picture: (x, y), their units named where the curve is kept."""


@dataclass(frozen=True)
class DriveLog:
    """A log as read. Channels are named in data/headings.csv with their unit; NaN where a sample is missing.

    `time_s` and every channel have shape (samples,); `time_s` starts at 0 and only grows. `rows` counts the data
    lines of the file, `sha256` is of the file as it lies, so that a kept log can be recognized and reread.
    """

    name: str
    time_s: Floats
    channels: Mapping[str, Floats]
    columns: tuple[ColumnTaken, ...]
    rejected: tuple[Rejected, ...]
    unsupported: tuple[str, ...]
    codes: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    rows: int = 0
    sha256: str = ""


@dataclass(frozen=True)
class Idle:
    """Standing with the engine running: share of time and of fuel, and fuel an hour when warm."""

    share: float
    l_per_h: Spread | None
    fuel_share: float | None = None
    says: str = ""


@dataclass(frozen=True)
class FuelCut:
    """Whether the injectors were seen to stop on the overrun; `seen` is None where the log can't show it."""

    seen: bool | None
    share: float | None
    says: str


@dataclass(frozen=True)
class WarmUp:
    """The coolant from start to plateau. `curve` is minutes against the reading in degrees Celsius.

    `expected_low` and `expected_high` bound, on the same minutes, what a sound thermostat would have shown.
    """

    start_c: float | None
    plateau_c: float | None
    minutes_to_70c: float | None
    says: str
    curve: Curve = ()
    expected_low: Curve = ()
    expected_high: Curve = ()


@dataclass(frozen=True)
class ColdSoak:
    """Coolant, intake air and outside air at the first samples, in degrees Celsius."""

    coolant_c: float
    intake_air_c: float | None
    ambient_c: float | None
    says: str


@dataclass(frozen=True)
class Trim:
    """Fuel trim of a bank in a region of load, closed loop and warm."""

    bank: int
    region: Region
    short_pct: float | None
    long_pct: float | None
    total_pct: float
    samples: int


@dataclass(frozen=True)
class Pattern:
    """What the drive says about a cause, as a likelihood ratio with its reason.

    In a verdict there is one pattern a cause. `checks` are the catalogue's checks that look at the same physical facts:
    where the visit also holds a finding of one of them, one of the two must be left out.
    """

    cause: str
    likelihood_ratio: float
    because: str
    checks: tuple[str, ...] = ()


@dataclass(frozen=True)
class LockUp:
    """The converter clutch: share of warm cruise it was applied, and slip while applied.

    `gears` are the ratios found, in engine turns a minute per km/h, top gear first.
    """

    applied_share: float | None
    slip_rpm: float | None
    says: str
    slip_spread_rpm: Spread | None = None
    gears: tuple[float, ...] = ()
    changes_per_min: float | None = None


@dataclass(frozen=True)
class CoastDown:
    """Road load from one coasting stretch or a pair in both directions.

    `curve` is speed in km/h against the measured force in newtons, `expected` the sound vehicle's force.
    """

    f0_n: float
    f2_n_per_kmh2: float
    rolling_coefficient: Spread
    says: str
    extra_drag_n: Spread | None = None
    extra_fuel_pct: Spread | None = None
    stretches: int = 1
    curve: Curve = ()
    expected: Curve = ()


@dataclass(frozen=True)
class Code:
    """A trouble code with its class by SAE J2012."""

    code: str
    system: str
    defined_by: str


@dataclass(frozen=True)
class Kept:
    """What the control module told beside the drive: codes, counters, ethanol share, voltage, fuel level."""

    codes: tuple[Code, ...] = ()
    warm_ups: float | None = None
    distance_since_clear_km: float | None = None
    km_per_warm_up: float | None = None
    misfires: tuple[float, ...] = ()
    ethanol_pct: float | None = None
    voltage_v: float | None = None
    fuel_level_drop_pct: float | None = None
    says: tuple[str, ...] = ()


@dataclass(frozen=True)
class DriveVerdict:
    """What a recorded drive says. `fuel_over_distance` is liters over kilometers, `speed_over_time` km/h over minutes.

    `facts` are the single ratios behind `pattern`, one a cause and a check, for whoever has other news of a check.
    """

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
    fuel_from: str = ""
    fuel_cut: FuelCut | None = None
    cold_soak: ColdSoak | None = None
    kept: Kept | None = None
    trims_say: str = ""
    fuel_over_distance: Curve = ()
    unsupported: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    log: str = ""
    log_sha256: str = ""
    facts: tuple[Pattern, ...] = ()
    speed_over_time: Curve = ()


@dataclass(frozen=True)
class DriveTold:
    """What an account shows of its drive log: sentences and curves, without what was read and what was rejected."""

    log: str
    log_sha256: str
    sentence: str
    warm_up: WarmUp | None = None
    trims: tuple[Trim, ...] = ()
    trims_say: str = ""
    coast_downs: tuple[CoastDown, ...] = ()
    fuel_over_distance: Curve = ()
    cautions: tuple[str, ...] = ()
    speed_over_time: Curve = ()
    not_enough: tuple[NotEnough, ...] = ()
