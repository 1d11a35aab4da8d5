"""A finding on a rule as a picture: the limit, the hatched side outside it, a triangle for every reading."""

from html import escape

from lostgallon.paper.advance import advance_px
from lostgallon.paper.figures import typed
from lostgallon.paper.rule import Reading, ReadingRule
from lostgallon.paper.svg import Frame, tag, text
from lostgallon.paper.words import Words
from lostgallon.shop.account import FindingRow

_TOP, _HEIGHT, _LIST_HEIGHT = 68.0, 40.0, 22.0
_LIMIT_ABOVE = 0.02
_LIMIT_WORDS_LEFT_FROM = 0.6
_NARROWEST_PX = 280.0
"""A picture on the narrowest page: 320 px less its margins."""


def rule_svg(rule: ReadingRule, finding: FindingRow, words: Words, *, frame: Frame, small: bool = False) -> str:
    """The picture of a finding.

    Args:
        rule: Its geometry.
        finding: The finding, for its name, limit and source in words.
        words: The language.
        frame: A page or paper.
        small: The low form for a list.
    """
    places = any(reading.place for reading in rule.readings)
    top = _TOP if places else _TOP - 26.0
    bottom = top + (_LIST_HEIGHT if small else _HEIGHT)
    rear = any(reading.rear and reading.place for reading in rule.readings)
    numbers = bottom + 19.0 if small else top + 32.0
    if small and rear:
        numbers += 36.0
    return frame.picture(
        tag("rect", class_="steel", y=top, height=bottom - top, **frame.bar(0.0, 1.0)),
        *_hatched(rule, frame, top=top, bottom=bottom),
        frame.level(top),
        frame.level(bottom),
        *(frame.upright(tick.at, top, top + (10.0 if tick.number else 6.0)) for tick in rule.ticks),
        *_numbers(rule, frame, y_px=numbers, small=small),
        *_limit(rule, finding, words, frame, top=top, bottom=bottom),
        *(_triangle(reading, frame, top=top, bottom=bottom) for reading in rule.readings),
        *_places(rule, frame, y_px=top - 22.0, rear=False),
        *_places(rule, frame, y_px=bottom + 34.0, rear=True),
        text(escape(typed(f" {rule.unit}").strip()), x=frame.x(0.995), y=numbers, class_="end quiet"),
        height_px=max(numbers + 6.0, bottom + (40.0 if rear else 4.0)),
        says=rule_says(rule, finding, words),
    )


def rule_says(rule: ReadingRule, finding: FindingRow, words: Words) -> str:
    """The picture in a sentence."""
    limit = typed(finding.limit) if finding.limit else words("finding.no_limit")
    return words(
        "picture.rule",
        name=finding.name,
        unit=typed(f" {rule.unit}").strip(),
        readings=typed(", ".join(finding.value)),
        limit=limit,
    )


def _numbers(rule: ReadingRule, frame: Frame, *, y_px: float, small: bool) -> list[str]:
    # The limit carries its own figure above the rule.
    shown = [
        tick
        for tick in rule.ticks
        if tick.number
        and 0.03 < tick.at < 0.9
        and (small or rule.limit is None or abs(tick.at - rule.limit) > _LIMIT_ABOVE)
    ]
    return [text(tick.number, x=frame.x(tick.at), y=y_px, class_="" if small else "on") for tick in shown]


def _hatched(rule: ReadingRule, frame: Frame, *, top: float, bottom: float) -> list[str]:
    if rule.outside is None:
        return []
    return [tag("rect", fill="url(#outside)", y=top, height=bottom - top, **frame.bar(*rule.outside))]


def _limit(
    rule: ReadingRule, finding: FindingRow, words: Words, frame: Frame, *, top: float, bottom: float
) -> list[str]:
    if rule.limit is None:
        return []
    label = words("picture.limit", limit=typed(finding.limit or ""))
    right = rule.limit > _LIMIT_WORDS_LEFT_FROM
    start = 6.0 if any(reading.place for reading in rule.readings) else top - 24.0
    return [
        frame.upright(rule.limit, start, bottom, class_="limit"),
        text(
            escape(label),
            x=frame.x(rule.limit),
            y=start + 14.0,
            class_="bold end" if right else "bold start",
            dx=-9.0 if right else 9.0,
        ),
    ]


def _triangle(reading: Reading, frame: Frame, *, top: float, bottom: float) -> str:
    shape = f"M0 {bottom + 1.0:g}l-9 15h18z" if reading.rear else f"M0 {top - 1.0:g}l-9-15h18z"
    return frame.pinned(reading.at, tag("path", d=shape, class_="solid"))


def _places(rule: ReadingRule, frame: Frame, *, y_px: float, rear: bool) -> list[str]:
    """Where on the vehicle each reading was taken; those too near each other for words of their own share a label."""
    groups: list[list[Reading]] = []
    for reading in sorted((one for one in rule.readings if one.place and one.rear is rear), key=lambda one: one.at):
        near = groups and (reading.at - groups[-1][-1].at) * _NARROWEST_PX < advance_px(reading.place, bold=True) + 6.0
        if near:
            groups[-1].append(reading)
        else:
            groups.append([reading])
    return [_place(group, rule, frame, y_px=y_px) for group in groups]


def _place(group: list[Reading], rule: ReadingRule, frame: Frame, *, y_px: float) -> str:
    said = " ".join(dict.fromkeys(reading.place for reading in group))
    at, half = sum(reading.at for reading in group) / len(group), advance_px(said, bold=True) / 2.0 + 4.0
    beside = rule.limit is not None and abs(at - rule.limit) * _NARROWEST_PX < half and not group[0].rear
    if not beside:
        return text(escape(said), x=frame.x(at), y=y_px, class_="bold")
    # The line of the limit stands there: the words go to its side, where its own words are.
    right = rule.limit is not None and rule.limit > _LIMIT_WORDS_LEFT_FROM
    return text(
        escape(said),
        x=frame.x(rule.limit or 0.0),
        y=y_px,
        class_=f"bold {'end' if right else 'start'}",
        dx=-13.0 if right else 13.0,
    )
