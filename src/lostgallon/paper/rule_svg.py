"""A finding on a rule as a picture: the limit, the hatched side outside it, a triangle for every reading."""

from html import escape

from lostgallon.paper.figures import typed
from lostgallon.paper.rule import Reading, ReadingRule
from lostgallon.paper.svg import Frame, tag, text
from lostgallon.paper.words import Words
from lostgallon.shop.account import FindingRow

_TOP, _HEIGHT, _LIST_HEIGHT = 68.0, 40.0, 22.0
_LIMIT_ABOVE = 0.02


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
    right = rule.limit > 0.6
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
    if reading.rear:
        shape = f"M0 {bottom + 1.0:g}l-9 15h18z"
        label = tag("text", escape(reading.place), y=bottom + 34.0, class_="bold")
    else:
        shape = f"M0 {top - 1.0:g}l-9-15h18z"
        label = tag("text", escape(reading.place), y=top - 22.0, class_="bold")
    marks = [tag("path", d=shape, class_="solid")]
    return frame.pinned(reading.at, *marks, *([label] if reading.place else []))
