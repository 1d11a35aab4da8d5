"""The booked job's own steps: as the case tells them, else as such a job usually goes, else in one piece."""

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.records import BookedJob, JobStep
from lostgallon.plan.access import CONDITIONS, Standing, cautions_for
from lostgallon.plan.tasks import texts
from lostgallon.plan.work import Task
from lostgallon.shop.visit import Booked, BookedStep, Case

BOOKED = "booked job"
REST = "what is left of it before closing up"
LEAST_MINUTES = 0.5


def booked_tasks(
    case: Case, catalogue: Catalogue, *, standing: Standing, closing: Mapping[str, float]
) -> tuple[Task, ...]:
    """What is left of the booked job before its closing up, one task a step, each after the one before.

    Args:
        case: For the job, its minutes, its own steps.
        catalogue: For the usual steps of such a job, and for cautions.
        standing: How the vehicle stands; a usual step asks only for what the job has open.
        closing: Minutes of closing up what the job has apart, by state; they are part of the minutes left.
    """
    states = catalogue.state
    steps = [
        replace(step, needs=tuple(states[need].id for need in step.needs))
        for step in case.booked.steps
        if not step.done
    ]
    if not steps:
        left = max((case.booked.minutes_left or 0.0) - sum(closing.values()), 0.0)
        job = job_of(case.booked, catalogue)
        steps = _usual(job, left, standing) if job else []
        steps = steps or [BookedStep("", left, needs=tuple(sorted(standing.by_booked)))]
    tasks = [_task(number, step, case, catalogue=catalogue) for number, step in enumerate(steps, start=1)]
    later = [replace(task, after=(before.id,)) for before, task in pairwise(tasks)]
    return (tasks[0], *later)


def job_of(booked: Booked, catalogue: Catalogue) -> BookedJob | None:
    """The usual job that the words of the order name; of several the one named by the longest words."""
    said = booked.operation.lower()
    named = [(len(words), job) for job in catalogue.jobs for words in job.booked_as if words in said]
    return max(named, key=lambda pair: pair[0])[1] if named else None


def _usual(job: BookedJob, left_minutes: float, standing: Standing) -> list[BookedStep]:
    """The last of a job's usual steps, as many as fill the minutes left; all of them longer where more is left."""
    usual = sum(step.minutes for step in job.steps)
    stretch = max(1.0, left_minutes / usual)
    found: list[BookedStep] = []
    for step in reversed(job.steps):
        minutes = min(step.minutes * stretch, left_minutes - sum(each.minutes for each in found))
        if minutes >= LEAST_MINUTES:
            found.insert(0, BookedStep(step.what, minutes, needs=_open_needs(step, standing)))
    return found


def _open_needs(step: JobStep, standing: Standing) -> tuple[str, ...]:
    return tuple(need for need in step.needs if need in CONDITIONS or need in standing.by_booked)


def _task(number: int, step: BookedStep, case: Case, *, catalogue: Catalogue) -> Task:
    name = case.booked.operation
    what = f"Booked: {step.what or name}" if step.what or name else "Booked job"
    return Task(
        id=BOOKED if number == 1 else f"{BOOKED} {number}",
        what=what,
        kind="booked",
        hands_minutes=step.minutes,
        wait_minutes=step.wait_minutes,
        needs=step.needs,
        must=True,
        says="" if step.what else REST,
        cautions=texts(cautions_for(step.needs, (), states=catalogue.state), catalogue),
    )
