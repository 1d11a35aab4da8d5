"""Is it real? The sentence, and then and now as two bands on one rule."""

from dataclasses import dataclass

from lostgallon.paper.sayings import loss_sentence
from lostgallon.paper.svg import span, text
from lostgallon.shop.account import Account
from lostgallon.web.pages.ruler import TOP, ruler_of
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet

_HEIGHT = 96.0


@dataclass(frozen=True)
class Real:
    """The section. `files` are what the account rests on: what it is, its name, its entry while it can be undone."""

    sentence: str
    picture: str
    figures: str
    files: tuple[tuple[str, str, str], ...]


def real_of(sheet: Sheet, say: Say) -> Real | None:
    """The section, or None before the first account."""
    if sheet.account is None:
        return None
    loss = sheet.account.loss
    then, now = say.economy(loss.then_l_per_100km), say.economy(loss.now_l_per_100km)
    return Real(
        sentence=loss_sentence(loss, say.words),
        picture=_picture(sheet.account, say),
        figures=say("real.figures", then=then, now=now),
        files=tuple(
            (say(f"real.{name}"), str(found.value.get("name", "")), "" if sheet.sealed else found.id)
            for name, found in sheet.group("evidence")
            if isinstance(found.value, dict)
        ),
    )


def _picture(account: Account, say: Say) -> str:
    ruler, loss = ruler_of(account, say), account.loss
    marks = ruler.strip()
    for name, size in (("then", loss.then_l_per_100km), ("now", loss.now_l_per_100km)):
        at, figure = ruler.at(size.p50), say.per_distance(size)
        left = at > 0.5
        label = (
            span(say(name), "bold")
            + span(f" {figure.middle}", "bold")
            + span(f" {say('explains.likely', low=figure.low, high=figure.high)}", "wide")
        )
        place, dx = ("end", 10.0) if left else ("start", -10.0)
        marks += [
            ruler.band(size),
            ruler.pointer(size.p50, large=True),
            text(label, x=ruler.frame.x(at), y=TOP - 22.0, class_=place, dx=dx),
        ]
    says = say("real.picture", then=say.about(loss.then_l_per_100km), now=say.about(loss.now_l_per_100km))
    return ruler.frame.picture(*marks, height_px=_HEIGHT, says=says)
