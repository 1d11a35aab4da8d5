"""Is it real? The sentence, and then and now as two bands on one rule."""

from dataclasses import dataclass

from lostgallon.paper.figures import GAL_PER_100MI
from lostgallon.paper.sayings import loss_sentence
from lostgallon.paper.scale import Scale, ticks
from lostgallon.paper.svg import Frame as Drawn
from lostgallon.paper.svg import span, tag, text
from lostgallon.shop.account import Loss
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet

_RULE_TOP, _RULE_BOTTOM, _HEIGHT = 56.0, 90.0, 96.0


@dataclass(frozen=True)
class Real:
    """The section."""

    sentence: str
    picture: str
    figures: str


def real_of(sheet: Sheet, say: Say) -> Real | None:
    """The section, or None before the first account."""
    if sheet.account is None:
        return None
    loss = sheet.account.loss
    then, now = say.economy(loss.then_l_per_100km), say.economy(loss.now_l_per_100km)
    return Real(
        sentence=loss_sentence(loss, say.words),
        picture=_picture(loss, say),
        figures=say("real.figures", then=then, now=now),
    )


def _picture(loss: Loss, say: Say) -> str:
    factor = GAL_PER_100MI if say.us else 1.0
    ends = [end for size in (loss.then_l_per_100km, loss.now_l_per_100km) for end in (size.p05, size.p95)]
    margin = 0.25 * (max(ends) - min(ends))
    scale, frame = Scale(min(ends) - margin, max(ends) + margin), Drawn()
    marks = [
        tag("rect", class_="steel", y=_RULE_TOP, height=_RULE_BOTTOM - _RULE_TOP, **frame.bar(0.0, 1.0)),
        frame.level(_RULE_TOP),
    ]
    for tick in ticks(scale, factor=factor):
        marks.append(frame.upright(tick.at, _RULE_TOP, _RULE_TOP + (12.0 if tick.number else 6.0)))
        if tick.number and 0.06 < tick.at < 0.86:
            marks.append(text(tick.number, x=frame.x(tick.at), y=_RULE_BOTTOM - 4.0))
    marks.append(text(say.unit, x=frame.x(0.995), y=_RULE_BOTTOM - 4.0, class_="end quiet"))
    for name, size in (("then", loss.then_l_per_100km), ("now", loss.now_l_per_100km)):
        at, figure = scale.at(size.p50), say.per_distance(size)
        left = at > 0.5
        label = (
            span(say(name), "bold")
            + span(f" {figure.middle}", "bold")
            + span(f" {say('explains.likely', low=figure.low, high=figure.high)}", "wide")
        )
        marks += [
            tag(
                "rect",
                y=_RULE_TOP - 12.0,
                height=10,
                fill="url(#band)",
                **frame.bar(scale.at(size.p05), scale.at(size.p95)),
            ),
            frame.pinned(at, tag("path", d=f"M0 {_RULE_TOP - 1:g}l-8 -13h16z", class_="solid")),
            text(
                label,
                x=frame.x(at),
                y=_RULE_TOP - 22.0,
                class_="end" if left else "start",
                dx=10.0 if left else -10.0,
            ),
        ]
    says = say("real.picture", then=say.about(loss.then_l_per_100km), now=say.about(loss.now_l_per_100km))
    return frame.picture(*marks, height_px=_HEIGHT, says=says)
