"""One visit as it came in: the vehicle, its use, then and now, what is open, what was found.

Numbers are SI or the trade's own unit, named at the end of each field (see docs/words.md). What a person
typed is kept beside the number as a Quantity.
"""

import datetime as dt
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from lostgallon.shop.marks import Mark

Body = Literal["car", "wagon", "van", "crossover", "suv", "pickup"]
Induction = Literal["natural", "turbo"]
Injection = Literal["port", "direct"]
Drive = Literal["2wd", "4wd"]
Transmission = Literal["automatic", "dual clutch", "manual", "cvt"]
RatingsFrom = Literal["sticker", "restated"]
Basis = Literal["owner's memory", "trip display", "fill-ups", "money spent"]
FuelBlend = Literal["summer", "winter"]
SpeedUnit = Literal["km/h", "mi/h", "m/s"]
Result = Literal["found", "normal", "not looked at", "skipped", "not possible"]

SILENT_RESULTS: tuple[Result, ...] = ("not looked at", "skipped", "not possible")
"""Results that are kept on record and move no belief."""

ROUNDING_MONEY = 0.5
"""Half a unit of the currency: an amount is said in whole ones."""


@dataclass(frozen=True)
class Quantity:
    """A quantity as typed, and its number in the unit the program computes in."""

    typed: str
    number: float
    unit: str


@dataclass(frozen=True)
class CertifiedRoadLoad:
    """The road load that a vehicle was certified with: f0 + f1 v + f2 v2, with v in m/s and the force in newtons."""

    f0_n: float
    f1_n_s_m: float
    f2_n_s2_m2: float


@dataclass(frozen=True)
class Vehicle:
    """What a technician knows of a vehicle without measuring anything."""

    body: Body
    model_year: int
    curb_weight_kg: float
    displacement_l: float
    cylinders: int
    induction: Induction
    injection: Injection
    drive: Drive
    transmission: Transmission
    odometer_km: float
    gears: int | None = None
    rated_city_l_per_100km: float | None = None
    rated_highway_l_per_100km: float | None = None
    ratings_from: RatingsFrom | None = None
    tire_placard_pa: float | None = None
    elevation_m: float = 0.0
    certified: CertifiedRoadLoad | None = None


@dataclass(frozen=True)
class Use:
    """How the owner drives, a year long, and where the vehicle stands at night.

    A remote start is `warm_up_idle_s`.
    """

    distance_per_year_km: float
    trip_km: float
    highway_share: float
    fuel_price_per_l: float
    warm_up_idle_s: float = 0.0
    garage: bool = False
    block_heater: bool = False


@dataclass(frozen=True)
class Period:
    """What the vehicle used in a period (the good days, or now), and how that is known."""

    economy_l_per_100km: float
    basis: Basis
    ambient_c: float
    economy_typed: str = ""
    fuel_blend: FuelBlend | None = None
    ethanol_share: float | None = None
    until: dt.date | None = None


@dataclass(frozen=True)
class Evidence:
    """Files that come with the case.

    Attributes:
        fill_ups: The log of fill-ups.
        drive_log: The recorded drive.
        drive_columns: The columns file that the recorded drive is read by, where its columns were asked for.
        drive_speed: The unit of its road speed, where the log leaves it open.
        coasts: Coasting marked by hand in the recorded drive: start and end in seconds from its first line.
    """

    fill_ups: Path | None = None
    drive_log: Path | None = None
    drive_columns: Path | None = None
    drive_speed: SpeedUnit | None = None
    coasts: tuple[Mark, ...] = ()


@dataclass(frozen=True)
class BookedStep:
    """One step of the booked job that is still to do: hands-on minutes, a wait after them, the states it needs."""

    what: str
    minutes: float
    wait_minutes: float = 0.0
    needs: tuple[str, ...] = ()
    done: bool = False


@dataclass(frozen=True)
class Booked:
    """The job the vehicle came in for, and what the owner agreed to spend on looking.

    Without `steps` the catalogue's usual steps of such a job stand for it. `together`: the owner agrees that two
    corrections of one reading are done at once, so that their shares stay unknown.
    """

    operation: str = ""
    apart: tuple[str, ...] = ()
    minutes_left: float | None = None
    looking_minutes: float | None = None
    looking_money: float | None = None
    steps: tuple[BookedStep, ...] = ()
    together: bool = False


@dataclass(frozen=True)
class Gauge:
    """One gauge of the shop and how far it reads above a reference, in the base unit of its kind (docs/words.md)."""

    name: str
    reads_high: Quantity
    compared: dt.date | None = None


@dataclass(frozen=True)
class Agreed:
    """The owner's recorded agreement to one piece of extra work: who, when, how, up to what amount."""

    operation: str
    by: str
    at: dt.datetime
    how: str
    amount_money: float

    def covers(self, total_money: float) -> bool:
        """Whether the work may cost this much; what whole units of a currency round away is not asked for again."""
        return total_money <= self.amount_money + ROUNDING_MONEY


@dataclass(frozen=True)
class WorkDone:
    """A correction that was done on this visit, and when: it is priced as the vehicle stood then.

    Without a time it is priced as the vehicle stands now.
    """

    operation: str
    at: dt.datetime | None = None


@dataclass(frozen=True)
class StateChange:
    """What was opened and closed at a moment of the visit."""

    at: dt.datetime
    opened: tuple[str, ...] = ()
    closed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Finding:
    """The recorded result of a check.

    `result` is None where values, readings or codes speak for themselves. `after` names the corrections (operations
    of the catalogue) that were done before this look: it tells how the work came out, and an earlier look stays.
    Where a `gauge` of the shop reads high or low, `value` holds what it would read without that, and `as_read` what
    stood on it.
    """

    check: str
    result: Result | None = None
    reading: tuple[str, ...] = ()
    value: tuple[Quantity, ...] = ()
    place: tuple[str, ...] = ()
    at_c: float | None = None
    at_time: dt.datetime | None = None
    limit: Quantity | None = None
    limit_source: str | None = None
    before_good_days: bool = False
    codes: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    gauge: str = ""
    as_read: tuple[str, ...] = ()


@dataclass(frozen=True)
class Shop:
    """The shop's own settings.

    Taxes and the fee are shares (0.08 is 8 %) and start at none: the law where the shop stands decides them. The
    fee is a share of labor with a ceiling, for rags, cleaner and disposal. `hands` are the pairs of hands on this
    vehicle, 1 or 2, with one lift under it.
    """

    labor_rate_per_h: float = 140.0
    horizon_years: float = 3.0
    language: Literal["en", "es"] = "en"
    currency: str = "USD"
    parts_tax_share: float = 0.0
    labor_tax_share: float = 0.0
    fee_share_of_labor: float = 0.0
    fee_ceiling_money: float | None = None
    hands: int = 1


@dataclass(frozen=True)
class Visit:
    """When the vehicle came, when it was promised, what time it is, how warm the bay is."""

    date: dt.date
    promised: dt.datetime | None = None
    now: dt.datetime | None = None
    bay_c: float = 20.0


@dataclass(frozen=True)
class Case:
    """One visit from the owner's remark to now; everything the program is told."""

    name: str
    visit: Visit
    vehicle: Vehicle
    use: Use
    then: Period
    now: Period
    evidence: Evidence = field(default_factory=Evidence)
    booked: Booked = field(default_factory=Booked)
    states: tuple[StateChange, ...] = ()
    findings: tuple[Finding, ...] = ()
    gauges: tuple[Gauge, ...] = ()
    agreed: tuple[Agreed, ...] = ()
    work_done: tuple[WorkDone, ...] = ()
    shop: Shop = field(default_factory=Shop)

    def consent_to(self, operation: str) -> Agreed | None:
        """The owner's last recorded consent to an operation."""
        return next((agreed for agreed in reversed(self.agreed) if agreed.operation == operation), None)

    def done(self, operation: str) -> WorkDone | None:
        """The record that an operation was done on this visit, or None."""
        return next((done for done in reversed(self.work_done) if done.operation == operation), None)
