"""Made-up afternoons for the plan: a booked job, checks, corrections behind faults, and a world with its own time.

The world shares the catalogue's states, checks and operations with the plan and nothing else: its times are gamma (not
lognormal) with a fifth more spread, interruptions are Poisson, faults and readings are drawn by its own numbers.
"""

from dataclasses import dataclass, replace

import numpy as np

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.records import Check, Operation, State
from lostgallon.plan.access import HOT_ARRIVAL, Standing, reach_minutes
from lostgallon.plan.tasks import standing_after
from lostgallon.plan.ways import is_cold_work, minutes_alone, way_now
from lostgallon.plan.work import Lead, Task, Terms

WRONG_PART_MONEY = 60.0
LABOR_PER_MINUTE = 140.0 / 60.0
LIKELY = 0.8
RELEASE_MINUTES = 10.0
PLACES = (
    ("lifted",),
    ("lifted", "wheels_off"),
    ("coolant_drained",),
    ("intake_duct_off",),
    ("coils_off",),
    ("lifted", "exhaust_open"),
    (),
)
FACTORY_ORDER = (
    "air_filter_look",
    "smoke",
    "load_aero_look",
    "tire_pressure",
    "plug_read",
    "coil_boot",
    "knock_timing",
    "rad_hose",
    "warmup_trace",
    "tcc_road",
    "distance_check",
    "wheel_spin",
    "drag_scale",
    "backpressure",
    "compression",
)
"""In the order of factory symptom tables headed poor fuel economy; the rest follows in the catalogue's order."""


@dataclass(frozen=True)
class Fault:
    """A fault that may be there: its correction, the check that shows it, how likely it is, what mending is worth."""

    operation: Operation
    check: Check
    prior: float
    benefit_money: float
    parts_money: float
    there: bool


@dataclass(frozen=True)
class Afternoon:
    """One afternoon. `plain` checks tell nothing of a fault and are worth what they explain."""

    faults: tuple[Fault, ...]
    plain: tuple[Check, ...]
    explains_money: dict[str, float]
    apart: tuple[str, ...]
    booked_minutes: float
    booked_steps: int
    minutes: float
    looking_minutes: float
    hot: bool
    seed: int

    @property
    def checks(self) -> tuple[Check, ...]:
        """All checks on offer, each once."""
        return tuple(dict.fromkeys((*(fault.check for fault in self.faults), *self.plain)))

    def standing(self) -> Standing:
        """How the vehicle stands at the beginning."""
        found = {"power_connected", *self.apart} | ({HOT_ARRIVAL} if self.hot else set())
        return Standing(frozenset(found), frozenset(self.apart), {}, 12.0 if self.hot else None)


def states() -> dict[str, State]:
    """The catalogue's access states."""
    return dict(catalogue().state)


def _worth_planning(operation: Operation) -> bool:
    return bool(operation.confirmed_by) and 3 < operation.minutes_alone <= 120


def afternoon(seed: int, *, faults: int = 12, checks: int = 25, booked_steps: int = 1) -> Afternoon:
    """A made-up afternoon, the same for the same seed."""
    rng = np.random.default_rng([seed, 2026])
    known = catalogue()
    usable = [operation for operation in known.operations if _worth_planning(operation)]
    picked = [usable[index] for index in sorted(rng.choice(len(usable), size=faults, replace=False))]
    made = []
    for operation in picked:
        options = [known.check[name] for name in operation.confirmed_by if _in_the_bay(known.check[name])]
        if not options:
            continue
        prior = float(rng.uniform(0.08, 0.5))
        parts = operation.parts_money.likely
        benefit = float(rng.gamma(1.5, 120.0)) + parts
        check = options[int(rng.integers(len(options)))]
        made.append(Fault(operation, check, prior, benefit, parts, bool(rng.random() < prior)))
    taken = {fault.check.id for fault in made}
    others = [check for check in known.checks if check.id not in taken and _in_the_bay(check)]
    extra = max(0, checks - len(taken))
    plain = [others[index] for index in sorted(rng.choice(len(others), size=min(extra, len(others)), replace=False))]
    apart = PLACES[int(rng.integers(len(PLACES)))]
    booked = float(rng.uniform(30.0, 75.0))
    return Afternoon(
        faults=tuple(made),
        plain=tuple(plain),
        explains_money={check.id: float(rng.gamma(1.2, 6.0)) for check in plain},
        apart=apart,
        booked_minutes=booked,
        booked_steps=booked_steps,
        minutes=booked / 0.75 + RELEASE_MINUTES + float(rng.uniform(45.0, 140.0)),
        looking_minutes=float(rng.choice([15.0, 25.0, 40.0, 60.0])),
        hot=bool(rng.random() < 0.5),
        seed=seed,
    )


def _in_the_bay(check: Check) -> bool:
    # No waits: a list of checks has no way to use them, and the plan should not win by that alone.
    return check.wait_minutes == 0.0 and "intact_cold" not in check.needs and check.form != "derived"


def with_waits(made: Afternoon, *, waits: int) -> Afternoon:
    """The same afternoon with some checks that wait, for measuring the solver."""
    waiting = [check for check in catalogue().checks if 0.0 < check.wait_minutes <= 60.0][:waits]
    explains = made.explains_money | {check.id: 25.0 for check in waiting}
    return replace(made, plain=(*made.plain[: len(made.plain) - len(waiting)], *waiting), explains_money=explains)


DETECTION, FALSE_ALARM = 0.85, 0.03


def posterior(prior: float, *, found: bool) -> float:
    """Probability of a fault after its check."""
    hit = DETECTION if found else 1.0 - DETECTION
    miss = FALSE_ALARM if found else 1.0 - FALSE_ALARM
    return prior * hit / (prior * hit + (1.0 - prior) * miss)


def price(fault: Fault, standing: Standing) -> float:
    """What its correction costs as the vehicle stands."""
    way = way_now(fault.operation, states(), standing=standing)
    minutes = way.minutes + reach_minutes(way.needs, states(), standing=standing)
    return fault.parts_money + LABOR_PER_MINUTE * minutes


def expected(fault: Fault, chance: float, standing: Standing) -> float:
    """Expected net benefit of correcting a fault that is there with some chance."""
    return chance * fault.benefit_money - price(fault, standing) - (1.0 - chance) * WRONG_PART_MONEY


def check_value(fault: Fault, standing: Standing) -> float:
    """Exact worth of the one check of one fault: what acting on a find is expected to bring."""
    positive = fault.prior * DETECTION + (1.0 - fault.prior) * FALSE_ALARM
    after = posterior(fault.prior, found=True)
    return positive * max(expected(fault, after, standing), 0.0) if after >= LIKELY else 0.0


def lead_of(fault: Fault, standing: Standing) -> Lead:
    """The correction that the check of a fault may lead to."""
    way = way_now(fault.operation, states(), standing=standing)
    chance = fault.prior * DETECTION + (1.0 - fault.prior) * FALSE_ALARM
    return Lead(fault.operation.id, chance, check_value(fault, standing), way.minutes, way.needs)


def check_tasks(made: Afternoon, standing: Standing, *, done: frozenset[str] = frozenset()) -> list[Task]:
    """Tasks of the checks not made yet."""
    tasks = []
    for check in made.checks:
        if check.id in done or (HOT_ARRIVAL in check.needs and HOT_ARRIVAL not in standing.open):
            continue
        tasks.append(
            Task(
                id=check.id,
                what=check.name,
                kind="drive" if "road_ready" in check.needs else "check",
                hands_minutes=check.minutes,
                wait_minutes=check.wait_minutes,
                after_minutes=1.0 if check.wait_minutes else 0.0,
                needs=check.needs,
                value_money=made.explains_money.get(check.id, 0.0),
                leads=tuple(
                    lead_of(fault, standing_after(check, states(), standing=standing))
                    for fault in made.faults
                    if fault.check == check
                ),
                latest_minutes=standing.hot_minutes_left if HOT_ARRIVAL in check.needs else None,
                group=check.looks_at or "",
            )
        )
    return tasks


def correction_task(fault: Fault, worth: float, standing: Standing) -> Task:
    """A correction that qualifies."""
    way = way_now(fault.operation, states(), standing=standing)
    return Task(
        id=fault.operation.id,
        what=fault.operation.name,
        kind="correction",
        hands_minutes=way.minutes,
        needs=way.needs,
        value_money=worth,
        acts_on=fault.operation.restores,
        cold=is_cold_work(fault.operation, way, states()),
    )


def booked_tasks(made: Afternoon, *, minutes: float) -> list[Task]:
    """The booked job's remaining steps, one after the other."""
    steps = []
    for step in range(made.booked_steps):
        before = (f"booked {step - 1}",) if step else ()
        name = f"booked {step}"
        steps.append(Task(name, name, "booked", minutes / made.booked_steps, needs=made.apart, must=True, after=before))
    return steps


def opening_terms(made: Afternoon) -> Terms:
    """The terms at the beginning of the afternoon."""
    return Terms(states(), made.standing(), made.minutes, looking_minutes=made.looking_minutes)


def full_bay(seed: int) -> tuple[list[Task], Terms]:
    """Eight booked steps, 25 checks (three of them with waits) and 12 corrections that qualify: the measured size."""
    made = with_waits(afternoon(seed, faults=16, checks=25, booked_steps=8), waits=3)
    standing = made.standing()
    faults = sorted(made.faults, key=lambda fault: minutes_alone(fault.operation, states()))[:12]
    work = [correction_task(fault, max(fault.benefit_money, 5.0), standing) for fault in faults]
    checks = check_tasks(made, standing)[:25]
    return [*booked_tasks(made, minutes=made.booked_minutes), *work, *checks], opening_terms(made)
