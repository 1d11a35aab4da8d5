"""Starting from little: the owner's memory, the trip display, money spent, a few receipts.

Each figure is taken with its own honest width. Widths and display bias are expert judgement: chosen, no source,
until a shop's own sealed visits replace them.
"""

from dataclasses import dataclass

import numpy as np

from lostgallon.shop.filled import Rise
from lostgallon.shop.spread import Spread
from lostgallon.shop.visit import Basis, Period


@dataclass(frozen=True)
class Width:
    """How far a stated figure lies from what the pump would say. Natural logs of fuel per distance.

    `bias` is added to the stated figure; `statement_sd` is the error of the statement; `tanks_sd` real scatter
    of the tanks it speaks of.
    """

    bias: float
    statement_sd: float
    tanks_sd: float


WIDTHS: dict[Basis, Width] = {
    "fill-ups": Width(0.0, 0.006, 0.028),
    "trip display": Width(0.03, 0.045, 0.020),
    "owner's memory": Width(0.0, 0.075, 0.020),
    "money spent": Width(0.0, 0.10, 0.028),
}
"""Displays read low on fuel by about 3 per cent with trims near zero. Chosen, no source."""

TRIM_SHARE = 1.0
"""A display counts injector time: fuel added by trim is fuel it may not show. Chosen, no source."""


def width_of(basis: Basis, *, trim_share: float | None = None) -> Width:
    """The width of a figure of this basis.

    Args:
        basis: How the figure is known.
        trim_share: Total fuel trim as a share (0.08 for +8 %), if read: a display that counts commanded
            injection reads low by it, and its bias is then known rather than guessed.
    """
    width = WIDTHS[basis]
    if basis != "trip display" or trim_share is None:
        return width
    return Width(width.bias + TRIM_SHARE * trim_share, float(np.hypot(0.03, 0.5 * trim_share)), width.tanks_sd)


def stated_rise(then: Period, now: Period, *, trim_share: float | None = None) -> Rise:
    """The rise between two stated figures, season still in it. Tank counts are zero: nothing was filled."""
    before, after = width_of(then.basis), width_of(now.basis, trim_share=trim_share)
    same_display = then.basis == now.basis == "trip display" and trim_share is None
    then_figure = then.economy_l_per_100km * float(np.exp(before.bias))
    now_figure = now.economy_l_per_100km * float(np.exp(after.bias))
    then_sd = float(np.hypot(before.statement_sd, before.tanks_sd))
    now_sd = float(np.hypot(after.statement_sd, after.tanks_sd))
    # one display against itself: most of its error is the same on both sides
    shared = 0.8 * before.statement_sd * after.statement_sd if same_display else 0.0
    return Rise(
        mean_log=float(np.log(now_figure / then_figure)),
        sd_log=float(np.sqrt(then_sd**2 + now_sd**2 - 2.0 * shared)),
        then_l_per_100km=then_figure,
        then_log_sd=then_sd,
        now_l_per_100km=now_figure,
        now_log_sd=now_sd,
        tanks_then=0,
        tanks_now=0,
    )


def rise_percent(rise: Rise) -> Spread:
    """A rise in per cent, season as it is in the rise."""
    low, middle, high = np.expm1(rise.mean_log + rise.sd_log * np.array([-1.6449, 0.0, 1.6449])) * 100.0
    return Spread(float(100.0 * np.expm1(rise.mean_log + rise.sd_log**2 / 2.0)), float(low), float(middle), float(high))


RECEIPT_SCATTER, RECEIPT_FILL_SHARE = 0.065, 0.25
"""Scatter of one usual tank and the fill level's share of its variance (fillups/prior.py)."""


def receipts_log_sd(receipts: int) -> float:
    """Width of a figure pooled from a few receipts: the first only starts, the inner fill levels cancel."""
    tanks = max(receipts - 1, 1)
    own = (1.0 - RECEIPT_FILL_SHARE) / tanks + RECEIPT_FILL_SHARE / tanks**2
    return float(RECEIPT_SCATTER * np.sqrt(own))
