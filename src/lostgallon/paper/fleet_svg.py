"""The fills of one vehicle over time: open dots before, solid ones since, and the pooled figure of each side."""

import datetime as dt
from html import escape

from lostgallon.paper.scale import Scale, ticks
from lostgallon.paper.svg import Frame, tag, text
from lostgallon.shop.screened import Pictured
from lostgallon.shop.units import gal_per_100mi

TOP, BOTTOM = 34.0, 214.0
LEFT, RIGHT = 0.09, 0.985
DOT_PX = 4.5


def vehicle_svg(picture: Pictured, *, since: dt.date, us: bool) -> str:
    """The picture, for a page of any width.

    Args:
        picture: The fills.
        since: From when on it uses more.
        us: Gallons per 100 miles rather than liters per 100 km.
    """
    unit = "gal/100 mi" if us else "L/100 km"
    figures = [_in_unit(each, us=us) for each in picture.l_per_100km]
    before, after = (_in_unit(each, us=us) for each in (picture.before_l_per_100km, picture.after_l_per_100km))
    low, high = min(figures), max(figures)
    up = Scale(low - 0.05 * (high - low) - 1e-6, high + 0.05 * (high - low) + 1e-6)
    first, last = picture.days[0].toordinal(), max(picture.days[-1].toordinal(), picture.days[0].toordinal() + 1)
    along = Scale(float(first), float(last))
    frame = Frame()

    def x(day: dt.date) -> float:
        return LEFT + (RIGHT - LEFT) * along.at(float(day.toordinal()))

    def y(figure: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * up.at(figure)

    turn = min(max(x(since), LEFT), RIGHT)
    says = f"{picture.vehicle}: {before:.1f} {unit} until {since}, {after:.1f} since, {len(figures)} fills"
    return frame.picture(
        tag("rect", class_="steel", y=TOP - 8.0, height=BOTTOM - TOP + 16.0, **frame.bar(LEFT - 0.01, 1.0)),
        *(
            text(tick.number, x=frame.x(LEFT - 0.02), y=BOTTOM - (BOTTOM - TOP) * tick.at + 5.0, class_="end quiet")
            for tick in ticks(up)
            if tick.number
        ),
        text(unit, x=frame.x(0.0), y=16.0, class_="start quiet"),
        *(
            frame.pinned(
                x(day), tag("circle", cx=0, cy=y(figure), r=DOT_PX, class_="solid" if day >= since else "hollow")
            )
            for day, figure in zip(picture.days, figures, strict=True)
        ),
        frame.level(y(before), left=LEFT, right=turn, class_="notch"),
        frame.level(y(after), left=turn, right=RIGHT, class_="notch"),
        frame.upright(turn, TOP - 8.0, BOTTOM + 8.0, class_="open"),
        _label(frame, turn, f"since about {since:%b} {since.day}, {since.year}", y_px=16.0),
        text(escape(_month(picture.days[0])), x=frame.x(LEFT), y=BOTTOM + 28.0, class_="start quiet"),
        text(escape(_month(picture.days[-1])), x=frame.x(RIGHT), y=BOTTOM + 28.0, class_="end quiet"),
        height_px=BOTTOM + 36.0,
        says=says,
    )


def _label(frame: Frame, at: float, said: str, *, y_px: float) -> str:
    right = at > 0.5
    return text(escape(said), x=frame.x(at), y=y_px, class_="bold end" if right else "bold start")


def _month(day: dt.date) -> str:
    return f"{day:%b} {day.year}"


def _in_unit(l_per_100km: float, *, us: bool) -> float:
    return gal_per_100mi(l_per_100km) if us else l_per_100km
