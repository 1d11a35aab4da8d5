"""The bridge as a picture: bracket, planks and piers, banks, the rule, what is expected after the work."""

from dataclasses import dataclass
from html import escape
from typing import Literal

from lostgallon.paper.advance import advance_px
from lostgallon.paper.bridge import Bank, Bridge, Expected, Step
from lostgallon.paper.bridge_text import lost_words
from lostgallon.paper.figures import figure, mpg_figure
from lostgallon.paper.headline import expected_figure
from lostgallon.paper.look import kind_id
from lostgallon.paper.scale import Tick
from lostgallon.paper.svg import Frame, span, tag, text
from lostgallon.paper.words import Words

_TOP = 62.0
_BELOW_DECK = 20.0
_FOOT = 5.0
_LETTER_PX = 14.0
_STRONG_PX = 19.0
_NUMBERS_FROM, _NUMBERS_TO = 0.03, 0.8
_NARROW_PX, _PHONE_PX, _WIDE_PX, _WIDER_PX = 280.0, 328.0, 640.0, 900.0
_PAGES = ((_PHONE_PX, "bold"), (_WIDE_PX, "bold wide"), (_WIDER_PX, "bold wider"))
"""Width of a picture from which a letter is shown, and the class that says so."""
_TORN_LEFT = "M-3-1h7l4 9-6 8 7 10-7 9 6 9-6 10 5 20H-3z"
_TORN_RIGHT = "M3-1h-8l-4 10 6 8-7 9 7 10-6 9 6 9-5 20H3z"


def bridge_svg(bridge: Bridge, words: Words, *, frame: Frame) -> str:
    """The picture of a bridge.

    Args:
        bridge: Its geometry.
        words: The language.
        frame: A page or paper.
    """
    deck_bottom = _TOP + frame.deck_px
    rule_top = deck_bottom + _BELOW_DECK
    rule_bottom = rule_top + (68.0 if frame.width_px is None else 56.0)
    after, below = [], 4.0
    if bridge.expected:
        label = _expected_label(bridge.expected, words, frame)
        after = _expected(bridge.expected, label, frame, rule_bottom=rule_bottom)
        below = 42.0 if label.side == "below" else 24.0
    return frame.picture(
        *_bracket(bridge, words, frame),
        *(_planks(bridge, frame) if bridge.spans else ()),
        *_rule_ground(frame, rule_top, rule_bottom),
        *_gap(bridge, frame),
        *_banks(bridge, words, frame, rule_top=rule_top),
        *_numbers(bridge.ticks, frame, edge_px=rule_top, tick_px=13.0, baseline_px=rule_top + 27.0),
        *_numbers(bridge.other_ticks, frame, edge_px=rule_bottom, tick_px=-8.0, baseline_px=rule_bottom - 11.0),
        *_units(frame, words, rule_top, rule_bottom),
        *after,
        height_px=rule_bottom + below,
        says=picture_says(bridge, words),
    )


def picture_says(bridge: Bridge, words: Words) -> str:
    """The picture in a sentence, for those who do not see it."""
    then, now = bridge.headline.then, bridge.headline.now
    rest = figure(bridge.open.l_per_100km, factor=words.measure.fuel).middle
    letters = [step.letter for step in bridge.steps if step.letter]
    if not letters:
        return words("picture.none", then=then, now=now, rest=rest)
    return words("picture.says", then=then, now=now, first=letters[0], last=letters[-1], rest=rest)


def _bracket(bridge: Bridge, words: Words, frame: Frame) -> list[str]:
    soft = [
        tag("rect", y=27, height=8, fill="url(#band)", **frame.bar(*bank.soft)) for bank in (bridge.then, bridge.now)
    ]
    ends = [frame.upright(bank.at, 24, 38) for bank in (bridge.then, bridge.now)]
    if not bridge.spans:
        return [*soft, *ends]
    middle = (bridge.then.at + bridge.now.at) / 2.0
    said, likely = lost_words(bridge, words)
    half = advance_px(said, bold=True, size_px=_STRONG_PX) / 2.0 / (frame.width_px or _NARROW_PX)
    place, anchor = (
        (0.0, "start") if middle < max(0.3, half) else (1.0, "end") if middle > min(0.7, 1.0 - half) else (middle, "")
    )
    label = text(escape(said) + span(likely, "wide"), x=frame.x(place), y=19, class_=f"strong {anchor}".strip())
    return [label, *soft, frame.level(31, left=bridge.then.at, right=bridge.now.at), *ends]


def _planks(bridge: Bridge, frame: Frame) -> list[str]:
    marks = [mark for step in bridge.steps for mark in _plank(step, frame)]
    marks += _letters(bridge, frame)
    foot = bridge.fault_foot
    if foot and foot[1] > foot[0]:
        bottom = _TOP + frame.deck_px + 2.0
        marks.append(tag("rect", y=bottom, height=_FOOT, class_="solid", **frame.bar(*foot)))
    return marks


def _plank(step: Step, frame: Frame) -> list[str]:
    if step.middle == step.start:
        return []
    deck = {"y": _TOP, "height": frame.deck_px}
    back = step.middle < step.start
    return [
        tag(
            "rect",
            fill=f"url(#{kind_id(step.entry.kind)})",
            class_="plank",
            **deck,
            **frame.bar(step.start, step.middle),
        ),
        tag(
            "rect",
            fill=f"url(#{'half-back' if back else 'half'})",
            class_="fade",
            **deck,
            **frame.bar(step.solid, step.middle),
        ),
        frame.upright(step.middle, _TOP - 2.0, _TOP + frame.deck_px + _BELOW_DECK, class_="pier"),
    ]


def _letters(bridge: Bridge, frame: Frame) -> list[str]:
    """Letters above their planks, the longest plank first; one that has no room of its own waits for a wider page."""
    pages = _PAGES if frame.width_px is None else ((frame.width_px, "bold"),)
    shown: list[tuple[float, float, str, str]] = []
    for step in sorted(bridge.steps, key=lambda step: -abs(step.middle - step.start)):
        middle, width = (step.start + step.middle) / 2.0, abs(step.middle - step.start)
        if not (bridge.then.at < middle < bridge.now.at and step.letter):
            continue
        for page_px, class_ in pages:
            free = all(abs(at - middle) * max(page_px, least_px) >= _LETTER_PX for at, least_px, *_ in shown)
            if free and width * page_px >= _LETTER_PX:
                shown.append((middle, page_px, class_, step.letter))
                break
    return [text(letter, x=frame.x(at), y=_TOP - 7.0, class_=class_) for at, _, class_, letter in sorted(shown)]


def _gap(bridge: Bridge, frame: Frame) -> list[str]:
    if not bridge.spans or bridge.deck_end >= bridge.now.at:
        return []
    edges = (_TOP + 1.0, _TOP + frame.deck_px - 1.0)
    gap = [frame.level(y, left=bridge.gap_start, right=bridge.now.at, class_="open") for y in edges]
    if bridge.gap_start <= bridge.deck_end:
        return gap
    between = (bridge.deck_end, bridge.gap_start)
    deck = tag("rect", class_="steel", y=_TOP, height=frame.deck_px, **frame.bar(*between))
    pier = frame.upright(bridge.gap_start, _TOP - 2.0, _TOP + frame.deck_px + _BELOW_DECK, class_="pier")
    return [deck, *(frame.level(y, left=between[0], right=between[1]) for y in edges), pier, *gap]


def _banks(bridge: Bridge, words: Words, frame: Frame, *, rule_top: float) -> list[str]:
    left, right = sorted((bridge.then, bridge.now), key=lambda bank: bank.at)
    top = _TOP - 2.0
    height = rule_top - top
    torn = "scale(1 {})".format(f"{height / 73.0:.3f}")
    marks = [
        tag("rect", class_="ground", y=top, height=height, **frame.bar(0.0, left.at)),
        tag("rect", class_="ground", y=top, height=height, **frame.bar(right.at, 1.0)),
        frame.pinned(
            0.0, tag("g", tag("path", class_="torn", d=_TORN_LEFT, transform=torn), transform=f"translate(0 {top})")
        ),
        frame.pinned(
            1.0, tag("g", tag("path", class_="torn", d=_TORN_RIGHT, transform=torn), transform=f"translate(0 {top})")
        ),
    ]
    if bridge.spans and bridge.deck_end > bridge.now.at:
        edges = (_TOP + 1.0, _TOP + frame.deck_px - 1.0)
        marks += [frame.level(y, left=bridge.now.at, right=bridge.deck_end, class_="open-on") for y in edges]
    texts = {
        id(bridge.then): (bridge.headline.then, words("then")),
        id(bridge.now): (bridge.headline.now, words("now")),
    }
    for bank, middle, width in ((left, left.at / 2.0, left.at), (right, (right.at + 1.0) / 2.0, 1.0 - right.at)):
        marks += _bank_words(bank, texts[id(bank)], words, frame=frame, middle=middle, width=width)
    return marks


def _bank_words(
    bank: Bank, texts: tuple[str, str], words: Words, *, frame: Frame, middle: float, width: float
) -> list[str]:
    number, name = texts
    mpg = f"{mpg_figure(bank.l_per_100km).middle} mpg " if words.measure.name == "us" else ""
    room = frame.width_px is None or width * frame.width_px > advance_px(mpg + name) + 8.0
    above = (span(mpg, "wide") if room else "") + escape(name)
    return [
        text(number, x=frame.x(middle), y=_TOP + frame.deck_px / 2.0 + 15.0, class_="in"),
        text(above, x=frame.x(middle), y=_TOP - 7.0),
    ]


def _rule_ground(frame: Frame, top: float, bottom: float) -> list[str]:
    return [
        tag("rect", class_="steel", y=top, height=bottom - top, **frame.bar(0.0, 1.0)),
        frame.level(top),
        frame.level(bottom),
    ]


def _numbers(ticks: tuple[Tick, ...], frame: Frame, *, edge_px: float, tick_px: float, baseline_px: float) -> list[str]:
    marks = [frame.upright(tick.at, edge_px, edge_px + tick_px * (1.0 if tick.number else 0.5)) for tick in ticks]
    shown = [tick for tick in ticks if tick.number and _NUMBERS_FROM < tick.at < _NUMBERS_TO]
    return [*marks, *(text(tick.number, x=frame.x(tick.at), y=baseline_px) for tick in shown)]


def _units(frame: Frame, words: Words, top: float, bottom: float) -> list[str]:
    first, other = (
        escape(words(f"unit.{which}")) + span(f"\N{NO-BREAK SPACE}{words(f'unit.{which}_per')}", "wide")
        for which in ("fuel", "other_fuel")
    )
    return [
        text(first, x=frame.x(0.995), y=top + 27.0, class_="end quiet"),
        text(other, x=frame.x(0.995), y=bottom - 11.0, class_="end quiet"),
    ]


@dataclass(frozen=True)
class _ExpectedLabel:
    """What is expected, in words, and where the words have room: left or right of the band, or below it."""

    name: str
    said: str
    side: Literal["left", "right", "below"]


def _expected_label(expected: Expected, words: Words, frame: Frame) -> _ExpectedLabel:
    size = expected_figure(expected.l_per_100km, factor=words.measure.fuel)
    name = words("expected")
    said = words("expected_figure", middle=size.middle, low=size.low, high=size.high)
    needed = (advance_px(name, bold=True) + advance_px(said) + 12.0) / (frame.width_px or _WIDE_PX)
    fits_right = 1.0 - expected.soft[1] >= needed
    return _ExpectedLabel(name, said, "left" if expected.soft[0] >= needed else "right" if fits_right else "below")


def _expected(expected: Expected, label: _ExpectedLabel, frame: Frame, *, rule_bottom: float) -> list[str]:
    at, anchor, away, down = {
        "left": (expected.soft[0], "end", -10.0, 17.0),
        "right": (expected.soft[1], "start", 10.0, 17.0),
        "below": (1.0, "end", 0.0, 35.0),
    }[label.side]
    said = span(label.name, "bold") + span(label.said, "wide")
    return [
        tag("rect", y=rule_bottom + 3.0, height=8, fill="url(#band)", **frame.bar(*expected.soft)),
        frame.pinned(expected.at, tag("path", d=f"M0 {rule_bottom + 1.0:g}l-8 13h16z", class_="solid")),
        text(said, x=frame.x(at), y=rule_bottom + down, class_=anchor, dx=away),
    ]
