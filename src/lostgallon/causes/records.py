"""What the catalogue holds, as frozen records. Field names are the keys of the files in data/catalogue/.

Every judged or measured number stands in a record that names its class of source (`source`, an id of
source_classes.yaml). Amounts are in the unit of their condition (physics/conditions.py).
"""

from dataclasses import dataclass
from typing import Literal

from lostgallon.shop.account import EntryKind

Form = Literal["question", "look", "measure", "record", "derived"]
Context = Literal["season", "scatter", "perception"]
ReadAs = Literal[
    "mean",
    "max",
    "min",
    "abs_mean",
    "spread",
    "off_mean",
    "axle_difference",
    "sum_over_normal",
    "placard_shortfall",
    "over_trip",
]
Ends = tuple[float, float, float]
"""Lowest credible, typical, highest credible."""
MinutesRange = tuple[float, float]
"""One in twenty takes fewer minutes, one in twenty more; the likely ones stand beside it."""


@dataclass(frozen=True)
class Severity:
    """How much of its condition a cause makes where it is present: percentiles in the condition's unit."""

    p05: float
    p50: float
    p99: float
    source: str


@dataclass(frozen=True)
class EffectPct:
    """Per cent more fuel per distance, for orientation only; the physics computes the account."""

    low: float
    typical: float
    worst: float
    acts_on: str
    scale: str
    basis: tuple[str, ...]
    source: str


@dataclass(frozen=True)
class Prior:
    """Probability that a defect is there, out of limits, and appeared since the good figure, by distance run."""

    under_80k_km: float
    km_80k_to_200k: float
    over_200k_km: float
    range: tuple[float, float]
    source: str


@dataclass(frozen=True)
class Share:
    """A share between 0 and 1 with its source."""

    share: float
    source: str


@dataclass(frozen=True)
class Test:
    """One machine-readable test on a fact of the case (causes/facts.py); exactly one comparison is set."""

    key: str
    equals: str | bool | None = None
    one_of: tuple[str, ...] = ()
    above: float | None = None
    below: float | None = None
    contains: str | None = None


@dataclass(frozen=True)
class PriorRule:
    """Where every test holds, `set` replaces the probability and `odds` multiplies its odds."""

    when: tuple[Test, ...]
    why: str
    set: float | None = None
    odds: float | None = None


@dataclass(frozen=True)
class Onset:
    """How a cause comes: probabilities that add to one."""

    sudden: float
    creeping: float
    seasonal: float
    source: str


@dataclass(frozen=True)
class Money:
    """A price or a harm in the shop's currency: lowest, typical, highest."""

    low: float
    typical: float
    high: float
    source: str


@dataclass(frozen=True)
class Cause:
    """Something that can raise fuel use: a fault or a circumstance.

    `context` causes are computed from the case (season) or from the figures (scatter, perception) and are not
    guessed as present or absent by a prior alone. `paper` causes move figures and no fuel.
    """

    id: str
    name: str
    kind: EntryKind
    fault: bool
    mechanism: str
    effect_pct: EffectPct
    onset: Onset
    harm_if_left_money: Money
    operation: str
    advice_text: str
    cautions: tuple[str, ...]
    owner_says: tuple[str, ...]
    signs: tuple[str, ...]
    wrong_conclusion: str
    condition: str | None = None
    severity: Severity | None = None
    prior_new: Prior | None = None
    already_there: Share | None = None
    prior_rules: tuple[PriorRule, ...] = ()
    applies_if: tuple[Test, ...] = ()
    context: Context | None = None
    paper: bool = False
    note: str = ""


@dataclass(frozen=True)
class ValueTest:
    """How typed values become a reading: reduce them, then compare; a typed limit replaces the number."""

    kind: str
    read: ReadAs
    unit: str
    above: float | None = None
    below: float | None = None


@dataclass(frozen=True)
class Mask:
    """A cause that hides a reading: what the reading can still see is multiplied by `factor`."""

    cause: str
    factor: float
    why: str


@dataclass(frozen=True)
class Reading:
    """One thing a check can read: how often it reads so on a sound vehicle, and which causes it finds how often.

    `finds` maps a cause (or `look_alike:ID`) to its detection. `new_only` readings tell of what came since the good
    days; `neutral` readings move no belief by themselves.
    """

    id: str
    text: str
    false_alarm: Ends | None = None
    finds: tuple[tuple[str, Ends], ...] = ()
    source: str | None = None
    neutral: bool = False
    new_only: bool = False
    scatter_sd: float | None = None
    value: ValueTest | None = None
    masked_by: tuple[Mask, ...] = ()


@dataclass(frozen=True)
class Gauge:
    """How a check measures a condition: value = normal + factor * amount ** power, with the gauge's error.

    The error has standard deviation `gauge_sd` (in the unit the value is kept in) and `relative_sd` of the deviation;
    a share `outlier_share` of readings is simply wrong. With `limit_is_normal` a typed limit (the thermostat's rating)
    is what a sound vehicle reads.
    """

    condition: str
    kind: str
    read: ReadAs
    sees: tuple[str, ...]
    factor: float
    power: float
    normal: float
    gauge_sd: float
    relative_sd: float
    limit: str
    says: str
    outlier_share: float
    source: str
    limit_is_normal: bool = False


@dataclass(frozen=True)
class Limit:
    """An orientation limit; the service information for the exact vehicle wins."""

    what: str
    unit: str
    limit: str
    source: str


@dataclass(frozen=True)
class Perish:
    """The state whose end destroys the evidence, and how many minutes it lasts (None: until it ends)."""

    state: str
    minutes: float | None = None


@dataclass(frozen=True)
class Check:
    """One thing a technician can ask, look at, measure or drive.

    `always` is asked on every visit, whatever it tells of fuel: it moves no belief.
    """

    id: str
    name: str
    form: Form
    minutes: float
    minutes_source: str
    tools: tuple[str, ...]
    needs: tuple[str, ...]
    positive: str
    limits: tuple[Limit, ...]
    readings: tuple[Reading, ...]
    wait_minutes: float = 0.0
    perishes: Perish | None = None
    destroys: tuple[str, ...] = ()
    looks_at: str | None = None
    cautions: tuple[str, ...] = ()
    note: str = ""
    found_means: tuple[str, ...] = ()
    gauge: Gauge | None = None
    minutes_range: MinutesRange | None = None
    always: bool = False


@dataclass(frozen=True)
class Parts:
    """Parts in the shop's currency: lowest, likely, highest."""

    low: float
    likely: float
    high: float
    source: str


@dataclass(frozen=True)
class Operation:
    """A correction as work.

    `minutes_open` gives the hands-on minutes where a state is open, one way to the work each; `opens` are the states it
    opens by itself. Prices alone and now are computed from these and the states (plan/ways.py); `minutes_alone` is the
    trade's own figure for the whole job from closed, for comparison. `needs` must hold while it is done. `fill_in`
    stays empty until a person enters the figure of the service information with its source. `restores` are
    conditions whose readings are trustworthy only afterwards. `other_grounds` is what it is good for besides fuel;
    `at_hand_over` is advice or paper work that keeps nobody in the bay and is not charged; `booked_as` are words of a
    booked job that does this work itself. `owed` once found, the vehicle is not handed back without it; `later_when` is
    when it is done otherwise; `dearer_fuel` saves fuel by buying a dearer one.
    """

    id: str
    name: str
    text: str
    minutes_alone: float
    minutes_open: tuple[tuple[str, float], ...]
    minutes_source: str
    opens: tuple[str, ...]
    needs: tuple[str, ...]
    parts_money: Parts
    cautions: tuple[str, ...]
    fill_in: tuple[str, ...]
    restores: tuple[str, ...]
    confirmed_by: tuple[str, ...]
    cures_share: Share
    follow_up: tuple[str, ...]
    re_measure: str | None = None
    cold_engine: bool = False
    other_grounds: str = ""
    at_hand_over: bool = False
    booked_as: tuple[str, ...] = ()
    minutes_range: MinutesRange | None = None
    owed: bool = False
    later_when: str = ""
    dearer_fuel: bool = False


@dataclass(frozen=True)
class JobStep:
    """One step of a usual job between opening and closing: hands-on minutes and the states it needs."""

    what: str
    minutes: float
    needs: tuple[str, ...]


@dataclass(frozen=True)
class BookedJob:
    """A job that vehicles are booked for, known by the words it is booked with; its usual steps in order."""

    id: str
    booked_as: tuple[str, ...]
    source: str
    steps: tuple[JobStep, ...]


@dataclass(frozen=True)
class State:
    """A state of access: what it takes to open and close, what it blocks, and the cautions it carries.

    `to_open` and `to_close` are the work itself, as one would tell a colleague. `closing_runs`: the engine runs in it.
    `closes_before`: where those are open too, it is closed first (an exhaust joint before the vehicle is let down).
    `all_hands`: while it is opened or closed nobody works elsewhere on the vehicle (it goes up or down).
    """

    id: str
    name: str
    open_minutes: float | None = None
    close_minutes: float | None = None
    minutes_source: str | None = None
    parent: str | None = None
    blocks: tuple[str, ...] = ()
    opened_by: tuple[str, ...] = ()
    also_called: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    note: str = ""
    cold_engine: bool = False
    to_open: str = ""
    to_close: str = ""
    closing_runs: bool = False
    closes_before: tuple[str, ...] = ()
    all_hands: bool = False
    minutes_range: MinutesRange | None = None
