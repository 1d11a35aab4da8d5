"""Many vehicles screened at once (keys of `lostgallon screen --json`)."""

import datetime as dt
from dataclasses import dataclass

from lostgallon.shop.spread import Spread


@dataclass(frozen=True)
class Flagged:
    """A vehicle that uses more beyond season and scatter; `use_changed` is the chance of the rival explanation."""

    vehicle: str
    probability: float
    increase_pct: Spread
    money_per_year: Spread
    since: dt.date
    use_changed: float


@dataclass(frozen=True)
class Screening:
    """What a fleet's fill-ups say. `fill_ups` counts rows read, `rejected` those not used.

    `false_discovery_rate` is the one aimed at; `expected_false` the number of flagged vehicles that should be false;
    `share_changed` how many vehicles of this fleet seem to have changed at all; `too_few` had not enough tanks.
    """

    vehicles: int
    fill_ups: int
    rejected: int
    seconds: float
    false_discovery_rate: float
    expected_false: float
    share_changed: float
    too_few: int
    currency: str
    flagged: tuple[Flagged, ...]
