"""What a recorded drive shows, as pictures: warm-up, fuel trims, coast-downs, fuel over distance. Never a needle."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from itertools import groupby

from lostgallon.paper.figures import rounded
from lostgallon.paper.sayings import sentence_case
from lostgallon.paper.scale import Scale, ticks
from lostgallon.paper.svg import Frame, tag, text
from lostgallon.paper.words import Words
from lostgallon.shop.driven import CoastDown, Curve, DriveTold, Trim, WarmUp
from lostgallon.shop.marks import COASTING_CAUTION
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.units import fahrenheit_of

_TOP, _PLOT_PX, _RULE_PX = 26.0, 150.0, 36.0
_ROW_PX, _BAR_PX = 28.0, 14.0
_ROW_FROM, _ROW_TO = 0.2, 0.84
_TRIM_REACH_PCT, _ACCEPTABLE_PCT = 25.0, 10.0
"""Total trim beyond 10 % is hatched (trade practice: within 5 good, 10 acceptable)."""


@dataclass(frozen=True)
class DrivePicture:
    """One picture, what it shows as the log's verdict says it, its caution, and what would tell more."""

    name: str
    says: str
    svg: str
    caution: str = ""
    would_take: str = ""


@dataclass(frozen=True)
class _Axes:
    """Two scales in the units shown: along the width, and upward."""

    across: Scale
    up: Scale

    def place(self, point: tuple[float, float]) -> tuple[float, float]:
        """A point as a share of the width and a y in px."""
        return self.across.at(point[0]), _TOP + _PLOT_PX * (1.0 - self.up.at(point[1]))

    def places(self, curve: Curve) -> list[tuple[float, float]]:
        """All points of a curve."""
        return [self.place(point) for point in curve]


def drive_pictures(drive: DriveTold, words: Words, *, frame: Frame) -> tuple[DrivePicture, ...]:
    """Every picture that the drive has readings for.

    Args:
        drive: What the log says.
        words: The language.
        frame: A page or paper.
    """
    made = []
    if drive.warm_up and len(drive.warm_up.curve) > 1:
        made.append(("warm_up", words.told(drive.warm_up.says), warm_up_svg(drive.warm_up, words, frame=frame)))
    if drive.trims:
        made.append(("trims", words.told(drive.trims_say), trims_svg(drive.trims, words, frame=frame)))
    coasts = [coast for coast in drive.coast_downs if len(coast.curve) > 1]
    if coasts:
        made.append(("coast_down", _coasting_says(coasts[0], drive, words), coast_svg(coasts, words, frame=frame)))
    if len(drive.fuel_over_distance) > 1:
        made.append(("fuel", "", fuel_svg(drive.fuel_over_distance, words, frame=frame)))
    beside = {"coast_down": (words.caution(COASTING_CAUTION), _would_tell(drive, words))}
    return tuple(
        DrivePicture(words(f"driven.{name}"), says, svg, *beside.get(name, ("", ""))) for name, says, svg in made
    )


def _coasting_says(coast: CoastDown, drive: DriveTold, words: Words) -> str:
    """What coasting shows and, where drag can't be told from it, why not."""
    lacks = [sentence_case(words.told(one.missing)) for one in _drag_lacks(drive)]
    return ". ".join((words.told(coast.says), *lacks))


def _would_tell(drive: DriveTold, words: Words) -> str:
    """What would tell the drag that coasting can't: the technician's business, and not the owner's."""
    return " ".join(f"{sentence_case(words.told(one.would_take))}." for one in _drag_lacks(drive))


def _drag_lacks(drive: DriveTold) -> list[NotEnough]:
    return [one for one in drive.not_enough if one.name == "drag"]


def warm_up_svg(warm_up: WarmUp, words: Words, *, frame: Frame) -> str:
    """The coolant over the minutes, on the band of a sound thermostat."""
    curve = _warmth(warm_up.curve, words)
    band = _warmth((*warm_up.expected_high, *warm_up.expected_low[::-1]), words)
    axes = _axes((*curve, *band))
    marks = [frame.curve(axes.places(band), class_="likely")] if band else []
    marks.append(frame.curve(axes.places(curve), class_="curve"))
    note = words("driven.band") if band else ""
    return _graph(marks, axes, (words("driven.coolant"), words("driven.minutes"), note), words, frame=frame)


def _warmth(curve: Curve, words: Words) -> Curve:
    """A curve of degrees Celsius in the reader's degrees."""
    if words.measure.name == "metric":
        return curve
    return tuple((minutes, fahrenheit_of(celsius)) for minutes, celsius in curve)


def coast_svg(coasts: Sequence[CoastDown], words: Words, *, frame: Frame) -> str:
    """Measured force over speed, on the force that a sound vehicle would need."""
    axes = _axes([point for coast in coasts for point in (*coast.curve, *coast.expected)], from_zero=True)
    marks = [frame.curve(axes.places(coasts[0].expected), class_="curve dashed")]
    marks += [frame.curve(axes.places(coast.curve), class_="curve") for coast in coasts]
    names = (words("driven.force"), words("driven.speed"), words("driven.dashed"))
    return _graph(marks, axes, names, words, frame=frame)


def fuel_svg(fuel_over_distance: Curve, words: Words, *, frame: Frame) -> str:
    """Fuel used over the distance driven."""
    distance, volume = words.measure.distance, words.measure.volume
    curve = tuple((km * distance, liters * volume) for km, liters in fuel_over_distance)
    axes = _axes(curve, from_zero=True)
    marks = [frame.curve(axes.places(curve), class_="curve")]
    return _graph(marks, axes, (words("driven.fuel_used"), words("driven.driven"), ""), words, frame=frame)


def speed_svg(speed_over_time: Curve, words: Words, *, frame: Frame) -> str:
    """Road speed over the minutes of the log, where coasting is to be marked in it."""
    faster = words.measure.distance
    axes = _axes(tuple((minutes, km_h * faster) for minutes, km_h in speed_over_time), from_zero=True)
    marks = [frame.curve(axes.places(tuple((at, km_h * faster) for at, km_h in speed_over_time)), class_="curve")]
    return _graph(marks, axes, (words("driven.road_speed"), words("driven.minutes"), ""), words, frame=frame)


def _axes(points: Sequence[tuple[float, float]], *, from_zero: bool = False) -> _Axes:
    across, up = [point[0] for point in points], [point[1] for point in points]
    low, high = (0.0 if from_zero else min(up)), max(up)
    margin = 0.06 * (high - low) or 1.0
    return _Axes(
        Scale(min(across), max(*across, min(across) + 1e-6)),
        Scale(low if from_zero else low - margin, high + margin),
    )


def _graph(marks: list[str], axes: _Axes, names: tuple[str, str, str], words: Words, *, frame: Frame) -> str:
    """Curves over level lines with their numbers, and the rule they run along."""
    up, across, note = names
    bottom = _TOP + _PLOT_PX
    levels = [tick for tick in ticks(axes.up) if tick.number]
    return frame.picture(
        *(frame.level(_TOP + _PLOT_PX * (1.0 - tick.at), class_="hair") for tick in levels),
        *marks,
        *(
            text(tick.number, x=frame.x(0.0), y=_TOP + _PLOT_PX * (1.0 - tick.at) - 4.0, class_="start quiet")
            for tick in levels
            if 0.04 < tick.at < 0.93
        ),
        text(escape(up), x=frame.x(0.0), y=16.0, class_="start bold"),
        text(escape(note), x=frame.x(1.0), y=16.0, class_="end quiet"),
        *_rule(axes.across, across, frame, top=bottom),
        height_px=bottom + _RULE_PX + 2.0,
        says=words("driven.picture", up=up, across=across),
    )


def _rule(scale: Scale, unit: str, frame: Frame, *, top: float) -> list[str]:
    marks = [tag("rect", class_="steel", y=top, height=_RULE_PX, **frame.bar(0.0, 1.0)), frame.level(top)]
    for tick in ticks(scale):
        marks.append(frame.upright(tick.at, top, top + (11.0 if tick.number else 6.0)))
        if tick.number and 0.02 < tick.at < 0.8:
            marks.append(text(tick.number, x=frame.x(tick.at), y=top + 28.0))
    return [*marks, text(escape(unit), x=frame.x(0.995), y=top + 28.0, class_="end quiet")]


def trims_svg(trims: Sequence[Trim], words: Words, *, frame: Frame) -> str:
    """A strip for every bank on one rule: fuel taken out to the left, put in to the right."""
    scale = Scale(-_TRIM_REACH_PCT, _TRIM_REACH_PCT)
    marks: list[str] = []
    top = 0.0
    for bank, of_bank in groupby(sorted(trims, key=lambda trim: trim.bank), key=lambda trim: trim.bank):
        marks.append(text(escape(words("driven.bank", bank=bank)), x=frame.x(0.0), y=top + 17.0, class_="start bold"))
        top += 24.0
        rows = list(of_bank)
        marks += _trim_ground(scale, frame, top=top, bottom=top + _ROW_PX * len(rows))
        for trim in rows:
            marks += _trim_row(trim, scale, words, frame=frame, top=top)
            top += _ROW_PX
    for pct in (-20, -10, 0, 10, 20):
        marks.append(
            text(
                f"{pct:+d}".replace("-", "−") if pct else "0",
                x=frame.x(_within(scale, pct)),
                y=top + 20.0,
                class_="quiet",
            )
        )
    marks.append(text("%", x=frame.x(1.0), y=top + 20.0, class_="end quiet"))
    says = ", ".join(
        f"{words('driven.bank', bank=trim.bank)} {words(f'driven.{trim.region}')} {_signed(trim.total_pct)} %"
        for trim in trims
    )
    return frame.picture(*marks, height_px=top + 26.0, says=f"{words('driven.trims')}: {says}")


def _within(scale: Scale, pct: float) -> float:
    return _ROW_FROM + (_ROW_TO - _ROW_FROM) * min(1.0, max(0.0, scale.at(pct)))


def _trim_ground(scale: Scale, frame: Frame, *, top: float, bottom: float) -> list[str]:
    far = {"y": top, "height": bottom - top}
    return [
        tag("rect", class_="steel", **far, **frame.bar(_ROW_FROM, _ROW_TO)),
        tag("rect", fill="url(#outside)", **far, **frame.bar(_ROW_FROM, _within(scale, -_ACCEPTABLE_PCT))),
        tag("rect", fill="url(#outside)", **far, **frame.bar(_within(scale, _ACCEPTABLE_PCT), _ROW_TO)),
        frame.upright(_within(scale, 0.0), top, bottom),
    ]


def _trim_row(trim: Trim, scale: Scale, words: Words, *, frame: Frame, top: float) -> list[str]:
    base = top + _ROW_PX / 2.0
    ends = _within(scale, 0.0), _within(scale, trim.total_pct)
    return [
        text(escape(words(f"driven.{trim.region}")), x=frame.x(0.0), y=base + 6.0, class_="start"),
        tag("rect", class_="solid", y=base - _BAR_PX / 2.0, height=_BAR_PX, **frame.bar(*ends)),
        text(_signed(trim.total_pct), x=frame.x(1.0), y=base + 6.0, class_="end bold"),
    ]


def _signed(pct: float) -> str:
    said = rounded(pct, 0.1)
    return said if said == "0" or said.startswith("−") else f"+{said}"
