"""The account of the lost fuel as a record: what every page, letter and program reads.

Field names are the keys of `lostgallon account --json` (the page "JSON results" of the docs).
"""

from dataclasses import dataclass
from typing import Literal

from lostgallon.shop.driven import DriveTold
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Spread

EntryKind = Literal["season", "use", "tires", "engine", "brakes_driveline", "electrical", "measurement"]
ENTRY_KINDS: tuple[EntryKind, ...] = (
    "season",
    "use",
    "tires",
    "engine",
    "brakes_driveline",
    "electrical",
    "measurement",
)
Advice = Literal["done", "today", "later", "not for fuel", "stop"]
StepKind = Literal["booked", "check", "correction", "open", "close", "drive", "wait", "release"]


@dataclass(frozen=True)
class Stop:
    """A safety stop: reported or seen, never a probability, cleared only by a look that finds it safe."""

    id: str
    what: str
    because: tuple[str, ...]
    cleared_by: str


@dataclass(frozen=True)
class Loss:
    """Then, now, the rise between them and how likely it is that the vehicle really uses more.

    `lost_l_per_100km` is now minus then, draw by draw; its interval can't be had from the other two.
    """

    then_l_per_100km: Spread
    now_l_per_100km: Spread
    increase_pct: Spread
    probability_real: float
    lost_l_per_100km: Spread | None = None


@dataclass(frozen=True)
class Entry:
    """One line of the account. `name` is the trade's name of the cause, for people."""

    cause: str
    name: str
    kind: EntryKind
    fault: bool
    present: float
    already_there: float
    l_per_100km: Spread
    share_pct: Spread | None
    because: tuple[str, ...]
    would_change_it: tuple[str, ...]


@dataclass(frozen=True)
class KindTotal:
    """All entries of one kind together."""

    kind: EntryKind
    l_per_100km: Spread


@dataclass(frozen=True)
class Perishes:
    """The state whose end destroys a piece of evidence, and the minutes left (None: until it ends)."""

    state: str
    minutes: float | None


@dataclass(frozen=True)
class LeadsTo:
    """A correction that a check may lead to: with what chance, and what that is expected to gain."""

    cause: str
    chance: float
    gain_money: float


@dataclass(frozen=True)
class CheckWorth:
    """What a check is worth now: what it lets us act on and what it explains, kept apart.

    `leads_to` holds what `acts_money` is mostly made of, the largest first.
    """

    check: str
    name: str
    minutes: float
    acts_money: float
    explains_money: float
    tells: tuple[str, ...]
    needs: tuple[str, ...]
    perishes: Perishes | None
    fits: bool
    why: str
    cautions: tuple[str, ...]
    leads_to: tuple[LeadsTo, ...] = ()


@dataclass(frozen=True)
class FindingRow:
    """A finding as it stands in the account. Values and limit as typed; `outside_by` in words or None.

    `gauge` says what stood on a gauge that reads high or low, and by how much; `value` is without that. `after` holds
    the names of corrections that were done before this look: it says how the work came out.
    """

    check: str
    name: str
    result: str | None
    readings: tuple[str, ...]
    value: tuple[str, ...]
    place: tuple[str, ...]
    limit: str | None
    limit_source: str | None
    outside_by: str | None
    before_good_days: bool
    after: tuple[str, ...] = ()
    gauge: str = ""


@dataclass(frozen=True)
class Correction:
    """Work that removes a cause: its price alone and today, what it saves, and the advice with its reason.

    Both totals are parts at their mean, labor, fees and taxes. Money is None while a stop stands: nothing is priced
    before the vehicle is safe. `fill_in` names the figures (torque, gap, setting) that are empty until someone enters
    them from the service information with its source. `steps` read in the order of the work; a caution stands before
    the step that needs it. `only_while` is the price of fuel up to which it pays, in words, where the work is to buy a
    dearer fuel.
    """

    operation: str
    name: str
    cause: str
    minutes_alone: float
    minutes_now: float
    parts_money: Spread | None
    labor_money: float | None
    labor_money_alone: float | None
    saves_l_per_year: Spread
    saves_money_per_year: Spread | None
    pays_back_months: Spread | None
    advice: Advice
    trigger: str
    because: str
    fill_in: tuple[str, ...]
    cautions: tuple[str, ...]
    steps: tuple[str, ...] = ()
    follow_up: tuple[str, ...] = ()
    fees_money: float | None = None
    total_money: float | None = None
    total_money_alone: float | None = None
    only_while: str = ""


@dataclass(frozen=True)
class PlanStep:
    """One step of the plan; start and end are ISO 8601 local times, empty in an order without a clock.

    `what` is the step in one line, `says` how it is done and how long it takes, `cautions` come before both. `id` is
    the check, correction or state of the catalogue; `hands_minutes` its hands-on minutes at best, likely, at worst.
    """

    what: str
    kind: StepKind
    start: str
    end: str
    says: str = ""
    cautions: tuple[str, ...] = ()
    id: str = ""
    hands_minutes: tuple[float, float, float] | None = None


@dataclass(frozen=True)
class LeftOut:
    """What the plan leaves out, and why."""

    what: str
    why: str


@dataclass(frozen=True)
class Plan:
    """What fits before the promised time.

    `done_by` is the planned end; `likely_done` the 5 % and 95 % ends of the simulated one. `says` is the plan in a
    sentence, for example that there is nothing worth selling. `stands` is how the vehicle stands at this moment, for
    whoever takes over in mid-job. `next_half_hour_adds` names what half an hour more would bring in.
    """

    steps: tuple[PlanStep, ...]
    done_by: str | None
    chance_on_time: float | None
    left_out: tuple[LeftOut, ...]
    next_half_hour_money: float | None
    likely_done: tuple[str, str] | None = None
    says: str = ""
    stands: tuple[str, ...] = ()
    next_half_hour_adds: tuple[str, ...] = ()


@dataclass(frozen=True)
class EstimateLine:
    """One piece of extra work as it is offered: what and why, parts at three prices, labor, fees with tax, total.

    `agreed` says who agreed to it, when, how and up to what amount; empty while it is not yet authorized. `done`: the
    work was done on this visit, and is priced as the vehicle stood then.
    """

    operation: str
    name: str
    why: str
    minutes: float
    parts_money: Spread
    labor_money: float
    fees_money: float
    total_money: float
    agreed: str = ""
    done: bool = False


@dataclass(frozen=True)
class Estimate:
    """The written estimate: what today's extra work costs, until when that holds, and that it is not yet authorized.

    `valid_until` is an ISO 8601 local time or a date: prices hold while the vehicle stands open as it does. `low` and
    `high` are the total at the lowest and the highest price of the parts, with their tax.
    """

    lines: tuple[EstimateLine, ...]
    total_money: float
    low_money: float
    high_money: float
    currency: str
    valid_until: str
    authorized: bool
    says: str


@dataclass(frozen=True)
class AfterCare:
    """What today's work asks for later: a relearn, a recheck, the next fills. Days and distance as agreed."""

    what: str
    why: str
    within_km: float | None = None
    within_days: int | None = None


@dataclass(frozen=True)
class Proof:
    """What the next fills should show, after how many tanks, and by which rule it will be judged.

    `as_before_l_per_100km` is the use at the same weather had the work done nothing, `fall_pct` how much of it the
    work should take away. Pooled above `again_l_per_100km` the work is looked at again, below `done_l_per_100km` it
    is done. None where nothing is promised.
    """

    expected_l_per_100km: Spread | None
    tanks_needed: int | None
    rule: str
    as_before_l_per_100km: Spread | None = None
    fall_pct: Spread | None = None
    again_l_per_100km: float | None = None
    done_l_per_100km: float | None = None


@dataclass(frozen=True)
class Account:
    """The whole job on one record.

    The sums over circumstances and over faults are taken draw by draw, like those in `kinds`. `drive` is what the
    recorded drive shows, where the case has one; `numbers` says where the chances come from: "from expert judgement"
    or "from 41 visits here".
    """

    case: str
    currency: str
    seed: int
    draws: int
    stop: Stop | None
    loss: Loss
    entries: tuple[Entry, ...]
    kinds: tuple[KindTotal, ...]
    not_accounted_for_l_per_100km: Spread
    checks: tuple[CheckWorth, ...]
    findings: tuple[FindingRow, ...]
    corrections: tuple[Correction, ...]
    plan: Plan
    proof: Proof
    not_enough: tuple[NotEnough, ...]
    sentence: str = ""
    circumstances_l_per_100km: Spread | None = None
    faults_l_per_100km: Spread | None = None
    after_care: tuple[AfterCare, ...] = ()
    estimate: Estimate | None = None
    drive: DriveTold | None = None
    numbers: str = ""
