"""The time until the promise on a rule: hands, waits, what is kept free, when it is likely done."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from lostgallon.paper.scale import Scale, Tick
from lostgallon.shop.account import Plan, PlanStep
from lostgallon.shop.visit import Visit

Lane = Literal["hands", "wait", "free"]
_LANES: dict[str, Lane] = {"wait": "wait", "release": "free"}
_RULES = ((90.0, 30, 10), (480.0, 60, 15), (float("inf"), 120, 60))
"""For a strip of up to so many minutes: minutes between numbers, minutes between ticks."""
_BEFORE, _AFTER = timedelta(minutes=5), timedelta(minutes=15)


@dataclass(frozen=True)
class Stretch:
    """A stretch of time: its ends as shares of the width, its lane and what is done in it."""

    start: float
    end: float
    lane: Lane
    what: str


@dataclass(frozen=True)
class OpenLane:
    """What is open, and until when; shares of the width."""

    start: float
    end: float
    what: str


@dataclass(frozen=True)
class TimeStrip:
    """One plan on a rule of time; places are shares of the width."""

    ticks: tuple[Tick, ...]
    stretches: tuple[Stretch, ...]
    opens: tuple[OpenLane, ...]
    now: float | None
    promised: float | None
    likely: tuple[float, float] | None
    done: float | None


def moment(text: str | None) -> datetime | None:
    """A local time of a plan; None for an order without a clock."""
    return datetime.fromisoformat(text) if text else None


def lay_time(plan: Plan, visit: Visit) -> TimeStrip | None:
    """The geometry of a plan, or None for one without clock times."""
    timed = [(step, *ends) for step in plan.steps if (ends := _ends(step))]
    if not timed:
        return None
    likely = _both(plan.likely_done)
    done = moment(plan.done_by)
    marks = [visit.now, visit.promised, done, *(likely or ()), *(end for row in timed for end in row[1:])]
    first, last = _window(mark for mark in marks if mark)
    scale = Scale(0.0, (last - first) / timedelta(minutes=1))

    def at(mark: datetime) -> float:
        return scale.at((mark - first) / timedelta(minutes=1))

    return TimeStrip(
        ticks=_time_ticks(first, scale),
        stretches=tuple(
            Stretch(at(start), at(end), _LANES.get(step.kind, "hands"), step.what)
            for step, start, end in timed
            if end > start
        ),
        opens=tuple(
            OpenLane(at(start), at(end), what) for what, start, end in _open_stretches(timed, visit.promised or last)
        ),
        now=at(visit.now) if visit.now else None,
        promised=at(visit.promised) if visit.promised else None,
        likely=(at(likely[0]), at(likely[1])) if likely else None,
        done=at(done) if done else None,
    )


def _ends(step: PlanStep) -> tuple[datetime, datetime] | None:
    start, end = moment(step.start), moment(step.end)
    return (start, end) if start and end else None


def _both(pair: tuple[str, str] | None) -> tuple[datetime, datetime] | None:
    return (datetime.fromisoformat(pair[0]), datetime.fromisoformat(pair[1])) if pair else None


def _window(marks: Iterable[datetime]) -> tuple[datetime, datetime]:
    known = sorted(marks)
    return known[0] - _BEFORE, known[-1] + _AFTER


def _open_stretches(
    timed: list[tuple[PlanStep, datetime, datetime]], end_of_strip: datetime
) -> list[tuple[str, datetime, datetime]]:
    closings = {step.what: start for step, start, _ in timed if step.kind == "close"}
    return [
        (step.what, start, closings.get(step.what, end_of_strip)) for step, start, _ in timed if step.kind == "open"
    ]


def _time_ticks(first: datetime, scale: Scale) -> tuple[Tick, ...]:
    numbers, every = next((long, short) for most, long, short in _RULES if scale.high <= most)
    midnight = first.replace(hour=0, minute=0, second=0, microsecond=0)
    since_midnight = (first - midnight) / timedelta(minutes=1)
    start = int(-(-since_midnight // every)) * every
    places = range(start, int(since_midnight + scale.high) + 1, every)
    return tuple(
        Tick(at=scale.at(minute - since_midnight), number=_clock(minute) if minute % numbers == 0 else "")
        for minute in places
    )


def _clock(minute: int) -> str:
    hours, minutes = divmod(minute, 60)
    return f"{(hours - 1) % 12 + 1}:{minutes:02d}" if minutes else f"{(hours - 1) % 12 + 1}"
