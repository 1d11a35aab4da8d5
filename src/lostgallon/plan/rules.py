"""The rules a plan keeps: what blocks what, cold before hot, order, evidence that vanishes, looking limit, hands.

Each function adds one rule to the model. The redundant cut of `one_thing_at_a_time`, "all chosen hands-on minutes end
before the release starts", is what makes the proof quick: without it the solver sees the minutes only through the
ordering and can't bound them.
"""

import math
from collections.abc import Mapping
from itertools import pairwise

from lostgallon.plan.access import (
    CONDITIONS,
    ENGINE_RUNS,
    INTACT_COLD,
    POWER,
    RUNNING,
    blocked_by,
    close_minutes,
    open_minutes,
    with_parents,
)
from lostgallon.plan.draft import UNITS_PER_MINUTE, Draft, Placed, planned_units, where
from lostgallon.plan.solver import Interval, Variable
from lostgallon.plan.work import COOL_DOWN_MINUTES, Lead

MILLS = 1000
"""Money in the model is in thousandths."""
SECOND_LOOK_SHARE = 0.5
"""What a second look at the same thing is worth of its own value; chosen."""


def keep_outside_of_what_blocks(draft: Draft) -> None:
    """Running and road tests lie outside of every mode that blocks them; what power holds goes before battery off."""
    for mode in draft.modes.values():
        blocks = set(draft.terms.states[mode.id].blocks)
        quick: list[Interval] = []
        for placed in draft.placed.values():
            hit = blocks & set(placed.task.needs) & CONDITIONS
            if not hit or mode.id in with_parents(placed.task.needs, draft.terms.states):
                continue
            if POWER in hit and mode.opening is not None:
                draft.in_order(placed.last, mode.opening)
            elif mode.opening is None:
                draft.in_order(mode.closing, placed.first)
            elif placed.last is placed.first:
                quick.append(placed.span)
            else:
                draft.model.apart([placed.span, mode.span])
        if quick and draft.terms.hands == 1:
            # One pair of hands makes them one after the other anyway; together they bound better.
            draft.model.apart([*quick, mode.span])
        for span in quick if draft.terms.hands > 1 else []:
            draft.model.apart([span, mode.span])


def keep_the_engine_whole_where_closing_runs_it(draft: Draft) -> None:
    """What keeps the engine from running is closed before a mode whose closing runs it (bleeding the coolant)."""
    for mode in draft.modes.values():
        if not draft.terms.states[mode.id].closing_runs:
            continue
        for other in draft.modes.values():
            if other is mode or ENGINE_RUNS not in draft.terms.states[other.id].blocks:
                continue
            if other.opening is None:
                draft.in_order(other.closing, mode.closing)
            else:
                draft.model.apart([other.span, mode.closing.interval])


def keep_the_order_of_closing(draft: Draft) -> None:
    """What is reached from below is closed before the vehicle is let down, and opened after it was raised."""
    for mode in draft.modes.values():
        for name in draft.terms.states[mode.id].closes_before:
            other = draft.modes.get(name)
            if other is None:
                continue
            draft.in_order(mode.closing, other.closing)
            if mode.opening is not None and other.opening is not None:
                draft.in_order(other.opening, mode.opening)


def keep_cold_before_hot(draft: Draft) -> None:
    """Cold-soak readings come before any start of the engine; cold work before it or after a cool-down."""
    running = [placed for placed in draft.placed.values() if set(placed.task.needs) & RUNNING]
    cool = math.ceil(COOL_DOWN_MINUTES * UNITS_PER_MINUTE)
    hot = draft.terms.standing.hot_minutes_left is not None
    for placed in draft.placed.values():
        if INTACT_COLD in placed.task.needs:
            for other in running:
                draft.in_order(placed.last, other.first)
        if not placed.task.cold:
            continue
        if hot:
            draft.model.between({placed.first.start: 1}, low=cool, only_if=where(placed.present))
        for other in running:
            if other is placed:
                continue
            end = draft.when(f"{other.task.id} cooled for {placed.task.id}")
            draft.model.between({end: 1, other.last.start: -1}, low=other.last.size + cool)
            warm = draft.model.interval(other.first.start, size=None, end=end, present=other.present)
            draft.model.apart([placed.span, warm])


def keep_order_and_evidence(draft: Draft) -> None:
    """What comes first comes first; what vanishes is looked at before it is gone."""
    for placed in draft.placed.values():
        for earlier in placed.task.after:
            if earlier in draft.placed:
                draft.in_order(draft.placed[earlier].last, placed.first)
        if placed.task.latest_minutes is not None:
            latest = math.floor(placed.task.latest_minutes * UNITS_PER_MINUTE) - placed.last.size
            draft.model.between({placed.last.start: 1}, high=latest, only_if=where(placed.present))


def keep_one_per_reading(draft: Draft) -> None:
    """Two corrections of one reading are not done together, unless the owner agrees that the shares stay unknown."""
    if draft.terms.together:
        return
    readings: dict[str, list[Variable]] = {}
    for placed in draft.placed.values():
        for reading in placed.task.acts_on if placed.present is not None else ():
            readings.setdefault(reading, []).extend(where(placed.present))
    for choices in readings.values():
        if len(choices) > 1:
            draft.model.between(dict.fromkeys(choices, 1), high=1)


def keep_to_the_looking_limit(draft: Draft) -> None:
    """Minutes of checks, and of opening what only they need, stay within what the owner agreed to."""
    minutes: dict[Variable, int] = {}
    for placed in draft.placed.values():
        if placed.task.is_look and placed.present is not None:
            nominal = placed.task.hands_minutes + placed.task.after_minutes
            minutes[placed.present] = math.ceil(nominal * UNITS_PER_MINUTE)
    needed_by_work = {
        name
        for placed in draft.placed.values()
        if not placed.task.is_look
        for name in with_parents(placed.task.needs, draft.terms.states)
    }
    for mode in draft.modes.values():
        if mode.opening is not None and mode.opening.present is not None and mode.id not in needed_by_work:
            state = draft.terms.states[mode.id]
            reach = open_minutes(state) + close_minutes(state)
            minutes[mode.opening.present] = math.ceil(reach * UNITS_PER_MINUTE)
    if minutes:
        draft.model.between(minutes, high=math.floor(draft.terms.looking_minutes * UNITS_PER_MINUTE))


def keep_plain_looks_in_order(draft: Draft, worth: Mapping[str, int]) -> None:
    """Looks that need nothing, wait for nothing and are bound to no order stand by their worth per minute.

    Among themselves no order has a smaller sum of worth times start (Smith, 1956, Naval Research Logistics Quarterly
    3), and left free their many equal orders are what the solver can't see through.

    Args:
        draft: The model.
        worth: How much an earlier start counts, by task.
    """
    ordered = {name for placed in draft.placed.values() for name in (*placed.task.after, placed.task.only_with)}
    plain = [draft.placed[name] for name in worth if name not in ordered and _is_plain(draft.placed[name])]
    plain.sort(key=lambda placed: -worth[placed.task.id] / placed.first.size)
    for one, next_one in pairwise(plain):
        draft.in_order(one.first, next_one.first)


def _is_plain(placed: Placed) -> bool:
    task = placed.task
    bound = task.needs or task.wait_minutes or task.after or task.only_with or task.cold or task.kind == "booked"
    return not bound and task.latest_minutes is None and placed.first.size > 0


def count_leads_that_still_fit(draft: Draft) -> None:
    """What a look may lead to counts only where the work itself would still end before the promise.

    The work is no part of the plan yet: it is done where the look asks for it, in place of what comes after.
    """
    for placed in draft.placed.values():
        for lead in placed.task.leads:
            if _with_lead_units(draft, placed, lead) > draft.promise:
                continue
            counts = draft.choice(_lead_name(placed, lead))
            if placed.present is not None:
                draft.model.between({placed.present: 1, counts: -1}, low=0)
            _keep_room(draft, placed, lead, only_if=(counts,))
            draft.model.maximize({counts: round(lead.worth_money * MILLS)})
            if placed.task.group:
                _second_lead(draft, placed, lead, counts)


def keep_leads(draft: Draft, values: Mapping[str, int]) -> None:
    """Room is kept for every lead that counted in an earlier solution."""
    for placed in draft.placed.values():
        for lead in placed.task.leads:
            if values.get(_lead_name(placed, lead)):
                _keep_room(draft, placed, lead, only_if=())


def _lead_name(placed: Placed, lead: Lead) -> str:
    return f"{placed.task.id} leads to {lead.id}"


def _keep_room(draft: Draft, placed: Placed, lead: Lead, *, only_if: tuple[Variable, ...]) -> None:
    latest = draft.promise - placed.last.size - _lead_units(draft, placed, lead)
    draft.model.between({placed.last.start: 1}, high=latest, only_if=only_if)


def _second_lead(draft: Draft, placed: Placed, lead: Lead, counts: Variable) -> None:
    """Of looks at one thing only the best one's leads count in full."""
    best = draft.names.get(f"{placed.task.id} leads {placed.task.group}")
    if best is not None:
        second = draft.choice(f"{_lead_name(placed, lead)} second")
        draft.model.between({second: 1, counts: -1, best: 1}, low=0)
        draft.model.maximize({second: -round(lead.worth_money * MILLS * (1.0 - SECOND_LOOK_SHARE))})


def _lead_units(draft: Draft, placed: Placed, lead: Lead) -> int:
    """Half-minutes from the look's end until the work it leads to is done and what it needs open is closed."""
    states, standing = draft.terms.states, draft.terms.standing
    stays_open = standing.open - set(blocked_by(placed.task.needs, states, standing=standing))
    stays_open |= set(with_parents(placed.task.needs, states))
    modes = with_parents(lead.needs, states)
    opened = sum(planned_units(open_minutes(states[name])) for name in modes if name not in stays_open)
    return planned_units(lead.minutes) + opened + sum(planned_units(close_minutes(states[name])) for name in modes)


def _with_lead_units(draft: Draft, placed: Placed, lead: Lead) -> int:
    """Half-minutes of the least afternoon that holds what must be done, the look, and the work it leads to."""
    states, standing = draft.terms.states, draft.terms.standing
    must = sum(stretch.size for stretch, _ in draft.stretches if stretch.present is None)
    shut = set(blocked_by(placed.task.needs, states, standing=standing)) & set(with_parents(lead.needs, states))
    wanted = set(with_parents((*placed.task.needs, *lead.needs), states)) - standing.open
    reach = sum(
        planned_units(open_minutes(states[name])) + planned_units(close_minutes(states[name])) for name in wanted | shut
    )
    return must + placed.first.size + planned_units(lead.minutes) + reach


def one_thing_at_a_time(draft: Draft) -> Variable:
    """One thing at a time for each pair of hands; everything before the release. Returns when the release starts."""
    release = draft.when("release starts")
    hands = draft.terms.hands
    if hands == 1:
        draft.model.apart(stretch.interval for stretch, _ in draft.stretches)
    else:
        draft.model.at_most(hands, ((stretch.interval, load) for stretch, load in draft.stretches))
    sizes: dict[Variable, int] = {release: -hands}
    fixed = 0
    for stretch, load in draft.stretches:
        draft.model.between({release: 1, stretch.start: -1}, low=stretch.size, only_if=where(stretch.present))
        if stretch.present is None:
            fixed += load * stretch.size
        else:
            sizes[stretch.present] = sizes.get(stretch.present, 0) + load * stretch.size
    draft.model.between(sizes, high=-fixed)
    return release


def maximize_worth(draft: Draft, release: Variable) -> None:
    """Maximize the worth of the chosen tasks less the price of the bay until the release."""
    groups: dict[str, list[Placed]] = {}
    for placed in draft.placed.values():
        if placed.present is None:
            continue
        worth = round(placed.task.value_money * MILLS)
        if placed.task.group:
            groups.setdefault(placed.task.group, []).append(placed)
        draft.model.maximize({placed.present: worth})
    for name, members in groups.items():
        _second_look(draft, name, members)
    per_unit = round(draft.terms.money_per_minute * MILLS / UNITS_PER_MINUTE)
    draft.model.maximize({release: -per_unit})


def _second_look(draft: Draft, name: str, members: list[Placed]) -> None:
    """Of checks that look at one thing only the best counts in full."""
    if len(members) < 2:
        return
    leads: dict[Variable, int] = {}
    for placed in members:
        lost = round(placed.task.value_money * MILLS * (1.0 - SECOND_LOOK_SHARE))
        lead = draft.choice(f"{placed.task.id} leads {name}")
        leads[lead] = 1
        if placed.present is not None:
            draft.model.between({placed.present: 1, lead: -1}, low=0)
            draft.model.maximize({placed.present: -lost, lead: lost})
    draft.model.between(leads, high=1)
