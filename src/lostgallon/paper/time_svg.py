"""The time strip as a picture: the promise, what is open, hands, waits, when it is likely done."""

from html import escape

from lostgallon.paper.advance import advance_px
from lostgallon.paper.svg import Frame, tag, text
from lostgallon.paper.time_strip import Stretch, TimeStrip
from lostgallon.paper.words import Words

_OPEN_LANE_PX = 36.0
_PHONE_PX, _NARROW_PX = 328.0, 280.0


def time_svg(strip: TimeStrip, words: Words, *, frame: Frame) -> str:
    """The picture of a plan.

    Args:
        strip: Its geometry.
        words: The language.
        frame: A page or paper.
    """
    hands = 30.0 + _OPEN_LANE_PX * len(strip.opens)
    waits, likely, rule = hands + 38.0, hands + 66.0, hands + 90.0
    return frame.picture(
        *_opens(strip, frame),
        tag("rect", class_="steel", y=rule, height=36, **frame.bar(0.0, 1.0)),
        frame.level(rule),
        *(mark for stretch in strip.stretches for mark in _stretch(stretch, frame, hands=hands, waits=waits)),
        *_likely(strip, words, frame, y_px=likely),
        *(frame.upright(tick.at, rule, rule + (14.0 if tick.number else 7.0)) for tick in strip.ticks),
        *(
            text(tick.number, x=frame.x(tick.at), y=rule + 31.0)
            for tick in strip.ticks
            if tick.number and 0.02 < tick.at < 0.98
        ),
        *_promise(strip, words, frame, bottom=rule),
        *_now(strip, frame, top=rule),
        height_px=rule + 40.0,
        says=words("picture.time"),
    )


def _opens(strip: TimeStrip, frame: Frame) -> list[str]:
    marks = []
    for count, lane in enumerate(strip.opens):
        y = 42.0 + _OPEN_LANE_PX * count
        marks += [
            text(escape(lane.what), x=frame.x(lane.start), y=y - 8.0, class_="start quiet"),
            frame.level(y, left=lane.start, right=lane.end, class_="limit"),
            frame.upright(lane.end, y - 8.0, y + 8.0, class_="limit"),
        ]
    return marks


def _stretch(stretch: Stretch, frame: Frame, *, hands: float, waits: float) -> list[str]:
    bar = frame.bar(stretch.start, stretch.end)
    room = (stretch.end - stretch.start) * (frame.width_px or _PHONE_PX) - 8.0
    fits = advance_px(stretch.what) <= room
    middle = frame.x((stretch.start + stretch.end) / 2.0)
    if stretch.lane == "wait":
        return [tag("rect", fill="url(#outside)", class_="wait", y=waits, height=20, **bar)]
    if stretch.lane == "free":
        return [tag("rect", class_="open", y=hands + 1.0, height=32, **bar)]
    block = tag("rect", class_="act", y=hands, height=34, **bar)
    edge = frame.upright(stretch.start, hands, hands + 34.0, class_="edge")
    if fits or frame.width_px is None:
        class_ = "on-act" if fits else "on-act wide"
        room_wide = (stretch.end - stretch.start) * 640.0 - 8.0
        if fits or advance_px(stretch.what) <= room_wide:
            return [block, edge, text(escape(stretch.what), x=middle, y=hands + 23.0, class_=class_)]
    return [block, edge]


def _likely(strip: TimeStrip, words: Words, frame: Frame, *, y_px: float) -> list[str]:
    if strip.likely is None:
        return []
    said, page_px = words("time.likely_done"), frame.width_px or _NARROW_PX
    needed = (advance_px(said) + 8.0) / page_px
    if strip.likely[0] >= needed:
        at, side, away = strip.likely[0], "end", -4.0
    elif 1.0 - strip.likely[1] >= needed:
        at, side, away = strip.likely[1], "start", 4.0
    else:
        at, side, away = 0.0, "on start", 0.0
    label = text(escape(said), x=frame.x(at), y=y_px + 11.0, class_=side, dx=away)
    return [tag("rect", y=y_px, height=12, fill="url(#band)", **frame.bar(*strip.likely)), label]


def _promise(strip: TimeStrip, words: Words, frame: Frame, *, bottom: float) -> list[str]:
    if strip.promised is None:
        return []
    right = strip.promised > 0.5
    return [
        frame.upright(strip.promised, 4.0, bottom, class_="limit"),
        text(
            escape(words("time.promised")),
            x=frame.x(strip.promised),
            y=17.0,
            class_="bold end" if right else "bold start",
            dx=-8.0 if right else 8.0,
        ),
    ]


def _now(strip: TimeStrip, frame: Frame, *, top: float) -> list[str]:
    if strip.now is None:
        return []
    return [frame.pinned(strip.now, tag("path", d=f"M0 {top:g}l-8 14h16z", class_="solid"))]
