"""Time until the promise: the plan on a rule, the same as a list, and the waits that run beside other work."""

import datetime as dt
from dataclasses import dataclass

from lostgallon.paper.sayings import chance_words
from lostgallon.paper.svg import Frame as Drawn
from lostgallon.paper.time_strip import lay_time
from lostgallon.paper.time_svg import time_svg
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet


@dataclass(frozen=True)
class StepRow:
    """One step of the plan: its time, what is done, how, and the cautions that come first."""

    clock: str
    what: str
    says: str
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Waiting:
    """A wait that runs: what for, when it is over, and how many seconds are left."""

    number: str
    what: str
    over: str
    seconds_left: int
    until: str


@dataclass(frozen=True)
class Time:
    """The section."""

    title: str
    lede: str
    strip: str
    steps: tuple[StepRow, ...]
    left_out: tuple[tuple[str, str], ...]
    waits: tuple[Waiting, ...]


def time_of(sheet: Sheet, say: Say) -> Time | None:
    """The section, or None before the first account."""
    account = sheet.account
    if account is None or sheet.case is None:
        return None
    if sheet.sealed:
        return Time(say("time.title_open"), say("time.lede_over"), strip="", steps=(), left_out=(), waits=())
    plan, promised = account.plan, sheet.case.visit.promised
    strip = lay_time(plan, sheet.case.visit)
    return Time(
        title=say("time.title", clock=say.clock(promised)) if promised else say("time.title_open"),
        lede=_lede(sheet, say) or plan.says,
        strip=time_svg(strip, say.words, frame=Drawn()) if strip else "",
        steps=tuple(
            StepRow(
                clock=say.clock(dt.datetime.fromisoformat(step.start)) if step.start else "",
                what=step.what,
                says=step.says,
                cautions=step.cautions,
            )
            for step in plan.steps
        ),
        left_out=tuple((left.what, left.why) for left in plan.left_out),
        waits=waits_of(sheet, say),
    )


def waits_of(sheet: Sheet, say: Say) -> tuple[Waiting, ...]:
    """The waits that were started and not stopped."""
    rows = []
    for number, found in sheet.group("wait"):
        minutes = float(found.value.get("minutes", 0.0))
        until = found.at + dt.timedelta(minutes=minutes)
        left = int((until - sheet.now).total_seconds())
        rows.append(
            Waiting(
                number=number,
                what=str(found.value.get("what", "")),
                over=say("wait.over", ago=say.ago(until, sheet.now))
                if left <= 0
                else say("wait.until", clock=say.clock(until)),
                seconds_left=max(0, left),
                until=until.isoformat(timespec="seconds"),
            )
        )
    return tuple(rows)


def _lede(sheet: Sheet, say: Say) -> str:
    plan = sheet.account.plan if sheet.account else None
    if plan is None or plan.done_by is None:
        return ""
    done = say.clock(dt.datetime.fromisoformat(plan.done_by))
    if plan.likely_done and plan.chance_on_time is not None and sheet.case and sheet.case.visit.promised:
        low, high = (say.clock(dt.datetime.fromisoformat(end)) for end in plan.likely_done)
        chance = chance_words(plan.chance_on_time, say.words)
        return say(
            "time.lede", done=done, low=low, high=high, chance=chance, promised=say.clock(sheet.case.visit.promised)
        )
    return say("time.lede_plain", done=done)
