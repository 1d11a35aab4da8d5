"""Many vehicles screened at once (keys of `lostgallon screen --json`)."""

import datetime as dt
from dataclasses import dataclass

from lostgallon.shop.filled import ColumnTaken
from lostgallon.shop.spread import Spread


@dataclass(frozen=True)
class Flagged:
    """A vehicle that uses more beyond season and scatter; `use_changed` is the chance of the rival explanation.

    `tanks_far_above` stand far above their neighbors, with nothing beside them that makes up for it;
    `far_above` is the chance that these are more than slips explain.
    """

    vehicle: str
    probability: float
    increase_pct: Spread
    money_per_year: Spread
    since: dt.date
    use_changed: float
    tanks_far_above: int = 0
    far_above: float = 0.0


@dataclass(frozen=True)
class FarAbove:
    """A vehicle with more single tanks far above their neighbors than slips of typing explain.

    Fuel taken out of the tank looks like this, and so do a trailer now and then and hours of idling. `tanks` counts all
    of its tanks; the fuel of those far above beyond that of their neighbors costs `money_per_year`; `flagged` where
    it uses more besides.
    """

    vehicle: str
    probability: float
    tanks_far_above: int
    tanks: int
    money_per_year: float
    flagged: bool


@dataclass(frozen=True)
class Screening:
    """What a fleet's fill-ups say. `fill_ups` counts rows read, `rejected` those not used.

    `false_discovery_rate` is the one aimed at; `expected_false` the number of flagged vehicles that should be false;
    `share_changed` how many vehicles of this fleet seem to have changed at all; `too_few` had not enough tanks;
    `taken_out` says what vehicles do together that is nobody's loss; `columns` how the files were read;
    `far_above` which vehicles have single tanks far above, at the same rate of false discoveries.
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
    taken_out: tuple[str, ...] = ()
    columns: tuple[ColumnTaken, ...] = ()
    far_above: tuple[FarAbove, ...] = ()


@dataclass(frozen=True)
class Pictured:
    """The fills of one flagged vehicle, what the whole fleet does together taken out, as its picture shows them.

    Attributes:
        vehicle: Its name.
        days: Date of each fill.
        l_per_100km: Its fuel over its distance.
        before_l_per_100km: Pooled until `since`, fuel over distance.
        after_l_per_100km: Pooled from then on.
    """

    vehicle: str
    days: tuple[dt.date, ...]
    l_per_100km: tuple[float, ...]
    before_l_per_100km: float
    after_l_per_100km: float
