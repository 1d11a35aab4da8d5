"""The bridge in a terminal: banks, deck, rule, and a step for every cause."""

import textwrap

from lostgallon.paper.bridge import Bridge, Step
from lostgallon.paper.figures import figure
from lostgallon.paper.look import kind_looks
from lostgallon.paper.scale import Tick
from lostgallon.paper.terminal import Line
from lostgallon.paper.words import Words

_SOLID, _HALF, _SOFT, _FAINT, _MIDDLE, _OPEN, _TORN = "█▓▒░┃╌╍"
_NAME_COLUMNS = 22
_STEPS_FROM, _FIGURES = 30, 18


def bridge_lines(bridge: Bridge, words: Words, *, width: int) -> list[Line]:
    """Bracket, letters, deck and rule, from edge to edge."""
    return [
        *_bracket(bridge, words, width),
        _letters(bridge, words, width),
        _deck(bridge, width),
        *_rule(bridge, words, width),
    ]


def _column(share: float, width: int) -> int:
    return 1 + round(share * (width - 2))


def _bracket(bridge: Bridge, words: Words, width: int) -> list[Line]:
    if not bridge.spans:
        return []
    left, right = (_column(bank.at, width) for bank in (bridge.then, bridge.now))
    line = Line(width)
    line.put(left, "├" + "─" * max(0, right - left - 1) + "┤")
    label = f" {''.join(lost_words(bridge, words))} "
    if len(label) + 4 <= right - left:
        line.put((left + right - len(label)) // 2 + 1, label)
        return [line]
    above = Line(width)
    above.put(max(1, min(width - 1 - len(label), (left + right - len(label)) // 2 + 1)), label)
    return [above, line]


def lost_words(bridge: Bridge, words: Words) -> tuple[str, str]:
    """The loss as the bracket says it, and what a narrow page leaves out: its interval, or that it may not be real."""
    said = bridge.headline
    interval = words("likely_after", low=said.lost_low, high=said.lost_high) if said.has_interval else ""
    if not bridge.real:
        return words("apart", lost=said.lost), words("apart_unsure")
    return words("lost", lost=said.lost), interval


def _letters(bridge: Bridge, words: Words, width: int) -> Line:
    line = Line(width)
    first, last = _banks(bridge, width)
    (left_word, right_word) = ("then", "now") if bridge.then.at <= bridge.now.at else ("now", "then")
    line.put(max(1, (first - len(words(left_word))) // 2), words(left_word))
    line.put(last + max(1, (width - last - len(words(right_word))) // 2), words(right_word))
    for step in bridge.steps if bridge.spans else ():
        left, right = sorted((_column(step.start, width), _column(step.middle, width)))
        if first <= left < right <= last:
            line.put_if_free((left + right - 1) // 2, step.letter, clear=0)
    return line


def _banks(bridge: Bridge, width: int) -> tuple[int, int]:
    first, last = sorted((_column(bridge.then.at, width), _column(bridge.now.at, width)))
    return first, last


def _deck(bridge: Bridge, width: int) -> Line:
    line = Line(width)
    first, last = _banks(bridge, width)
    line.put(first, _OPEN * (last - first))
    if bridge.spans:
        start = max(first, _column(bridge.deck_end, width))
        line.put(start, _FAINT * (_column(bridge.gap_start, width) - start))
    for step in bridge.steps if bridge.spans else ():
        _plank(line, step, width)
    said = [bridge.headline.then, bridge.headline.now]
    if bridge.now.at < bridge.then.at:
        said.reverse()
    line.put(1, _bank(said[0], first, torn_left=True))
    line.put(last, _bank(said[1], width - 1 - last, torn_left=False))
    if bridge.spans:
        overhang = _column(bridge.deck_end, width) - last - 1
        line.put(last + 1, _TORN * min(overhang, (width - 1 - last) // 2 - 4))
    return line


def _plank(line: Line, step: Step, width: int) -> None:
    ink = kind_looks()[step.entry.kind].terminal
    start, solid, end = (_column(place, width) for place in (step.start, step.solid, step.middle))
    left, right = sorted((start, end))
    soft = abs(end - solid)
    for column in range(left, right):
        from_end = right - 1 - column if end >= start else column - left
        mark = _SOLID if from_end >= soft else _HALF if from_end >= soft // 2 else _SOFT
        line.put(column, mark, ink=ink)


def _bank(figure_said: str, room: int, *, torn_left: bool) -> str:
    number = f" {figure_said} "
    ground = f"{number:━^{max(room - 3, len(number))}}"
    text = f"{_TORN * 2}{ground}┫" if torn_left else f"┣{ground}{_TORN * 2}"
    return text[-room:] if torn_left else text[:room]


def _rule(bridge: Bridge, words: Words, width: int) -> list[Line]:
    edge = Line(width, " " + "─" * (width - 2))
    for tick in bridge.ticks:
        edge.put(_column(tick.at, width), "┼" if tick.number else "┴")
    return [
        edge,
        _numbers(bridge.ticks, width, unit=words("unit.fuel")),
        _numbers(bridge.other_ticks, width, unit=words("unit.other_fuel")),
    ]


def _numbers(ticks: tuple[Tick, ...], width: int, *, unit: str) -> Line:
    line = Line(width)
    line.put(width - 1 - len(unit), unit)
    for tick in ticks:
        if tick.number:
            line.put_if_free(_column(tick.at, width) - len(tick.number) // 2, tick.number)
    return line


def step_lines(step: Step, words: Words, *, width: int) -> list[Line]:
    """One row a cause: letter, name, kind, its step on the rule, its figure."""
    size = figure(step.entry.l_per_100km, factor=words.measure.fuel)
    name = words.named("cause", step.entry.cause, otherwise=step.entry.name)
    rows = textwrap.wrap(name, _NAME_COLUMNS, break_on_hyphens=False) or [""]
    look = kind_looks()[step.entry.kind]
    first = Line(width, f" {step.letter:<2}{rows[0]}")
    first.put(_STEPS_FROM - 4, look.code)
    _step_marks(first, step, width, ink=look.terminal)
    value = size.middle if size.sharp else words("short_interval", middle=size.middle, low=size.low, high=size.high)
    first.put(width - 1 - len(value), value)
    more = [Line(width, f"   {row}") for row in rows[1:]]
    if step.entry.fault:
        more.append(Line(width, f"   {_how_likely(step, words)}"))
    return [first, *more]


def _how_likely(step: Step, words: Words) -> str:
    there = words("there_now", chance=chance_pct(step.entry.present, words))
    if step.entry.already_there < 0.05:
        return there
    return f"{there}; {words('there_before', chance=chance_pct(step.entry.already_there, words))}"


def chance_pct(probability: float, words: Words) -> str:
    """A probability in per cent, never 0 or 100: nothing here is that sure."""
    if probability < 0.01:
        return words("chance.under")
    return words("chance.over") if probability > 0.99 else f"{probability * 100.0:.0f}%"


def _narrow(share: float, width: int) -> int:
    return _STEPS_FROM + round(share * (width - 1 - _FIGURES - _STEPS_FROM))


def _step_marks(line: Line, step: Step, width: int, *, ink: int) -> None:
    start, solid, middle, far, back = (
        _narrow(place, width) for place in (step.start, step.solid, step.middle, step.far, step.back)
    )
    for column in range(min(start, back), max(start, back)):
        line.put(column, _OPEN, ink=ink)
    for column in range(min(start, far), max(start, far)):
        line.put(column, _shade(column, solid=solid, middle=middle, far=far), ink=ink)
    line.put(middle, _MIDDLE, ink=ink)


def _shade(column: int, *, solid: int, middle: int, far: int) -> str:
    if far < middle:
        # A cause that gives back runs to the left: the same shades, mirrored.
        column, solid, middle, far = -1 - column, -solid, -middle, -far
    if column < solid:
        return _SOLID
    if column < middle:
        return _HALF
    return _SOFT if column < (middle + far + 1) // 2 else _FAINT


def open_line(bridge: Bridge, words: Words, *, width: int) -> Line:
    """The part not accounted for: dashed, with its own interval."""
    size = figure(bridge.open.l_per_100km, factor=words.measure.fuel)
    line = Line(width, f" · {words('open')}")
    left, middle, right = (_narrow(place, width) for place in (bridge.open.low, bridge.open.middle, bridge.open.high))
    line.put(left, _OPEN * max(1, right - left))
    line.put(middle, _MIDDLE)
    value = words("short_interval", middle=size.middle, low=size.low, high=size.high)
    line.put(width - 1 - len(value), value)
    return line
