"""The rule on which then, now, the promise and every later tank of a visit are drawn: one scale for all of them."""

from dataclasses import dataclass

from lostgallon.paper.figures import GAL_PER_100MI
from lostgallon.paper.scale import Scale, ticks
from lostgallon.paper.svg import Frame, tag, text
from lostgallon.shop.account import Account
from lostgallon.shop.spread import Spread
from lostgallon.web.say import Say

TOP, BOTTOM = 56.0, 90.0
_MARGIN = 0.25
_EDGE = 0.012
_NUMBER = 0.06
"""Half a number and its air on the narrowest page, as a share of the width."""


@dataclass(frozen=True)
class Ruler:
    """A rule of fuel per distance in a person's units."""

    scale: Scale
    frame: Frame
    say: Say

    def at(self, l_per_100km: float) -> float:
        """Where a use lies, 0 to 1; what is beyond the ends stands at the end."""
        return min(1.0 - _EDGE, max(_EDGE, self.scale.at(l_per_100km)))

    def strip(self, *, clear: tuple[float, ...] = ()) -> list[str]:
        """The rule itself with its numbers, but for those that would lie under a line at one of these places."""
        frame = self.frame
        marks = [tag("rect", class_="steel", y=TOP, height=BOTTOM - TOP, **frame.bar(0.0, 1.0)), frame.level(TOP)]
        for tick in ticks(self.scale, factor=GAL_PER_100MI if self.say.us else 1.0):
            marks.append(frame.upright(tick.at, TOP, TOP + (12.0 if tick.number else 6.0)))
            if tick.number and 0.06 < tick.at < 0.86 and all(abs(tick.at - at) > _NUMBER for at in clear):
                marks.append(text(tick.number, x=frame.x(tick.at), y=BOTTOM - 4.0))
        marks.append(text(self.say.unit, x=frame.x(0.995), y=BOTTOM - 4.0, class_="end quiet"))
        return marks

    def band(self, size: Spread) -> str:
        """A figure's interval as a band with soft ends, on top of the rule."""
        ends = self.frame.bar(self.at(size.p05), self.at(size.p95))
        return tag("rect", y=TOP - 12.0, height=10, fill="url(#band)", **ends)

    def pointer(self, l_per_100km: float, *, large: bool = False) -> str:
        """A mark that points down at a use."""
        path = f"M0 {TOP - 1:g}l-8 -13h16z" if large else f"M0 {TOP - 1:g}l-5 -9h10z"
        return self.frame.pinned(self.at(l_per_100km), tag("path", d=path, class_="solid"))


def ruler_of(account: Account, say: Say) -> Ruler:
    """The rule of a visit: wide enough for then, now and what is promised, whatever is drawn on it."""
    sizes = [account.loss.then_l_per_100km, account.loss.now_l_per_100km]
    ends = [end for size in sizes for end in (size.p05, size.p95)]
    margin = _MARGIN * (max(ends) - min(ends)) or 1.0
    low, high = min(ends) - margin, max(ends) + margin
    proof = account.proof
    for size in (proof.expected_l_per_100km, proof.as_before_l_per_100km):
        if size is not None:
            low, high = min(low, size.p05 - margin / 2.0), max(high, size.p95 + margin / 2.0)
    for limit in (proof.again_l_per_100km, proof.done_l_per_100km):
        if limit is not None:
            # Far enough from the right end that the unit's name there stays free.
            low, high = min(low, limit - margin / 2.0), max(high, low + (limit - low) / 0.84)
    return Ruler(Scale(low, high), Frame(), say)
