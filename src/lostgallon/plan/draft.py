"""The model of a plan while it is written: stretches of hands-on work, tasks, modes, and the order between them.

Half-minute units. Every task, every opening and every closing of a state is an optional stretch; a mode (lifted,
coils off) is one span from its opening to its closing, and a task that needs it lies inside.
"""

import math
from dataclasses import dataclass, field

from lostgallon.plan.access import RUNNING, close_minutes, open_minutes, with_parents
from lostgallon.plan.solver import Interval, Model, Variable
from lostgallon.plan.work import SHARE_OF_NOMINAL, Task, Terms

UNITS_PER_MINUTE = 2
WAIT_SLACK_MINUTES = 10.0
"""How late a waiting reading may be taken; from memory."""


def planned_units(nominal_minutes: float) -> int:
    """Half-minutes of clock time planned for nominal hands-on minutes, at three quarters."""
    return math.ceil(nominal_minutes / SHARE_OF_NOMINAL * UNITS_PER_MINUTE - 1e-9)


@dataclass(frozen=True)
class Stretch:
    """A hands-on stretch in the model: its start variable, its fixed size and what decides that it is there."""

    name: str
    start: Variable
    size: int
    present: Variable | None
    interval: Interval


@dataclass(frozen=True)
class Placed:
    """A task in the model: first stretch, the one after its wait, and the whole span of it."""

    task: Task
    first: Stretch
    last: Stretch
    span: Interval

    @property
    def present(self) -> Variable | None:
        """Whether the task is in the plan; None where it must be."""
        return self.first.present


@dataclass(frozen=True)
class Mode:
    """A mode in the model. `opening` is None where it stands open already."""

    id: str
    opening: Stretch | None
    closing: Stretch
    span: Interval


def where(*present: Variable | None) -> tuple[Variable, ...]:
    """The choices among these: what must be there asks nothing."""
    return tuple(choice for choice in present if choice is not None)


@dataclass
class Draft:
    """The model while it is written. `names` gives every variable a name that outlives the model.

    `horizon` is the latest start of the release in this plan, `promise` the latest that the terms allow.
    """

    terms: Terms
    horizon: int
    promise: int
    model: Model = field(default_factory=Model)
    names: dict[str, Variable] = field(default_factory=dict)
    stretches: list[tuple[Stretch, int]] = field(default_factory=list)
    placed: dict[str, Placed] = field(default_factory=dict)
    modes: dict[str, Mode] = field(default_factory=dict)

    def when(self, name: str) -> Variable:
        """A new moment between now and the latest start of the release."""
        self.names[name] = self.model.integer(0, self.horizon)
        return self.names[name]

    def choice(self, name: str) -> Variable:
        """A new yes or no."""
        self.names[name] = self.model.choice()
        return self.names[name]

    def stretch(self, name: str, size: int, *, present: Variable | None, load: int = 1) -> Stretch:
        """A new stretch of hands-on work; load is the pairs of hands it keeps from anything else."""
        start = self.when(f"{name} starts")
        made = Stretch(name, start, size, present, self.model.interval(start, size=size, present=present))
        self.stretches.append((made, load))
        return made

    def in_order(self, first: Stretch, second: Stretch, *, pause: int = 0) -> None:
        """First ends, a pause passes, second starts: wherever both are there."""
        self.model.between(
            {second.start: 1, first.start: -1},
            low=first.size + pause,
            only_if=where(first.present, second.present),
        )


def place(draft: Draft, task: Task) -> None:
    """Put a task into the model: its stretch, or two with the wait between them."""
    present = None if task.must else draft.choice(f"{task.id} chosen")
    load = draft.terms.hands if set(task.needs) & RUNNING else 1
    first = draft.stretch(task.id, planned_units(task.hands_minutes), present=present, load=load)
    last, span = first, first.interval
    if task.wait_minutes:
        wait = math.ceil(task.wait_minutes * UNITS_PER_MINUTE)
        slack = math.ceil(WAIT_SLACK_MINUTES * UNITS_PER_MINUTE)
        after = max(planned_units(task.after_minutes), 1)
        last = draft.stretch(f"{task.id} again", after, present=present, load=load)
        draft.model.between(
            {last.start: 1, first.start: -1},
            low=first.size + wait,
            high=first.size + wait + slack,
            only_if=where(present),
        )
        end = draft.when(f"{task.id} ends")
        draft.model.between({end: 1, last.start: -1}, low=after, high=after)
        span = draft.model.interval(first.start, size=None, end=end, present=present)
    draft.placed[task.id] = Placed(task, first, last, span)
    work = draft.placed[task.only_with].present if task.only_with else None
    if work is not None and present is not None:
        draft.model.between({work: 1, present: -1}, low=0)


def _add_mode(draft: Draft, name: str) -> None:
    state, open_now = draft.terms.states[name], name in draft.terms.standing.open
    present = None if open_now else draft.choice(f"{name} opened")
    everybody = draft.terms.hands if state.all_hands else 1
    load = draft.terms.hands if state.closing_runs else everybody
    closing = draft.stretch(f"{name} closing", planned_units(close_minutes(state)), present=present, load=load)
    end = draft.when(f"{name} closed")
    draft.model.between({end: 1, closing.start: -1}, low=closing.size, high=closing.size)
    opening = None
    if open_now:
        begin = draft.when(f"{name} open before")
        draft.model.between({begin: 1}, low=0, high=0)
    else:
        size = planned_units(open_minutes(state))
        opening = draft.stretch(f"{name} opening", size, present=present, load=everybody)
        draft.in_order(opening, closing)
        begin = opening.start
    span = draft.model.interval(begin, size=None, end=end, present=present)
    mode = draft.modes[name] = Mode(name, opening, closing, span)
    parent = draft.modes.get(state.parent or "")
    if parent is not None:
        _inside(draft, mode.opening or mode.closing, mode.closing, parent)


def _inside(draft: Draft, first: Stretch, last: Stretch, mode: Mode) -> None:
    """These stretches lie between the opening and the closing of a mode, which is opened for them."""
    if mode.opening is not None:
        draft.in_order(mode.opening, first)
        if mode.closing.present is not None:
            draft.model.between({mode.closing.present: 1}, low=1, only_if=where(first.present))
    draft.in_order(last, mode.closing)


def open_what_is_needed(draft: Draft) -> None:
    """Put the modes into the model, parents first, and every task inside the modes it needs."""
    wanted = [name for placed in draft.placed.values() for name in placed.task.needs]
    standing = draft.terms.standing
    for name in with_parents([*sorted(standing.open), *wanted], draft.terms.states):
        _add_mode(draft, name)
    for placed in draft.placed.values():
        for need in placed.task.needs:
            if need in draft.modes:
                _inside(draft, placed.first, placed.last, draft.modes[need])
