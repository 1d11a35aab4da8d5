"""Is it real? The sentence, and then and now as two bands on one rule."""

from dataclasses import dataclass

from lostgallon.paper.advance import advance_px
from lostgallon.paper.figures import Figure
from lostgallon.paper.sayings import loss_sentence
from lostgallon.paper.svg import span, text
from lostgallon.shop.account import Account
from lostgallon.web.pages.ruler import TOP, ruler_of
from lostgallon.web.say import Say
from lostgallon.web.sheet import Sheet

_HEIGHT = 96.0
_LINE, _OUT, _BETWEEN = 19.0, 10.0, 8.0
_PHONE_PX, _WIDE_PX = 280.0, 640.0


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


@dataclass(frozen=True)
class _Label:
    """Words above a mark: the short form of a phone and what a wide page adds; they go to one side of the mark."""

    at: float
    short: str
    likely: str

    @property
    def leftward(self) -> bool:
        return self.at > 0.5

    def covers(self, page_px: float, *, wide: bool) -> tuple[float, float]:
        """Left and right end on a page of this width. [px]"""
        width = advance_px(self.short, bold=True) + (advance_px(self.likely) if wide else 0.0)
        edge = self.at * page_px + (_OUT if self.leftward else -_OUT)
        return (edge - width, edge) if self.leftward else (edge, edge + width)


def _label(name: str, at: float, figure: Figure, say: Say) -> _Label:
    likely = say("explains.likely", low=figure.low, high=figure.high)
    return _Label(at=at, short=f"{say(name)} {figure.middle}", likely=likely)


def _meet(then: _Label, now: _Label) -> bool:
    """Whether the words would lie upon each other on the narrowest page, or on the narrowest that says more."""
    for page_px, wide in ((_PHONE_PX, False), (_WIDE_PX, True)):
        (a, b), (c, d) = then.covers(page_px, wide=wide), now.covers(page_px, wide=wide)
        if a < d + _BETWEEN and c < b + _BETWEEN:
            return True
    return False


def _picture(account: Account, say: Say) -> str:
    ruler, loss = ruler_of(account, say), account.loss
    marks = ruler.strip()
    sizes = {"then": loss.then_l_per_100km, "now": loss.now_l_per_100km}
    labels = [_label(name, ruler.at(size.p50), say.per_distance(size), say) for name, size in sizes.items()]
    lowest = TOP - 22.0
    for size, label, y_px in zip(
        sizes.values(), labels, (lowest, lowest - (_LINE if _meet(*labels) else 0.0)), strict=True
    ):
        place, dx = ("end", _OUT) if label.leftward else ("start", -_OUT)
        said = span(label.short, "bold") + span(label.likely, "wide")
        marks += [
            ruler.band(size),
            ruler.pointer(size.p50, large=True),
            text(said, x=ruler.frame.x(label.at), y=y_px, class_=place, dx=dx),
        ]
    says = say("real.picture", then=say.about(loss.then_l_per_100km), now=say.about(loss.now_l_per_100km))
    return ruler.frame.picture(*marks, height_px=_HEIGHT, says=says)
