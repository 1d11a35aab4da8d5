"""The plan by constraint programming: which tasks, in which order, before the promised time.

One pair of hands does one thing at a time; waits pass beside other work. Maximized is the worth of what is chosen less
a small price of the bay's minutes. The rules are in rules.py, the model's parts in draft.py.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace

from lostgallon.plan import rules
from lostgallon.plan.draft import (
    UNITS_PER_MINUTE,
    Draft,
    Mode,
    Placed,
    Stretch,
    open_what_is_needed,
    place,
    planned_units,
)
from lostgallon.plan.solver import Variable
from lostgallon.plan.work import (
    BOOKED_CV,
    CHECK_CV,
    CORRECTION_CV,
    RELEASE_CV,
    RELEASE_MINUTES,
    Piece,
    Schedule,
    Task,
    Terms,
    cv_of,
)
from lostgallon.shop.account import StepKind

LONGEST_MINUTES = 600.0
"""Where nobody knows the promised time: room for everything beside the booked job."""
EFFORT = 1.0
ORDER_EFFORT = 0.3
EARLY = frozenset[StepKind]({"booked", "check", "drive"})
BOOKED_EARLY, OWNER_EARLY = 2000, 500
"""How much a planned minute of the booked job, and of a question to the owner, counts for being earlier once the plan
is chosen; a look counts by its worth. The first so much that the booked job goes first; the second so that the owner
is called once. Chosen."""
CV_OF_KIND: Mapping[StepKind, float] = {"check": CHECK_CV, "drive": CHECK_CV, "correction": CORRECTION_CV}


def _latest(minutes: float) -> int:
    return max(0, math.floor((minutes - RELEASE_MINUTES) * UNITS_PER_MINUTE))


def _write(tasks: Iterable[Task], terms: Terms, *, end_minutes: float | None = None) -> tuple[Draft, Variable]:
    tasks = tuple(tasks)
    booked = sum(planned_units(task.hands_minutes) for task in tasks if task.must) / UNITS_PER_MINUTE
    longest = terms.minutes if terms.minutes is not None else LONGEST_MINUTES + booked
    draft = Draft(terms, _latest(longest if end_minutes is None else end_minutes), _latest(longest))
    for task in tasks:
        place(draft, task)
    open_what_is_needed(draft)
    rules.keep_outside_of_what_blocks(draft)
    rules.keep_the_engine_whole_where_closing_runs_it(draft)
    rules.keep_the_order_of_closing(draft)
    rules.keep_cold_before_hot(draft)
    rules.keep_order_and_evidence(draft)
    rules.keep_one_per_reading(draft)
    rules.keep_to_the_looking_limit(draft)
    release = rules.one_thing_at_a_time(draft)
    return draft, release


def schedule(
    tasks: Iterable[Task],
    terms: Terms,
    *,
    hint: Mapping[str, int] | None = None,
    effort: float = EFFORT,
    first_only: bool = False,
) -> Schedule | None:
    """The best plan of these tasks under these terms, or None where the booked job alone doesn't fit.

    Args:
        tasks: What may be done. Order does not matter for the worth, but the same order gives the same plan.
        terms: Clock, hands, states, looking limit.
        hint: Values of an earlier schedule, by name, to start from.
        effort: Deterministic work allowed.
        first_only: Stop at the first usable plan.
    """
    draft, release = _write(tasks, terms)
    rules.maximize_worth(draft, release)
    rules.count_leads_that_still_fit(draft)
    start_from = {draft.names[name]: value for name, value in (hint or {}).items() if name in draft.names}
    answer = draft.model.solve(effort=effort, hint=start_from or _booked_only(draft), first_only=first_only)
    if answer is None:
        return None
    values = {name: answer.values[variable] for name, variable in draft.names.items()}
    return Schedule(
        pieces=_pieces(draft, answer.values, release),
        chosen=frozenset(
            name for name, placed in draft.placed.items() if placed.present is None or answer.values[placed.present]
        ),
        end_minutes=answer.values[release] / UNITS_PER_MINUTE + RELEASE_MINUTES,
        value_money=answer.objective / rules.MILLS,
        proven=answer.proven,
        gap=answer.gap,
        values=values,
        wall_s=answer.wall_s,
    )


def booked_first(found: Schedule, tasks: Iterable[Task], terms: Terms, *, effort: float = ORDER_EFFORT) -> Schedule:
    """The same plan in the order that learns most: the booked job as early as it allows, then the looks.

    How long the booked job really takes decides what else fits, and what a look brings can change all that follows.
    What vanishes, and what has to come before, still comes before.

    Args:
        found: A schedule of these tasks under these terms.
        tasks: As they were given.
        terms: As they were given.
        effort: Deterministic work allowed.
    """
    chosen = [replace(task, must=True) for task in tasks if task.id in found.chosen]
    for in_order in (True, False):
        # Where no order of the plain looks by worth fits, the solver looks for another.
        pieces = _learning_most(found, chosen, terms, in_order=in_order, effort=effort)
        if pieces:
            return replace(found, pieces=pieces)
    return found


def _learning_most(
    found: Schedule, chosen: Iterable[Task], terms: Terms, *, in_order: bool, effort: float
) -> tuple[Piece, ...]:
    """The pieces of a plan in the order that learns most; none where the solver finds no such order."""
    draft, release = _write(chosen, terms, end_minutes=found.end_minutes)
    rules.keep_leads(draft, found.values)
    early = {name: _early(placed.task) for name, placed in draft.placed.items() if placed.task.kind in EARLY}
    if in_order:
        rules.keep_plain_looks_in_order(draft, early)
    draft.model.maximize({draft.placed[name].first.start: -worth for name, worth in early.items()})
    start_from = {draft.names[name]: value for name, value in found.values.items() if name in draft.names}
    answer = draft.model.solve(effort=effort, hint=start_from)
    return _pieces(draft, answer.values, release) if answer else ()


def _early(task: Task) -> int:
    """How much earlier counts: the booked job, then questions, then looks by worth, twice what they lead to."""
    if task.kind == "booked":
        return max(1, round(BOOKED_EARLY * task.hands_minutes))
    if task.of_owner:
        return round(OWNER_EARLY * task.hands_minutes)
    if task.asked:
        return 1
    return max(1, round(task.worth_money + sum(lead.worth_money for lead in task.leads)))


def _booked_only(draft: Draft) -> dict[Variable, int]:
    return {variable: 0 for name, variable in draft.names.items() if name.endswith((" chosen", " opened"))}


def _pieces(draft: Draft, values: tuple[int, ...], release: Variable) -> tuple[Piece, ...]:
    found: list[Piece] = []
    for placed in draft.placed.values():
        if placed.present is None or values[placed.present]:
            found.extend(_task_pieces(placed, values))
    for mode in draft.modes.values():
        if mode.closing.present is None or values[mode.closing.present]:
            found.extend(_mode_pieces(draft, mode, values))
    begin = values[release] / UNITS_PER_MINUTE
    found.append(Piece("release", "release", "release", begin, begin + RELEASE_MINUTES, RELEASE_CV))
    found.sort(key=lambda piece: (piece.start_minutes, piece.end_minutes, piece.owner))
    firsts = {(piece.owner, piece.kind): index for index, piece in reversed(list(enumerate(found)))}
    return tuple(_linked(piece, index, firsts) for index, piece in enumerate(found))


def _linked(piece: Piece, index: int, firsts: Mapping[tuple[str, StepKind], int]) -> Piece:
    first = firsts[piece.owner, piece.kind]
    if not piece.wait_minutes or first == index:
        return piece
    return Piece(
        piece.owner, piece.what, piece.kind, piece.start_minutes, piece.end_minutes, piece.cv, first, piece.wait_minutes
    )


def _piece(stretch: Stretch, values: tuple[int, ...], like: Piece) -> Piece:
    begin = values[stretch.start] / UNITS_PER_MINUTE
    end = begin + stretch.size / UNITS_PER_MINUTE
    return Piece(like.owner, like.what, like.kind, begin, end, like.cv, None, like.wait_minutes)


def _task_pieces(placed: Placed, values: tuple[int, ...]) -> list[Piece]:
    task = placed.task
    cv = cv_of(task.minutes_range) or CV_OF_KIND.get(task.kind, BOOKED_CV)
    like = Piece(task.id, task.what, task.kind, 0.0, 0.0, cv)
    pieces = [_piece(placed.first, values, like)]
    if placed.last is not placed.first:
        like = Piece(task.id, task.what, task.kind, 0.0, 0.0, like.cv, None, task.wait_minutes)
        pieces.append(_piece(placed.last, values, like))
    return pieces


def _mode_pieces(draft: Draft, mode: Mode, values: tuple[int, ...]) -> list[Piece]:
    state = draft.terms.states[mode.id]
    name, cv = state.name, cv_of(state.minutes_range) or CHECK_CV
    pieces = []
    if mode.opening is not None:
        pieces.append(_piece(mode.opening, values, Piece(mode.id, name, "open", 0.0, 0.0, cv)))
    if mode.closing.size:
        pieces.append(_piece(mode.closing, values, Piece(mode.id, name, "close", 0.0, 0.0, cv)))
    return pieces
