"""The figures that are said first: then, now, the loss, what is expected; rounded so that they agree."""

from dataclasses import dataclass

from lostgallon.paper.figures import Figure, figure, rounded, rounding_step
from lostgallon.shop.account import Loss
from lostgallon.shop.spread import Spread

_COARSEST_FINE = 0.1
_STEPS = (0.5, _COARSEST_FINE, 0.05, 0.01)


@dataclass(frozen=True)
class Headline:
    """Then, now and the loss as texts of one rounding; now less then is the loss as it is read."""

    then: str
    now: str
    lost: str
    lost_low: str
    lost_high: str

    @property
    def has_interval(self) -> bool:
        """Whether there is an interval of the loss to show: on record, and wider than the rounding."""
        return self.lost_low != self.lost_high


def headline(loss: Loss, *, factor: float = 1.0) -> Headline:
    """The headline of a loss.

    Args:
        loss: The loss, L/100 km.
        factor: Times L/100 km gives the unit to show.

    Returns:
        Texts at the coarsest step, a tenth or coarser where the intervals are wide, at which the sum reads true.
    """
    then, now = (spread.p50 * factor for spread in (loss.then_l_per_100km, loss.now_l_per_100km))
    exact = loss.lost_l_per_100km
    lost = exact.p50 * factor if exact else now - then
    widths = [
        (spread.p95 - spread.p05) * factor for spread in (loss.then_l_per_100km, loss.now_l_per_100km, exact) if spread
    ]
    coarsest = rounding_step(min(widths), then, smallest=_COARSEST_FINE)
    step = next(
        (step for step in _STEPS if step <= coarsest + 1e-9 and _reads_true(then, now, lost, step=step)), _STEPS[-1]
    )
    return Headline(
        then=rounded(then, step),
        now=rounded(now, step),
        lost=rounded(lost, step),
        lost_low=rounded(exact.p05 * factor, step) if exact else "",
        lost_high=rounded(exact.p95 * factor, step) if exact else "",
    )


def _reads_true(then: float, now: float, lost: float, *, step: float) -> bool:
    return round(now / step) - round(then / step) == round(lost / step)


def expected_figure(size: Spread, *, factor: float = 1.0) -> Figure:
    """What is expected, to a tenth; finer only where a tenth would leave no interval."""
    shown = figure(size, factor=factor, smallest=_COARSEST_FINE)
    return figure(size, factor=factor) if shown.sharp else shown
