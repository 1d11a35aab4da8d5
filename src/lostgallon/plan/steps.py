"""A schedule as steps to follow with no further question: when, what, where, how long, caution first."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.records import Operation
from lostgallon.plan.access import cautions_for
from lostgallon.plan.tasks import texts
from lostgallon.plan.work import Piece, Schedule, Task
from lostgallon.shop.account import PlanStep

LEAST_WAIT_MINUTES = 1.0
WHEELS = frozenset({"wheels_off", "brakes_apart"})
TIRES = "tire_pressure_pa"


@dataclass(frozen=True)
class Telling:
    """What the steps are told from: tasks by id, the catalogue, the corrections in the plan, the clock or none.

    `anyway` are operations that the booked job does itself or that are told at hand-over.
    """

    tasks: Mapping[str, Task]
    catalogue: Catalogue
    corrected: tuple[Operation, ...]
    now: datetime | None
    anyway: tuple[Operation, ...] = ()


def clock(now: datetime | None, minutes: float) -> str:
    """A time so many minutes from now in ISO 8601, to the whole minute; empty without a clock."""
    if now is None:
        return ""
    moment = now + timedelta(minutes=minutes)
    if moment.second >= 30:
        moment += timedelta(minutes=1)
    return moment.replace(second=0, microsecond=0).isoformat(timespec="seconds")


def steps_of(schedule: Schedule, telling: Telling) -> tuple[PlanStep, ...]:
    """Every stretch of the schedule as a step, with its waits, in the order of their starts."""
    closed = frozenset(piece.owner for piece in schedule.pieces if piece.kind == "close")
    steps = [(piece.start_minutes, _step(piece, telling, closed=closed)) for piece in schedule.pieces]
    steps += _waits(schedule, telling)
    steps.sort(key=lambda timed: timed[0])
    return tuple(_questions_together([step for _, step in steps], telling))


def _questions_together(steps: Iterable[PlanStep], telling: Telling) -> Iterable[PlanStep]:
    """Questions to the owner that follow on one another as one step: nobody calls an owner nine times."""
    for of_owner, group in groupby(
        steps, key=lambda step: step.id in telling.tasks and telling.tasks[step.id].of_owner
    ):
        listed = list(group)
        if not of_owner or len(listed) == 1:
            yield from listed
            continue
        names = "; ".join(step.what for step in listed)
        ids = ",".join(step.id for step in listed)
        yield PlanStep("Ask the owner", "check", listed[0].start, listed[-1].end, names, (), ids)


def _times(piece: Piece, telling: Telling) -> tuple[str, str]:
    return clock(telling.now, piece.start_minutes), clock(telling.now, piece.end_minutes)


def _step(piece: Piece, telling: Telling, *, closed: frozenset[str]) -> PlanStep:
    start, end = _times(piece, telling)
    if piece.kind == "release":
        return release_step(telling, start, end, closed=closed)
    if piece.kind in {"open", "close"}:
        return _mode_step(piece, telling, start, end)
    task = telling.tasks[piece.owner]
    what = f"Read: {task.what}" if piece.waits_for is not None else task.what
    hands = _three_points(task) if piece.waits_for is None else None
    return PlanStep(what, piece.kind, start, end, task.says, task.cautions, task.id, hands)


def _three_points(task: Task) -> tuple[float, float, float] | None:
    if task.minutes_range is None:
        return None
    low, high = task.minutes_range
    return round(low, 1), round(task.hands_minutes, 1), round(high, 1)


def _mode_step(piece: Piece, telling: Telling, start: str, end: str) -> PlanStep:
    state = telling.catalogue.state[piece.owner]
    opening = piece.kind == "open"
    words = (state.to_open if opening else state.to_close) or f"{piece.kind}: {state.name}"
    cautions = texts(cautions_for([state.id], (), states=telling.catalogue.state), telling.catalogue)
    return PlanStep(words[:1].upper() + words[1:], piece.kind, start, end, "", cautions, state.id)


def _waits(schedule: Schedule, telling: Telling) -> Iterable[tuple[float, PlanStep]]:
    for piece in schedule.pieces:
        if piece.waits_for is None or piece.wait_minutes < LEAST_WAIT_MINUTES:
            continue
        begin = schedule.pieces[piece.waits_for].end_minutes
        what = f"Runs by itself: {telling.tasks[piece.owner].what}"
        says = f"{piece.wait_minutes:.0f} min without hands"
        yield begin, PlanStep(what, "wait", clock(telling.now, begin), clock(telling.now, piece.start_minutes), says)


def release_step(telling: Telling, start: str, end: str, *, closed: frozenset[str]) -> PlanStep:
    """The last ten minutes: what has to be torqued, filled, relearned and driven after this work.

    Args:
        telling: The corrections in the plan, and what is told at hand-over.
        start: When it begins.
        end: When it ends.
        closed: Modes that were closed before it, by the booked job or for the plan.
    """
    figures = [name.partition(",")[0] for work in telling.corrected for name in work.fill_in if "torque" in name]
    parts = ["torque by the service information" + (f": {', '.join(dict.fromkeys(figures))}" if figures else "")]
    parts += ["levels: oil, coolant, brake fluid", "codes and relearn", "drive, then look for leaks and heat"]
    if closed & WHEELS:
        parts.insert(1, "wheel nuts on the ground; pump the pedal before it moves")
    if closed & WHEELS or any(TIRES in work.restores for work in telling.corrected):
        parts.append("pressure monitor: relearn where tires were set or changed places, lamp out")
    told = [work.text for work in telling.anyway if work.at_hand_over]
    parts += [f"tell and write down at hand-over: {'; '.join(told)}"] if told else []
    again = [telling.catalogue.check[work.re_measure].name for work in telling.corrected if work.re_measure]
    if again:
        parts.append(f"measured again and written down: {', '.join(dict.fromkeys(again))}")
    cautions = texts(("torque_from_manual", "road_test"), telling.catalogue)
    return PlanStep("Torques, levels, relearn, drive", "release", start, end, "; ".join(parts), cautions)
