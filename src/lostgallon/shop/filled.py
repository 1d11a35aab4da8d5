"""Tanks as a reader hands them over, and the verdict on them (keys of `lostgallon fillups --json`)."""

import datetime as dt
from dataclasses import dataclass
from typing import Literal

from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Spread

Says = Literal["nothing beyond scatter", "use changed", "vehicle", "either", "not enough"]
DateOrder = Literal["year", "day", "month"]
"""Which part of a date comes first."""
CameBackSays = Literal["came back", "did not", "too early"]


@dataclass(frozen=True)
class Tank:
    """Fuel from the previous counted fill to this one. `chained` is False where the chain is broken before it."""

    line: int
    filled_on: dt.date
    days: float
    distance_km: float
    volume_l: float
    chained: bool
    reconstructed: bool = False
    ambient_c: float | None = None
    ethanol_share: float | None = None


@dataclass(frozen=True)
class Rejected:
    """A line that was not used, and why."""

    line: int
    why: str


@dataclass(frozen=True)
class Repaired:
    """A line that was used after a stated rule mended it."""

    line: int
    rule: str


@dataclass(frozen=True)
class ColumnTaken:
    """Which column was taken as what, and why; said, never silent."""

    taken_as: str
    heading: str
    unit: str
    why: str


@dataclass(frozen=True)
class FillLog:
    """A log as read: every row is a tank, a start, repaired or rejected with its rule."""

    name: str
    tanks: tuple[Tank, ...]
    rejected: tuple[Rejected, ...]
    repaired: tuple[Repaired, ...]
    columns: tuple[ColumnTaken, ...]
    rows: int


@dataclass(frozen=True)
class FillHints:
    """What a person adds where a file leaves it open. A unit that the file states is never overruled.

    `confirmed` lists lines whose proposed correction (a unit or decimal slip) was accepted; `columns` says of a role
    (date, odometer, volume, ...) which heading holds it.
    """

    distance_unit: str | None = None
    volume_unit: str | None = None
    temperature_unit: str | None = None
    date_order: DateOrder | None = None
    confirmed: tuple[int, ...] = ()
    told_by: str = "as told"
    columns: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class DailyTemperatures:
    """Outside temperature by day: ascending ordinals of dates and means, both of one length."""

    name: str
    day: tuple[int, ...]
    mean_c: tuple[float, ...]


@dataclass(frozen=True)
class MonthlyTemperatures:
    """Twelve monthly means of a place, January first."""

    name: str
    mean_c: tuple[float, ...]


@dataclass(frozen=True)
class Since:
    """When the change came, with its 90 % range."""

    date: dt.date
    p05: dt.date
    p95: dt.date


@dataclass(frozen=True)
class Step:
    """A lasting change: how likely, of which kind, since when, how large, and the sentence it earns."""

    probability: float
    any_rise: float
    use_changed: float
    both: float
    log10_bayes_factor: float
    since: Since | None
    increase_pct: Spread | None
    says: Says


@dataclass(frozen=True)
class CameBack:
    """Whether the fuel came back after the work.

    `probability` is that at least half of the rise is gone. `evidence_back` and `evidence_not` are the
    two E-values that decide (20 or more: said); `tanks_after` counts whole tanks since the work.
    """

    says: CameBackSays
    probability: float
    share_pct: Spread | None
    evidence_back: float = 1.0
    evidence_not: float = 1.0
    tanks_after: int = 0
    rule: str = ""


@dataclass(frozen=True)
class Rise:
    """The real rise as the account takes it: logs are natural, economies pooled (fuel over distance).

    `mean_log` and `sd_log` describe ln(now/then) of the whole lasting change, season taken out.
    `then_log_sd` and `now_log_sd` are the real and fill-level scatter of the two pooled figures. `season_log` is what
    the season, by this log's own years, put between the two figures; `season_sd` its standard deviation;
    both None where the season is still in the rise.
    """

    mean_log: float
    sd_log: float
    then_l_per_100km: float
    then_log_sd: float
    now_l_per_100km: float
    now_log_sd: float
    tanks_then: int
    tanks_now: int
    season_log: float | None = None
    season_sd: float | None = None


@dataclass(frozen=True)
class More:
    """What more tanks could show: the smallest rise that would be seen 4 times in 5."""

    tanks: int
    detectable_pct: float


@dataclass(frozen=True)
class FillVerdict:
    """Is the loss real, since when, how large, how sure."""

    tanks: int
    usable: int
    rejected: tuple[Rejected, ...]
    repaired: tuple[Repaired, ...]
    columns: tuple[ColumnTaken, ...]
    before_l_per_100km: float | None
    after_l_per_100km: float | None
    step: Step
    season_pct_per_10c: Spread | None
    scatter_pct: float | None
    detectable_pct_with_5_more_tanks: float | None
    tanks_to_be_sure: int | None
    came_back: CameBack | None
    not_enough: tuple[NotEnough, ...]
    sentence: str = ""
    season_winter_over_summer_pct: Spread | None = None
    rise: Rise | None = None
    more: tuple[More, ...] = ()
    use_moved_pct: float | None = None
    also: tuple[str, ...] = ()
