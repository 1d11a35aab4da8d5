"""Made-up afternoons under three ways of working: python -m tests.hard.plan [--afternoons 300] [--results FILE].

Plan again after every step, against a list in factory order and a list with the cheapest check first. All three follow
one rule of selling (a positive confirming check, 80 %, worth more than its price), one price of access, one looking
limit and one allowance for interruptions. The world keeps its own time (benchmarks/afternoons.py): gamma times with a
fifth more spread than the plan believes, Poisson interruptions, a good or a bad day for everything.

Afternoons 0 to 299 gave the first table, 5000 to 5299 were used while the plan was improved; the table of docs/plan.md
is of those from 20000 on. All ways meet the same faults, readings and minutes; minutes of opening and closing for a
look alone count toward the looking limit, whoever opens.

The lists are helped where a person would help them: a check or correction that can't be made as the vehicle stands
waits until the booked job is closed up; a find is corrected at once where it fits; what is vanishing is taken first.
"""

import json
import math
import sys
import zlib
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from benchmarks.afternoons import (
    FACTORY_ORDER,
    LIKELY,
    RELEASE_MINUTES,
    WRONG_PART_MONEY,
    Afternoon,
    afternoon,
    check_tasks,
    correction_task,
    expected,
    posterior,
    price,
    states,
)

from lostgallon.plan.access import CONDITIONS, HOT_ARRIVAL, Standing, close_minutes, open_minutes, with_parents
from lostgallon.plan.ready import done_minutes, with_buffer
from lostgallon.plan.schedule import booked_first, schedule
from lostgallon.plan.work import CHECK_CV, CORRECTION_CV, SHARE_OF_NOMINAL, Schedule, Task, Terms

FIRST = 20_000
MORE_SPREAD = 1.2
SHOP_SPREAD = 0.15
INTERRUPTION_MINUTES = 4.0
"""Mean length of one interruption; their number is Poisson with the mean that makes three quarters true on average."""
DETECTION, FALSE_ALARM = 0.85, 0.03
STATES = states()


@dataclass
class Bay:
    """An afternoon as it happens: what is open, what is done, what time it is, what it has earned."""

    made: Afternoon
    clock: float = 0.0
    open: set[str] = field(default_factory=set)
    done: set[str] = field(default_factory=set)
    chances: dict[str, float] = field(default_factory=dict)
    mended: set[str] = field(default_factory=set)
    touched: set[str] = field(default_factory=set)
    looked: float = 0.0
    earned: float = 0.0
    foreseen: float = 0.0
    booked_left: float = 0.0
    power: bool = True
    bad_day: float = 1.0
    careful: float = 1.0

    def __post_init__(self):
        self.open = set(self.made.apart)
        self.booked_left = self.made.booked_minutes
        self.chances = {fault.operation.id: fault.prior for fault in self.made.faults}
        shape = 1.0 / SHOP_SPREAD**2
        self.bad_day = float(self.luck("day").gamma(shape, 1.0 / shape))

    def luck(self, name):
        """The luck of one thing by its name: the same whoever does it and whenever."""
        return np.random.default_rng([self.made.seed, 7, zlib.crc32(name.encode())])

    def spend(self, nominal, cv, name):
        """Let the world take its time for some nominal minutes."""
        if nominal <= 0.0:
            return
        rng, shape = self.luck(name), 1.0 / (MORE_SPREAD * cv) ** 2
        hands = nominal * float(rng.gamma(shape, 1.0 / shape)) * self.bad_day
        lost = nominal * self.bad_day * (1.0 / SHARE_OF_NOMINAL - 1.0)
        count = int(rng.poisson(lost / INTERRUPTION_MINUTES))
        self.clock += hands + float(rng.exponential(INTERRUPTION_MINUTES, count).sum())

    def standing(self):
        hot = 12.0 - self.clock if self.made.hot and self.clock < 12.0 else None
        conditions = ({"power_connected"} if self.power else set()) | ({HOT_ARRIVAL} if hot else set())
        lost = {} if self.power else {"power_connected": "the battery was disconnected"}
        own = frozenset(self.made.apart) & self.open if self.booked_left > 0.0 else frozenset()
        return Standing(frozenset(self.open | conditions), own, lost, hot)

    def open_up(self, needs, *, for_looks=False):
        if for_looks:
            self.looked += self.reach(needs)
        for mode in with_parents(needs, STATES):
            if mode not in self.open:
                self.spend(open_minutes(STATES[mode]), CHECK_CV, f"open {mode}")
                self.open.add(mode)
                self.power &= "power_connected" not in STATES[mode].blocks

    def reach(self, needs):
        """Nominal minutes of opening, and of closing again, what is not open."""
        shut = [STATES[mode] for mode in with_parents(needs, STATES) if mode not in self.open]
        return sum(open_minutes(state) + close_minutes(state) for state in shut)

    def close(self, modes):
        for mode in sorted(modes, key=lambda name: -len(with_parents([name], STATES))):
            if mode in self.open:
                self.spend(close_minutes(STATES[mode]), CHECK_CV, f"close {mode}")
                self.open.discard(mode)

    def in_the_way(self, needs):
        wanted = set(needs) & CONDITIONS
        own = set(with_parents(needs, STATES))
        return {mode for mode in self.open - own if set(STATES[mode].blocks) & wanted}

    def make_check(self, task):
        self.open_up(task.needs, for_looks=True)
        gone = (HOT_ARRIVAL in task.needs and self.clock > 12.0) or ("power_connected" in task.needs and not self.power)
        self.spend(task.hands_minutes, CHECK_CV, task.id)
        self.looked += task.hands_minutes
        self.done.add(task.id)
        if gone:
            return
        self.earned += self.made.explains_money.get(task.id, 0.0)
        self.foreseen += self.made.explains_money.get(task.id, 0.0)
        for fault in self.made.faults:
            if fault.check.id == task.id:
                rate = DETECTION if fault.there else FALSE_ALARM
                found = bool(self.luck(f"{task.id} reads {fault.operation.id}").random() < rate)
                self.chances[fault.operation.id] = posterior(fault.prior, found=found)

    def mend(self, fault, task):
        cost = price(fault, self.standing())
        self.foreseen += expected(fault, self.chances[fault.operation.id], self.standing())
        self.open_up(task.needs)
        self.spend(task.hands_minutes, CORRECTION_CV, task.id)
        self.mended.add(fault.operation.id)
        self.touched.update(fault.operation.restores)
        self.earned += (fault.benefit_money if fault.there else -WRONG_PART_MONEY) - cost

    def qualifying(self):
        """Faults that may be corrected by the rule, with what correcting them now is expected to bring."""
        standing = self.standing()
        found = []
        for fault in self.made.faults:
            chance = self.chances[fault.operation.id]
            if fault.operation.id in self.mended or fault.check.id not in self.done or chance < LIKELY:
                continue
            worth = expected(fault, chance, standing)
            if worth > 0.0 and not self.touched & set(fault.operation.restores):
                found.append((fault, worth))
        return found

    def finish(self):
        """The booked job, closing up, the release."""
        self.spend(self.booked_left, CHECK_CV, "booked")
        self.booked_left = 0.0
        self.close(set(self.open))
        self.spend(RELEASE_MINUTES * SHARE_OF_NOMINAL, 0.3, "release")
        return self.clock


def by_list(made: Afternoon, order: Callable[[list[Task]], list[Task]], *, careful: float = 1.0) -> Bay:
    """Work through a list of checks in its order: what can be made before the booked job is closed up, then the rest.

    Nothing is begun that would not end before the promise at planned times; `careful` stretches those.
    """
    bay = Bay(made, careful=careful)
    for closed in (False, True):
        if closed:
            bay.spend(bay.booked_left, CHECK_CV, "booked")
            bay.booked_left = 0.0
            bay.close(set(bay.open))
        for task in order(check_tasks(made, made.standing())):
            if task.id in bay.done or not _list_may(bay, task, closed=closed):
                continue
            bay.make_check(task)
            _correct_what_was_found(bay, closed=closed)
    bay.finish()
    return bay


def _list_may(bay: Bay, task: Task, *, closed: bool) -> bool:
    standing = bay.standing()
    if (HOT_ARRIVAL in task.needs and not standing.hot_minutes_left) or any(n in standing.lost for n in task.needs):
        return False
    if bay.looked + task.hands_minutes + bay.reach(task.needs) > bay.made.looking_minutes:
        return False
    own = set(bay.made.apart) if not closed else set()
    if bay.in_the_way(task.needs) & own:
        return False
    bay.close(bay.in_the_way(task.needs))
    return _fits(bay, task)


def _fits(bay: Bay, task: Task) -> bool:
    opening = [mode for mode in with_parents(task.needs, STATES) if mode not in bay.open]
    owed = [*opening, *bay.open]
    nominal = task.hands_minutes + bay.booked_left
    nominal += sum(open_minutes(STATES[mode]) for mode in opening) + sum(close_minutes(STATES[mode]) for mode in owed)
    needed = nominal / SHARE_OF_NOMINAL + RELEASE_MINUTES
    return bay.clock + bay.careful * needed <= bay.made.minutes


def _correct_what_was_found(bay: Bay, *, closed: bool) -> None:
    for fault, worth in sorted(bay.qualifying(), key=lambda pair: -pair[1]):
        task = correction_task(fault, worth, bay.standing())
        in_the_way = bay.in_the_way(task.needs) & (set() if closed else set(bay.made.apart))
        if not bay.touched & set(fault.operation.restores) and not in_the_way and _fits(bay, task):
            bay.mend(fault, task)


def cheapest_first(tasks: list[Task]) -> list[Task]:
    """The shortest check first; what is vanishing before all."""
    return sorted(tasks, key=lambda task: (HOT_ARRIVAL not in task.needs, task.hands_minutes, task.id))


def factory_order(tasks: list[Task]) -> list[Task]:
    """The order of factory symptom tables; what is vanishing before all."""
    place = {name: index for index, name in enumerate(FACTORY_ORDER)}
    return sorted(tasks, key=lambda task: (HOT_ARRIVAL not in task.needs, place.get(task.id, len(place))))


CAREFUL = 1.3
"""Stretches a list's planned times until it is late about as often as the plan says of itself; found by trying."""
LISTS = {
    "factory order": (factory_order, 1.0),
    "cheapest first": (cheapest_first, 1.0),
    "factory order, as punctual": (factory_order, CAREFUL),
    "cheapest first, as punctual": (cheapest_first, CAREFUL),
}


def terms_of(bay: Bay) -> Terms:
    """The plan's terms at this moment of the afternoon."""
    return Terms(
        STATES,
        bay.standing(),
        max(bay.made.minutes - bay.clock, 0.0),
        looking_minutes=max(bay.made.looking_minutes - bay.looked, 0.0),
    )


def tasks_of(bay: Bay) -> list[Task]:
    """What may still be done."""
    left = []
    if bay.booked_left > 0.0:
        left.append(Task("booked", "booked", "booked", bay.booked_left, needs=bay.made.apart, must=True))
    work = [correction_task(fault, worth, bay.standing()) for fault, worth in bay.qualifying()]
    looks = [task for task in check_tasks(bay.made, bay.standing(), done=frozenset(bay.done)) if task.worth_money > 0.0]
    lost = bay.standing().lost
    return [*left, *work, *(task for task in looks if not any(need in lost for need in task.needs))]


def planned(bay: Bay, rng: np.random.Generator) -> tuple[Schedule, float]:
    """The plan from here with its chance, made as plan/planning.py makes it."""
    terms, tasks = terms_of(bay), tasks_of(bay)
    must = [task for task in tasks if task.must]
    ready = with_buffer(
        lambda minutes: schedule(tasks, replace(terms, minutes=minutes)),
        terms.minutes,
        least=schedule(must, terms),
        rng=rng,
    )
    if ready is not None:
        return booked_first(ready.schedule, tasks, terms), ready.chance
    alone = schedule(must, replace(terms, minutes=None))
    done = done_minutes(alone.pieces, rng=rng)
    return alone, float(np.mean(done <= terms.minutes))


def by_plan(made: Afternoon) -> tuple[Bay, float]:
    """Make the plan's first step, look at what it brought, plan again. Returns the bay and the chance said at first."""
    bay = Bay(made)
    own = np.random.default_rng([made.seed, 99])
    said = None
    while True:
        found, chance = planned(bay, own)
        said = chance if said is None else said
        step = found.pieces[0]
        if step.kind == "release":
            bay.finish()
            return bay, said
        if step.kind == "booked":
            bay.spend(bay.booked_left, CHECK_CV, "booked")
            bay.booked_left = 0.0
        elif step.kind == "open":
            bay.open_up([step.owner], for_looks=not _work_needs(step.owner, found, made, bay))
        elif step.kind == "close":
            bay.close({step.owner})
        elif step.kind == "correction":
            fault = next(fault for fault in made.faults if fault.operation.id == step.owner)
            bay.mend(fault, correction_task(fault, 0.0, bay.standing()))
        else:
            bay.make_check(next(task for task in check_tasks(made, made.standing()) if task.id == step.owner))


def _work_needs(mode: str, found: Schedule, made: Afternoon, bay: Bay) -> bool:
    """Whether the booked job or a planned correction needs a mode that the plan opens."""
    works = [correction_task(fault, 0.0, bay.standing()) for fault in made.faults if fault.operation.id in found.chosen]
    return any(mode in with_parents(work.needs, STATES) for work in works)


def one(seed: int) -> dict[str, object]:
    """One afternoon worked in every way, as a row: by way what it earned, what was to be expected, how late it was."""
    made = afternoon(seed)
    bay, chance = by_plan(made)
    bays = {"plan": bay}
    for name, (order, careful) in LISTS.items():
        bays[name] = by_list(made, order, careful=careful)
    ways = {
        name: {"earned": each.earned, "foreseen": each.foreseen, "late": each.clock > made.minutes}
        for name, each in bays.items()
    }
    return {"seed": seed, "said": chance, "ways": ways}


def compare(afternoons: int, *, first: int = 0, results: Path | None = None) -> dict[str, object]:
    """All ways on the same afternoons: the same faults, readings and minutes whoever meets them.

    Args:
        afternoons: How many.
        first: The first afternoon's number; those below FIRST were used while the plan was improved.
        results: Rows are added to this file one by one, and those that stand in it are not worked again.
    """
    rows = {}
    if results is not None and results.exists():
        rows = {row["seed"]: row for row in map(json.loads, results.read_text("utf-8").splitlines())}
    for seed in range(first, first + afternoons):
        if seed not in rows:
            rows[seed] = one(seed)
            if results is not None:
                with results.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(rows[seed]) + "\n")
    return summary([rows[seed] for seed in range(first, first + afternoons)])


def summary(rows: list[dict]) -> dict[str, object]:
    """Means with paired 95 % intervals; how often late against how often said.

    `earned` is what came of it; `foreseen` puts in place of each correction's luck what was to be expected of it when
    it was done, which has the same mean and less scatter.
    """
    ways = {name: [row["ways"][name] for row in rows] for name in rows[0]["ways"]}
    table = {}
    for name, own in ways.items():
        table[name] = {"late_pct": round(100.0 * float(np.mean([each["late"] for each in own])), 1)}
        for kind in ("earned", "foreseen"):
            plan, other = (np.array([each[kind] for each in column]) for column in (ways["plan"], own))
            gain, mean = plan - other, float(np.mean(other))
            table[name] |= {
                f"{kind}_mean": round(mean, 2),
                f"{kind}_gain_pct": round(100.0 * float(np.mean(gain)) / mean, 1),
                f"{kind}_gain_pct_half_width": round(196.0 * float(np.std(gain)) / math.sqrt(len(rows)) / mean, 1),
            }
    return {
        "afternoons": len(rows),
        "ways": table,
        "late_said_pct": round(100.0 * (1.0 - float(np.mean([row["said"] for row in rows]))), 1),
        "late_was_pct": table["plan"]["late_pct"],
    }


def _told(name: str, otherwise: str) -> str:
    return sys.argv[sys.argv.index(name) + 1] if name in sys.argv else otherwise


if __name__ == "__main__":
    file = _told("--results", "")
    measured = compare(
        int(_told("--afternoons", "300")),
        first=int(_told("--first", str(FIRST))),
        results=Path(file) if file else None,
    )
    sys.stdout.write(json.dumps(measured, indent=2) + "\n")
