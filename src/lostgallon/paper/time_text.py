"""The time strip and the plan in a terminal."""

from collections.abc import Callable, Container
from datetime import datetime

from lostgallon.paper.sayings import chance_words, ended, money
from lostgallon.paper.terminal import Line, heading, wrapped
from lostgallon.paper.time_strip import Stretch, TimeStrip, lay_time, moment
from lostgallon.paper.words import Words
from lostgallon.shop.account import Account, Plan, PlanStep
from lostgallon.shop.visit import Case

_FROM = 9
_MARKS = {"hands": "█", "wait": "░", "free": "╌"}


def time_rows(account: Account, case: Case, words: Words, *, width: int) -> list[Line]:
    """Heading with the likely end, the strip, the plan as a list, what is left out."""
    plan = account.plan
    if not plan.steps and not plan.left_out:
        return []
    promised = case.visit.promised
    title = words("head.time", clock=words.clock(promised).upper()) if promised else words("head.time_plain")
    strip = lay_time(plan, case.visit)
    return [
        *heading(title, done_words(plan, words), width),
        *(wrapped(plan.says, width) if plan.says else ()),
        *(line for stands in plan.stands for line in wrapped(ended(stands), width, rest="   ")),
        *(strip_lines(strip, words, width=width) if strip else ()),
        *_step_lines(plan, words, width),
        *_half_hour(account, words, width),
        *_left_out(account, words, width),
    ]


def _left_out(account: Account, words: Words, width: int) -> list[Line]:
    # Work that is left out is named; checks that are left out already stand in their own list, so they are counted.
    work = {row.name for row in account.corrections}
    named = [left for left in account.plan.left_out if left.what in work]
    others = len(account.plan.left_out) - len(named)
    lines = [
        line for left in named for line in wrapped(words("time.left_out", what=left.what, why=ended(left.why)), width)
    ]
    return lines + (wrapped(words("time.left_out_others", count=others), width) if others else [])


def done_words(plan: Plan, words: Words) -> str:
    """When it is done and how likely that is before the promise."""
    done = moment(plan.done_by)
    if done is None:
        return ""
    values: dict[str, str] = {"done": words.clock(done)}
    if plan.chance_on_time is None:
        return words("time.done_plain", **values)
    values["chance"] = chance_words(plan.chance_on_time, words)
    if plan.likely_done is None:
        return words("time.done", **values)
    low, high = (datetime.fromisoformat(end) for end in plan.likely_done)
    return words("time.done_likely", likely=words.clocks(low, high), **values)


def strip_lines(strip: TimeStrip, words: Words, *, width: int) -> list[Line]:
    """Lanes over a rule of hours; the promise is a line through all of them."""

    def column(share: float) -> int:
        return _FROM + round(share * (width - 2 - _FROM))

    lanes = [_lane(strip, name, words, column_of=column, width=width) for name in ("hands", "wait")]
    if strip.likely:
        lane = Line(width, f" {words('time.likely')}")
        left, right = (column(share) for share in strip.likely)
        lane.put(left, "░" + "▒" * max(0, right - left - 1) + "░")
        lanes.append(lane)
    edge, numbers = Line(width), Line(width)
    edge.put(_FROM, "─" * (width - 1 - _FROM))
    for tick in strip.ticks:
        edge.put(column(tick.at), "┼" if tick.number else "┴")
        if tick.number:
            numbers.put_if_free(column(tick.at), tick.number)
    if strip.now is not None:
        edge.put(column(strip.now), "▲")
    if strip.promised is not None:
        for line in (*lanes, edge):
            line.put(column(strip.promised), "┃")
    return [*lanes, edge, numbers]


def _lane(strip: TimeStrip, name: str, words: Words, *, column_of: Callable[[float], int], width: int) -> Line:
    line = Line(width, f" {words('time.' + name)}")
    for stretch in strip.stretches:
        if (stretch.lane == "wait") is (name == "wait"):
            _stretch(line, stretch, column_of=column_of)
    return line


def _stretch(line: Line, stretch: Stretch, *, column_of: Callable[[float], int]) -> None:
    left = column_of(stretch.start)
    room = max(1, column_of(stretch.end) - left)
    line.put(left, _MARKS[stretch.lane] * room)
    label = f" {stretch.what} "
    if stretch.lane == "hands" and len(label) + 2 <= room:
        line.put(left + (room - len(label)) // 2, label)


def _half_hour(account: Account, words: Words, width: int) -> list[Line]:
    """What half an hour more would be worth, and what it would bring in."""
    plan = account.plan
    if not plan.next_half_hour_money or not plan.next_half_hour_adds:
        return []
    names = "; ".join(plan.next_half_hour_adds)
    more = words("time.half_hour", money=money(plan.next_half_hour_money, account.currency), names=names)
    return wrapped(more, width)


def _step_lines(plan: Plan, words: Words, width: int) -> list[Line]:
    """The steps in order. A caution is told in full where it first stands, by its short name where it stands again."""
    told: set[str] = set()
    lines = []
    for step in plan.steps:
        lines += _plan_lines(step, words, width, told=told)
        told |= set(step.cautions)
    return lines


def _plan_lines(step: PlanStep, words: Words, width: int, *, told: Container[str]) -> list[Line]:
    start, end = moment(step.start), moment(step.end)
    clock = f"{words.clock(start):>8}" if start else " " * 8
    minutes = f", {round((end - start).total_seconds() / 60)} min" if start and end else ""
    says = f": {step.says}" if step.says else ""
    again = [words.caution(text).partition(":")[0] for text in step.cautions if text in told]
    paragraphs = [words("check.caution", text=words.caution(text)) for text in step.cautions if text not in told]
    paragraphs += [words("check.caution_again", names="; ".join(again))] if again else []
    paragraphs.append(f"{step.what}{minutes}{says}")
    rest = " " * 11
    firsts = [f" {clock}  ", *[rest] * (len(paragraphs) - 1)]
    return [
        line
        for text, first in zip(paragraphs, firsts, strict=True)
        for line in wrapped(text, width, first=first, rest=rest)
    ]
