"""What can be put into a plan: tasks, the terms they are planned under, and the schedule that comes out."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from lostgallon.plan.access import Standing, States
from lostgallon.shop.account import StepKind

SHARE_OF_NOMINAL = 0.75
"""Plan at three quarters: of an hour in a real shop 45 minutes are work; common practice, no source."""
RELEASE_MINUTES = 10.0
"""The last ten minutes belong to torque, levels, relearn and the drive; common practice, no source."""
COOL_DOWN_MINUTES = 40.0
"""Engine off before a coolant cap or a plug in aluminum; from memory, the service information decides."""
CHECK_CV, CORRECTION_CV, BOOKED_CV, RELEASE_CV = 0.45, 0.60, 0.45, 0.30
"""Coefficient of variation of a task's time about its planned time where the catalogue has no range; chosen."""
Z_ONE_IN_TWENTY = 1.645
LOOKS = frozenset[StepKind]({"check", "drive"})


def cv_of(minutes_range: tuple[float, float] | None) -> float | None:
    """Coefficient of variation of the lognormal time whose 5 % and 95 % points are these minutes; None without any."""
    if minutes_range is None:
        return None
    low, high = minutes_range
    sigma = math.log(high / low) / (2.0 * Z_ONE_IN_TWENTY)
    return math.sqrt(math.expm1(sigma**2))


@dataclass(frozen=True)
class Lead:
    """Work that a look may lead to.

    Attributes:
        id: Operation of the catalogue.
        chance: Probability that the look shows it is needed.
        worth_money: Expected gain of that: the chance times what the work then earns.
        minutes: Nominal hands-on minutes of the work.
        needs: States it needs.
    """

    id: str
    chance: float
    worth_money: float
    minutes: float
    needs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Task:
    """One thing that may be done: a check, a correction, a step of the booked job.

    Attributes:
        id: Catalogue id, or a name of the booked step.
        what: The step in one line.
        kind: As in a plan step.
        hands_minutes: Nominal hands-on minutes, before a wait where there is one.
        wait_minutes: Minutes that pass by themselves; other work may be done meanwhile.
        after_minutes: Nominal hands-on minutes that end the wait (reading a gauge).
        needs: States it needs, modes and conditions.
        value_money: What it is worth by itself, net of its own parts and labor.
        leads: Work that a look may lead to; its worth counts only while there is room for it.
        must: Part of the booked job, or what a vehicle is not handed back without.
        only_with: In the plan only where this one is (a measurement made again after its correction).
        asked: A question, to a dealer or (`of_owner`) to the owner: no part of the looking limit.
        after: Tasks that come first whenever both are in the plan.
        latest_minutes: Its evidence is gone after this many minutes from now.
        group: Checks of one group look at the same thing; the second tells less.
        acts_on: Readings that it changes; two corrections of one reading are not done together.
        cold: Must not be begun on a hot engine.
        minutes_range: Hands-on minutes that one in twenty stays under, and that one in twenty exceeds; None where the
            catalogue has none.
        says: How it is done and how long it takes.
        cautions: Caution texts that stand before the step.
    """

    id: str
    what: str
    kind: StepKind
    hands_minutes: float
    wait_minutes: float = 0.0
    after_minutes: float = 0.0
    needs: tuple[str, ...] = ()
    value_money: float = 0.0
    leads: tuple[Lead, ...] = ()
    must: bool = False
    only_with: str = ""
    asked: bool = False
    of_owner: bool = False
    after: tuple[str, ...] = ()
    latest_minutes: float | None = None
    group: str = ""
    acts_on: tuple[str, ...] = ()
    cold: bool = False
    minutes_range: tuple[float, float] | None = None
    says: str = ""
    cautions: tuple[str, ...] = ()

    @property
    def is_look(self) -> bool:
        """Whether its minutes count toward what the owner agreed to spend on looking."""
        return self.kind in LOOKS and not self.asked and not self.only_with and not self.must

    @property
    def worth_money(self) -> float:
        """What it is worth with all that it may lead to."""
        return self.value_money + sum(lead.worth_money for lead in self.leads)


@dataclass(frozen=True)
class Terms:
    """Under which terms a plan is made.

    Attributes:
        states: Access states of the catalogue.
        standing: How the vehicle stands now.
        minutes: Clock minutes from now to the promised time; None where nobody knows.
        hands: Pairs of hands on this vehicle, 1 or 2.
        looking_minutes: Nominal minutes the owner agreed to for looking.
        money_per_minute: What a minute of the bay is worth when nothing is sold in it (chosen; breaks ties).
        together: The owner agrees that the shares of two corrections of one reading stay unknown.
    """

    states: States
    standing: Standing
    minutes: float | None
    hands: int = 1
    looking_minutes: float = 15.0
    money_per_minute: float = 0.15
    together: bool = False


@dataclass(frozen=True)
class Piece:
    """A stretch of hands-on work in the schedule, in planned clock minutes from now.

    `waits_for` is the index of the piece whose wait this one ends, `wait_minutes` that wait. `cv` is the spread of
    its time.
    """

    owner: str
    what: str
    kind: StepKind
    start_minutes: float
    end_minutes: float
    cv: float
    waits_for: int | None = None
    wait_minutes: float = 0.0

    @property
    def minutes(self) -> float:
        """Planned clock minutes."""
        return self.end_minutes - self.start_minutes


@dataclass(frozen=True)
class Schedule:
    """What is done and when, in the order of the work.

    Attributes:
        pieces: Hands-on stretches by start.
        chosen: Ids of the tasks in the plan.
        end_minutes: Planned clock minutes from now to the release.
        value_money: Worth of the chosen tasks, less the bay's minutes.
        proven: No better plan exists under these terms.
        gap: Largest share by which a better plan could exceed this one.
        values: The solver's own numbers by name, to start the next plan from.
        wall_s: Seconds the solver took.
    """

    pieces: tuple[Piece, ...]
    chosen: frozenset[str]
    end_minutes: float
    value_money: float
    proven: bool
    gap: float
    values: Mapping[str, int] = field(default_factory=dict)
    wall_s: float = 0.0
