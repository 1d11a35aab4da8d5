"""Readings on a rule in a terminal."""

from collections.abc import Callable

from lostgallon.paper.figures import typed
from lostgallon.paper.rule import ReadingRule
from lostgallon.paper.terminal import Line


def rule_lines(rule: ReadingRule, *, width: int) -> list[Line]:
    """Places, triangles, the rule with its limit and hatched side, numbers."""
    room = width - 2

    def column(share: float) -> int:
        return 1 + min(round(share * room), room - 1)

    names, marks, edge = Line(width), Line(width), Line(width, " " + "─" * room)
    for at, places in _by_column(rule, column).items():
        names.put_if_free(max(1, min(at - (len(places) - 1) // 2, width - 1 - len(places))), places)
        marks.put(at, "▼")
    if rule.outside:
        left, right = (column(share) for share in rule.outside)
        edge.put(left, "╱" * (right - left + 1))
    for tick in rule.ticks:
        edge.put(column(tick.at), "┼" if tick.number else "┴")
    if rule.limit is not None:
        edge.put(column(rule.limit), "┃")
    numbers = Line(width)
    unit = typed(f" {rule.unit}").strip()
    numbers.put(width - 1 - len(unit), unit)
    for tick in rule.ticks:
        if tick.number:
            numbers.put_if_free(column(tick.at) - len(tick.number) // 2, tick.number)
    lines = [marks, edge, numbers]
    return [names, *lines] if any(reading.place for reading in rule.readings) else lines


def _by_column(rule: ReadingRule, column: Callable[[float], int]) -> dict[int, str]:
    places: dict[int, list[str]] = {}
    for reading in rule.readings:
        places.setdefault(column(reading.at), []).append(reading.place)
    return {at: ", ".join(place for place in names if place) for at, names in places.items()}
