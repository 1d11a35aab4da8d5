"""Tasks of a plan from the catalogue and the case: the booked job, checks worth making, corrections that qualify."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.records import Check, Operation, State
from lostgallon.plan.access import (
    HOT_ARRIVAL,
    ROAD_READY,
    Standing,
    States,
    blocked_by,
    cautions_for,
    close_minutes,
    impossible,
    with_parents,
)
from lostgallon.plan.ways import is_cold_work, way_now
from lostgallon.plan.work import Lead, Task
from lostgallon.shop.account import CheckWorth, LeftOut
from lostgallon.shop.visit import Case

GONE = "can't be made on this visit"
CLOSING_SHARE = 0.5
"""Most of the booked job's remaining minutes that is taken for closing up what it has apart; chosen."""
LONGEST_WAIT_MINUTES = 60.0
MOST_CHECKS = 25
FREE_MONEY, FREE_MINUTES = 5.0, 5.0
"""Up to here a correction is an adjustment or a word of advice: nobody weighs it against fuel; chosen."""
ALWAYS_MONEY = 8.0
"""What asking for open recalls counts for: it comes in whenever two minutes are left; chosen."""
AGAIN_MONEY = 20.0
"""What measuring again after a correction counts for: it is the proof that the work did something; chosen."""
FILLS = "fills_after"
READ_MINUTES = 1.0
"""Hands-on minutes of reading the gauge when a wait is over; from memory."""
SPOILS: Mapping[str, tuple[str, ...]] = {
    "misfire_share": ("mixture",),
    "cold_reading": ("mixture", "converter_slip", "coolant_drop_k", "mechanical_w"),
    "coolant_drop_k": ("converter_slip",),
}
"""What can't be judged before this is restored. A missing cylinder's oxygen reads lean; a wrong or low coolant reading
gates closed loop, lock-up and the fan. Common practice, no source."""


@dataclass(frozen=True)
class Offer:
    """A correction that may go into the plan, with what it is worth net of its price.

    Not `in_bay` are what the booked job does itself, and what is only told or written at hand-over: they take no time.
    `place` is where on the vehicle it was found, `agreed` what the owner's consent stands at, in words.
    """

    operation: Operation
    worth_money: float
    in_bay: bool = True
    place: str = ""
    agreed: str = ""


def closing_scaled(states: States, standing: Standing, minutes_left: float) -> dict[str, float]:
    """Minutes of closing up what the booked job has apart, no more than a share of the minutes it has left.

    What a person calls the minutes left of a job includes its closing up; the catalogue's own minutes are typical.
    """
    minutes = {name: close_minutes(states[name]) for name in sorted(standing.by_booked)}
    most = CLOSING_SHARE * minutes_left
    total = sum(minutes.values())
    scale = min(1.0, most / total) if total else 1.0
    return {name: scale * each for name, each in minutes.items()}


def states_for(states: States, closing: Mapping[str, float]) -> dict[str, State]:
    """The access states with the booked job's own closing minutes in place of the typical ones."""
    minutes = {name: closing.get(name, state.close_minutes) for name, state in states.items()}
    return {name: replace(state, close_minutes=minutes[name]) for name, state in states.items()}


def check_says(check: Check) -> str:
    """How a check is made and when it speaks, in a few words."""
    tools = f"with {', '.join(check.tools).replace('_', ' ')}" if check.tools else ""
    parts = [tools, check.note, f"found if: {check.positive}"]
    return "; ".join(part for part in parts if part)


def check_task(row: CheckWorth, check: Check, *, catalogue: Catalogue, standing: Standing) -> Task:
    """A check as a task, with its evidence's end and the cautions of where it is made."""
    latest = standing.hot_minutes_left if HOT_ARRIVAL in check.needs else None
    if row.perishes is not None and row.perishes.minutes is not None and row.perishes.state in standing.open:
        latest = row.perishes.minutes if latest is None else min(latest, row.perishes.minutes)
    leads = leads_of(row, check, catalogue=catalogue, standing=standing)
    return Task(
        id=check.id,
        what=check.name,
        kind="drive" if ROAD_READY in check.needs else "check",
        hands_minutes=check.minutes,
        wait_minutes=check.wait_minutes,
        after_minutes=READ_MINUTES if check.wait_minutes else 0.0,
        needs=check.needs,
        value_money=row.acts_money + row.explains_money - sum(lead.worth_money for lead in leads),
        leads=leads,
        latest_minutes=latest,
        group=check.looks_at or "",
        asked=check.form == "question",
        of_owner=check.form == "question",
        minutes_range=check.minutes_range,
        says=check_says(check),
        cautions=texts(cautions_for(check.needs, check.cautions, states=catalogue.state), catalogue),
    )


def leads_of(row: CheckWorth, check: Check, *, catalogue: Catalogue, standing: Standing) -> tuple[Lead, ...]:
    """The work that a check may lead to, by its cheapest way as the vehicle stands once the check is made."""
    after = standing_after(check, catalogue.state, standing=standing)
    leads = []
    for lead in row.leads_to:
        operation = catalogue.operation[catalogue.cause[lead.cause].operation]
        way = way_now(operation, catalogue.state, standing=after)
        minutes = 0.0 if operation.at_hand_over else way.minutes
        leads.append(Lead(operation.id, lead.chance, lead.gain_money, minutes, way.needs if minutes else ()))
    return tuple(leads)


def standing_after(check: Check, states: States, *, standing: Standing) -> Standing:
    """How the vehicle stands when a check has just been made: what was in its way closed, what it needs open."""
    closed = set(blocked_by(check.needs, states, standing=standing))
    return replace(standing, open=frozenset((standing.open - closed) | set(with_parents(check.needs, states))))


def texts(cautions: Iterable[str], catalogue: Catalogue) -> tuple[str, ...]:
    """Caution texts by id, each once."""
    return tuple(catalogue.caution[name] for name in dict.fromkeys(cautions))


def correction_task(offer: Offer, *, catalogue: Catalogue, standing: Standing) -> Task:
    """A correction as a task by its cheapest way as the vehicle stands."""
    operation = offer.operation
    way = way_now(operation, catalogue.state, standing=standing)
    return Task(
        id=operation.id,
        what=operation.name,
        kind="correction",
        hands_minutes=way.minutes,
        needs=way.needs,
        value_money=offer.worth_money,
        must=operation.owed,
        after=tuple(operation.confirmed_by),
        acts_on=operation.restores,
        cold=is_cold_work(operation, way, catalogue.state),
        minutes_range=_share_of_range(operation, way.minutes),
        says=work_says(offer, catalogue),
        cautions=texts(cautions_for(way.needs, operation.cautions, states=catalogue.state), catalogue),
    )


def work_says(offer: Offer, catalogue: Catalogue) -> str:
    """Whether the owner agreed, where it is, what to look up first, how it is done, what to measure again."""
    operation = offer.operation
    again = operation.re_measure if operation.re_measure != FILLS else None
    parts = (
        offer.agreed,
        f"at: {offer.place}" if offer.place else "",
        f"look up first: {', '.join(operation.fill_in)}" if operation.fill_in else "",
        operation.text,
        f"then measure again and write both down: {catalogue.check[again].name}" if again else "",
    )
    return "; ".join(part for part in parts if part)


def read_since(operation: Operation, case: Case) -> bool:
    """Whether a correction was measured again after it was done."""
    return any(look.check == operation.re_measure and operation.id in look.after for look in case.findings)


def measured_again(
    operation: Operation, *, catalogue: Catalogue, standing: Standing, worked: bool = False
) -> Task | None:
    """The measurement that shows what the work brought, as a step with its own minutes.

    None for an adjustment, whose measurement is the work itself, and for what can't be read again on this visit. Work
    that was done already (`worked`) does not have to be waited for.
    """
    if operation.re_measure is None or is_adjustment(operation):
        return None
    check = catalogue.check[operation.re_measure]
    if check.wait_minutes or impossible(check.needs, standing=standing):
        return None
    return Task(
        id=f"{check.id} after {operation.id}",
        what=f"Measure again: {check.name}",
        kind="drive" if ROAD_READY in check.needs else "check",
        hands_minutes=check.minutes,
        needs=check.needs,
        value_money=AGAIN_MONEY,
        only_with="" if worked else operation.id,
        after=() if worked else (operation.id,),
        minutes_range=check.minutes_range,
        says="write the figure beside the one from before the work",
        cautions=texts(cautions_for(check.needs, check.cautions, states=catalogue.state), catalogue),
    )


def bulletins_task(catalogue: Catalogue) -> Task:
    """The question what is open for this vehicle at its maker: asked of every vehicle, looked up nowhere here."""
    check = next(check for check in catalogue.checks if check.always)
    return Task(
        id=check.id,
        what=check.name,
        kind="check",
        hands_minutes=check.minutes,
        value_money=ALWAYS_MONEY,
        asked=True,
        minutes_range=check.minutes_range,
        says=check_says(check),
    )


def _share_of_range(operation: Operation, minutes: float) -> tuple[float, float] | None:
    """The range of an operation's own minutes by this way, in proportion to that of the whole job."""
    if operation.minutes_range is None or not minutes:
        return None
    low, high = operation.minutes_range
    return low * minutes / operation.minutes_alone, high * minutes / operation.minutes_alone


def is_adjustment(operation: Operation) -> bool:
    """Whether work is an adjustment or a word of advice, by its own minutes and parts."""
    return operation.minutes_alone <= FREE_MINUTES and operation.parts_money.likely <= FREE_MONEY


def judged_by(check: Check, catalogue: Catalogue) -> frozenset[str]:
    """Conditions that a check reads: its gauge's, and those of the causes it finds."""
    found = {cause for reading in check.readings for cause, _ in reading.finds if cause in catalogue.cause}
    conditions = {catalogue.cause[cause].condition for cause in found} - {None}
    gauge = {check.gauge.condition} if check.gauge else set()
    return frozenset(str(condition) for condition in conditions | gauge)


def spoiled_by(operation: Operation) -> frozenset[str]:
    """Conditions that can't be read before this operation has restored its own."""
    return frozenset(spoiled for restored in operation.restores for spoiled in SPOILS.get(restored, ()))


def in_reading_order(tasks: Iterable[Task], catalogue: Catalogue) -> tuple[Task, ...]:
    """The tasks with "restore the reading first" written into their order."""
    listed = tuple(tasks)
    first = {task.id: spoiled_by(catalogue.operation[task.id]) for task in listed if task.kind == "correction"}

    def earlier(task: Task) -> tuple[str, ...]:
        if task.id in catalogue.check:
            read = judged_by(catalogue.check[task.id], catalogue)
            confirms = {other for other in first if task.id in catalogue.operation[other].confirmed_by}
            return tuple(other for other, spoiled in first.items() if spoiled & read and other not in confirms)
        own = set(task.acts_on)
        return tuple(other for other, spoiled in first.items() if other != task.id and spoiled & own)

    # A measurement made again has its own order: after its correction.
    return tuple(replace(task, after=(*task.after, *earlier(task))) for task in listed)


def checks_for(
    rows: Iterable[CheckWorth], *, catalogue: Catalogue, standing: Standing, money_per_minute: float
) -> tuple[tuple[Task, ...], tuple[LeftOut, ...]]:
    """The checks that may go into a plan, and those that can't, with the reason."""
    tasks: list[Task] = []
    left: list[LeftOut] = []
    for row in rows:
        check = catalogue.check[row.check]
        why = _why_not(check, row, standing=standing, money_per_minute=money_per_minute)
        if why:
            left.append(LeftOut(check.name, why))
        else:
            tasks.append(check_task(row, check, catalogue=catalogue, standing=standing))
    tasks.sort(key=lambda task: -task.worth_money / (task.hands_minutes + task.after_minutes))
    left += [LeftOut(task.what, "others tell more in the same minutes") for task in tasks[MOST_CHECKS:]]
    return tuple(tasks[:MOST_CHECKS]), tuple(left)


def _why_not(check: Check, row: CheckWorth, *, standing: Standing, money_per_minute: float) -> str:
    gone = impossible(check.needs, standing=standing)
    if gone:
        return f"{GONE}: {gone}"
    if check.wait_minutes > LONGEST_WAIT_MINUTES:
        return f"takes {check.wait_minutes / 60:.0f} h of waiting: not in this visit"
    if row.acts_money + row.explains_money <= money_per_minute * check.minutes:
        return "tells less than its minutes are worth"
    return ""
