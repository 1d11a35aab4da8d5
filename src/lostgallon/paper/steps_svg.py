"""The steps below the bridge: a row for every cause, as one picture."""

from dataclasses import dataclass

from lostgallon.paper.advance import advance_px
from lostgallon.paper.bridge import Bridge, Open, Step
from lostgallon.paper.bridge_text import chance_pct
from lostgallon.paper.figures import figure
from lostgallon.paper.look import kind_id
from lostgallon.paper.sayings import cause_name
from lostgallon.paper.svg import Frame, span, tag, text
from lostgallon.paper.words import Words
from lostgallon.shop.spread import Spread

_BAR_PX, _ROW_PX, _LABEL_LINE_PX = 16.0, 23.0, 20.0
_NARROWEST_WIDE_PX = 640.0
_LABEL_RIGHT_UNTIL = 0.56


@dataclass(frozen=True)
class Label:
    """What stands beside a step: in bold, plain, quiet."""

    bold: str
    plain: str
    quiet: str

    @property
    def width_px(self) -> float:
        """Its width at 16 px."""
        return advance_px(self.bold, bold=True) + advance_px(f" {self.plain}{self.quiet}")

    def spans(self) -> str:
        """The label as parts of one line of text."""
        return span(self.bold, "bold") + span(f" {self.plain}", "") + span(self.quiet, "quiet")


def label_of(step: Step, words: Words, *, corrected: frozenset[str] = frozenset()) -> Label:
    """Letter, name and figure of a cause; for a fault how likely it is there, or that it has been corrected."""
    if step.entry.cause in corrected:
        name = words("corrected", name=cause_name(step.entry, words))
        return _label(f"{step.letter} {name}", step.entry.l_per_100km, words)
    there = f", {words('there_short', chance=chance_pct(step.entry.present, words))}" if step.entry.fault else ""
    return _label(f"{step.letter} {cause_name(step.entry, words)}", step.entry.l_per_100km, words, more=there)


def open_label(bridge: Bridge, words: Words) -> Label:
    """The label of the part not accounted for."""
    return _label(words("not_accounted_for"), bridge.open.l_per_100km, words)


def _label(name: str, size: Spread, words: Words, *, more: str = "") -> Label:
    shown = figure(size, factor=words.measure.fuel)
    likely = "" if shown.sharp else words("likely_after", low=shown.low, high=shown.high)
    return Label(name, shown.middle, f"{likely}{more}")


def step_marks(step: Step, frame: Frame, *, top_px: float, bar_px: float) -> list[str]:
    """The bar of a step: solid to the near end, fading through the median to the far end."""
    back = "-back" if step.far < step.start else ""
    level = {"y": top_px, "height": bar_px}
    marks = [
        tag(
            "rect", fill=f"url(#{kind_id(step.entry.kind)})", class_="plank", **level, **frame.bar(step.start, step.far)
        ),
        tag("rect", fill=f"url(#half{back})", class_="fade", **level, **frame.bar(step.solid, step.middle)),
        tag("rect", fill=f"url(#rest{back})", class_="fade", **level, **frame.bar(step.middle, step.far)),
    ]
    if step.back != step.start:
        marks.append(frame.level(top_px + bar_px / 2.0, left=step.back, right=step.start, class_="open"))
    return [*marks, frame.upright(step.middle, top_px - 3.0, top_px + bar_px + 3.0, class_="notch")]


def open_marks(part: Open, frame: Frame, *, top_px: float, bar_px: float) -> list[str]:
    """The bar of what is not accounted for: empty and dashed."""
    return [
        tag("rect", y=top_px + 1.0, height=bar_px - 2.0, class_="open", **frame.bar(part.low, part.high)),
        frame.upright(part.middle, top_px - 3.0, top_px + bar_px + 3.0, class_="notch"),
    ]


def side_of(label: Label, left: float, right: float, *, width_px: float) -> str:
    """Where a label stands beside a bar: `after`, `before`, or `above` where neither side has room."""
    needed = (label.width_px + 14.0) / width_px
    fits_after, fits_before = 1.0 - right >= needed, left >= needed
    if fits_after and (right < _LABEL_RIGHT_UNTIL or not fits_before):
        return "after"
    return "before" if fits_before else "above"


def label_text(label: Label, side: str, frame: Frame, left: float, right: float, *, y_px: float) -> str:
    """A label at its side of a bar."""
    if side == "after":
        return text(label.spans(), x=frame.x(right), y=y_px, class_="start", dx=10.0)
    if side == "before":
        return text(label.spans(), x=frame.x(left), y=y_px, class_="end", dx=-10.0)
    return text(label.spans(), x=frame.x(0.0), y=y_px, class_="start")


def steps_svg(bridge: Bridge, words: Words, *, frame: Frame, most: int, corrected: frozenset[str] = frozenset()) -> str:
    """All rows as one picture for paper.

    Args:
        bridge: The geometry.
        words: The language.
        frame: Paper of one width.
        most: At most so many causes, the largest; the caller says in words what is left out.
        corrected: Causes that have been corrected.
    """
    width_px = frame.width_px or _NARROWEST_WIDE_PX
    marks: list[str] = []
    top = 5.0
    for step in largest(bridge, most):
        top = _paper_row(
            marks, label_of(step, words, corrected=corrected), step.span, frame, top=top, width_px=width_px
        )
        marks += step_marks(step, frame, top_px=top, bar_px=_BAR_PX)
        top += _ROW_PX
    ends = (min(bridge.open.low, bridge.open.middle), max(bridge.open.high, bridge.open.middle))
    top = _paper_row(marks, open_label(bridge, words), ends, frame, top=top, width_px=width_px)
    marks += open_marks(bridge.open, frame, top_px=top, bar_px=_BAR_PX)
    return frame.picture(*marks, height_px=top + _ROW_PX, says=words("picture.steps"))


def _paper_row(
    marks: list[str], label: Label, ends: tuple[float, float], frame: Frame, *, top: float, width_px: float
) -> float:
    side = side_of(label, *ends, width_px=width_px)
    if side == "above":
        marks.append(label_text(label, side, frame, *ends, y_px=top + 11.0))
        return top + _LABEL_LINE_PX
    marks.append(label_text(label, side, frame, *ends, y_px=top + 13.0))
    return top


def largest(bridge: Bridge, most: int) -> tuple[Step, ...]:
    """The steps worth a row, at most so many, in the order of the bridge."""
    rows = [step for step in bridge.steps if step.shown]
    kept = sorted(rows, key=lambda step: -max(abs(step.entry.l_per_100km.mean), abs(step.entry.l_per_100km.p50)))[:most]
    return tuple(step for step in rows if step in kept)
