"""From what may be done to the plan record: clock, buffer, half an hour more, what is left out and why."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.worth import looking_minutes_left
from lostgallon.plan.access import Standing, reach_minutes
from lostgallon.plan.booked import booked_tasks
from lostgallon.plan.hand_over import stands_in_words
from lostgallon.plan.ready import Ready, chance_within, done_minutes, with_buffer
from lostgallon.plan.schedule import booked_first, schedule
from lostgallon.plan.steps import Telling, clock, steps_of
from lostgallon.plan.tasks import (
    GONE,
    Offer,
    bulletins_task,
    checks_for,
    closing_scaled,
    correction_task,
    in_reading_order,
    measured_again,
    read_since,
    states_for,
)
from lostgallon.plan.work import Schedule, Task, Terms
from lostgallon.shop.account import CheckWorth, LeftOut, Plan
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.trouble import OutOfRange
from lostgallon.shop.visit import Case

COURTESY_MINUTES = 15.0
"""Looking that a shop gives away with another job; common practice, no source."""
HALF_HOUR_MINUTES = 30.0
MOST_LEFT_OUT = 5
MOST_ADDED = 3
FAIR_CHANCE = 0.8
"""Below this chance the promise itself is spoken about; chosen."""
TOGETHER = "both at once only if the owner agrees that the shares stay unknown; acts on the same reading as"


@dataclass(frozen=True)
class Planned:
    """The plan with what it holds and what it could not say."""

    plan: Plan
    chosen: frozenset[str]
    opened: tuple[str, ...]
    not_enough: tuple[NotEnough, ...]


def clock_minutes(case: Case) -> tuple[float | None, tuple[NotEnough, ...]]:
    """Clock minutes until the promise, or what is missing for it."""
    missing = {
        "promised_time": ("when the vehicle was promised", "[visit] promised", case.visit.promised is None),
        "present_time": ("what time it is now", "[visit] now", case.visit.now is None),
        "booked_minutes_left": (
            "how long the booked job still takes",
            "[booked] minutes_left",
            case.booked.minutes_left is None,
        ),
    }
    lacking = tuple(NotEnough(name, what, take) for name, (what, take, absent) in missing.items() if absent)
    if lacking or case.visit.promised is None or case.visit.now is None:
        return None, lacking
    return (case.visit.promised - case.visit.now) / timedelta(minutes=1), ()


def looking_minutes(case: Case, catalogue: Catalogue) -> tuple[float, tuple[NotEnough, ...]]:
    """Minutes left of what the owner agreed to for looking; what a shop gives away where nothing was agreed."""
    left = looking_minutes_left(case, catalogue)
    if left is not None:
        return left, ()
    missing = "what the owner agreed to spend on looking; planned is what a shop gives away"
    return COURTESY_MINUTES, (NotEnough("looking_limit", missing, "[booked] looking, asked at write-up"),)


def plan_visit(
    case: Case,
    offers: Iterable[Offer],
    checks: Iterable[CheckWorth],
    *,
    catalogue: Catalogue,
    standing: Standing,
    rng: np.random.Generator,
) -> Planned:
    """The plan of one visit from the present moment.

    Args:
        case: The case.
        offers: Corrections that qualify, with those that take no time in the bay.
        checks: What checks are worth now.
        catalogue: The catalogue.
        standing: How the vehicle stands.
        rng: Random generator for the chance of being ready.
    """
    minutes, unclear = clock_minutes(case)
    looking, unasked = looking_minutes(case, catalogue)
    closing = closing_scaled(catalogue.state, standing, case.booked.minutes_left or 0.0)
    terms = Terms(
        states=states_for(catalogue.state, closing),
        standing=standing,
        minutes=minutes,
        hands=case.shop.hands,
        looking_minutes=looking,
        together=case.booked.together,
    )
    looks, hopeless = checks_for(
        checks, catalogue=catalogue, standing=standing, money_per_minute=terms.money_per_minute
    )
    listed = tuple(offers)
    in_bay = [offer for offer in listed if offer.in_bay]
    corrections = tuple(correction_task(offer, catalogue=catalogue, standing=standing) for offer in in_bay)
    again = [measured_again(offer.operation, catalogue=catalogue, standing=standing) for offer in in_bay]
    again += [
        measured_again(work, catalogue=catalogue, standing=standing, worked=True)
        for work in (catalogue.operation[done.operation] for done in case.work_done)
        if not read_since(work, case)
    ]
    booked = booked_tasks(case, catalogue, standing=standing, closing=closing)
    tasks = in_reading_order(
        (*booked, *corrections, *(task for task in again if task), *_to_ask(case, catalogue), *looks), catalogue
    )
    ready = _ready(tasks, terms, rng=rng)
    telling = Telling(
        tasks={task.id: task for task in tasks},
        catalogue=catalogue,
        corrected=tuple(catalogue.operation[task.id] for task in corrections if _in(task, ready)),
        anyway=tuple(offer.operation for offer in listed if not offer.in_bay),
        now=case.visit.now if minutes is not None else None,
    )
    more_money, more = _half_hour(tasks, terms, ready)
    left = _left_out(tasks, ready, hopeless, terms=terms)
    plan = Plan(
        steps=steps_of(ready.schedule, telling),
        done_by=clock(telling.now, ready.schedule.end_minutes) or None,
        chance_on_time=ready.chance,
        left_out=left,
        next_half_hour_money=more_money,
        next_half_hour_adds=more,
        likely_done=_likely(ready, telling),
        says=_promise_at_risk(ready, terms, owed=any(task.must for task in corrections)),
        stands=stands_in_words(case, standing, catalogue),
    )
    opened = tuple(piece.owner for piece in ready.schedule.pieces if piece.kind == "open")
    return Planned(plan, ready.schedule.chosen, opened, (*unclear, *unasked))


def _to_ask(case: Case, catalogue: Catalogue) -> list[Task]:
    """What costs a question and no looking, unless it has been asked."""
    asked = {finding.check for finding in case.findings}
    return [task for task in (bulletins_task(catalogue),) if task.id not in asked]


def _in(task: Task, ready: Ready) -> bool:
    return task.id in ready.schedule.chosen


def _ready(tasks: tuple[Task, ...], terms: Terms, *, rng: np.random.Generator) -> Ready:
    """The best plan with its chance; the booked job alone where nothing else fits; no chance without a clock."""
    if terms.minutes is not None:
        known: dict[str, int] = {}

        def solve(minutes: float) -> Schedule | None:
            found = schedule(tasks, replace(terms, minutes=minutes), hint=known)
            known.update(found.values if found else {})
            return found

        alone = schedule([task for task in tasks if task.must], terms)
        ready = with_buffer(solve, terms.minutes, least=alone, rng=rng, hands=terms.hands)
        if ready is not None:
            return _told_again(ready, tasks, terms, rng=rng)
        tasks = tuple(task for task in tasks if task.must)
    free = schedule(tasks, replace(terms, minutes=None))
    if free is None:
        raise OutOfRange("[booked]", found="a job that no order of work fits", expected="states that can be closed")
    return _told_again(Ready(free, np.empty(0), None), tasks, terms, rng=rng)


def _told_again(ready: Ready, tasks: tuple[Task, ...], terms: Terms, *, rng: np.random.Generator) -> Ready:
    """The same plan with the booked job first, and its end simulated in that order."""
    early = booked_first(ready.schedule, tasks, terms)
    done = done_minutes(early.pieces, rng=rng, hands=terms.hands)
    return replace(ready, schedule=early, done_minutes=done, chance=chance_within(done, terms.minutes))


def _half_hour(tasks: tuple[Task, ...], terms: Terms, ready: Ready) -> tuple[float | None, tuple[str, ...]]:
    """What thirty more minutes before the promise would be worth, at the same buffer, and what they would bring in."""
    if terms.minutes is None:
        return None, ()
    minutes = terms.minutes - ready.buffer_minutes + HALF_HOUR_MINUTES
    more = schedule(tasks, replace(terms, minutes=minutes), hint=ready.schedule.values)
    if more is None or more.value_money <= ready.schedule.value_money:
        return 0.0, ()
    added = [task for task in tasks if task.id in more.chosen - ready.schedule.chosen and not task.only_with]
    added.sort(key=lambda task: -task.worth_money)
    return round(more.value_money - ready.schedule.value_money, 2), tuple(task.what for task in added[:MOST_ADDED])


def _likely(ready: Ready, telling: Telling) -> tuple[str, str] | None:
    if telling.now is None:
        return None
    low, high = np.quantile(ready.done_minutes, (0.05, 0.95))
    return clock(telling.now, float(low)), clock(telling.now, float(high))


def _promise_at_risk(ready: Ready, terms: Terms, *, owed: bool) -> str:
    """What the owner has to hear before anything is added; empty where the promise is kept with a fair chance."""
    if terms.minutes is None or ready.chance is None:
        return ""
    alone = "What must be done" if owed else "The booked job alone"
    late = ready.schedule.end_minutes - terms.minutes
    if late > 0.0:
        return f"{alone} runs about {late:.0f} min past the promised time: tell the owner first."
    if ready.chance < FAIR_CHANCE:
        tenths = min(round(10.0 * ready.chance), 9)
        return f"{alone} keeps the promise in about {tenths} of 10 cases: next to nothing is added to it."
    return ""


def _left_out(
    tasks: tuple[Task, ...], ready: Ready, hopeless: tuple[LeftOut, ...], *, terms: Terms
) -> tuple[LeftOut, ...]:
    """Corrections and the best checks that are not in the plan, with why; the other checks counted on one line."""
    out = [task for task in tasks if not _in(task, ready)]
    named = [task for task in out if task.kind == "correction"]
    looks = [task for task in out if task not in named and not task.only_with]
    looks.sort(key=lambda task: -task.worth_money)
    by_id = {task.id: task for task in tasks}
    told = [LeftOut(task.what, _why(task, by_id, ready, terms=terms)) for task in (*named, *looks[:MOST_LEFT_OUT])]
    gone = [left for left in hopeless if left.why.startswith(GONE)]
    rest = len(looks[MOST_LEFT_OUT:]) + len(hopeless) - len(gone)
    if rest:
        told.append(LeftOut(f"{rest} other checks", "tell less in their minutes than what is planned"))
    return (*told, *gone)


def _why(task: Task, tasks: Mapping[str, Task], ready: Ready, *, terms: Terms) -> str:
    chosen = [tasks[name] for name in sorted(ready.schedule.chosen)]
    same = [other.what for other in chosen if set(other.acts_on) & set(task.acts_on)]
    if same and not terms.together:
        return f"{TOGETHER}: {same[0]}"
    hands = task.hands_minutes + task.after_minutes
    if task.is_look:
        looked = sum(each.hands_minutes + each.after_minutes for each in chosen if each.is_look)
        if looked + hands > terms.looking_minutes:
            return f"past the {terms.looking_minutes:.0f} min of looking that were agreed"
    if terms.minutes is None:
        return "not worth its minutes beside the rest"
    needed = hands + reach_minutes(task.needs, terms.states, standing=terms.standing)
    return f"does not fit before the promised time with a fair chance: {needed:.0f} min of hands"
