"""The hierarchical model: a shop's sums and the expert's numbers in, numbers with intervals out.

Causes. logit(chance in band b) = logit(expert's chance in b) + shop + own, shop ~ N(0, .5^2) shared by all causes, own
~ N(0, width^2) per cause, width from the expert's own range taken as his middle 80 %; both widths are stretched by .15,
.4 or 1, each as likely before the visits, so that an expert who proves right is left alone. Fitted by Newton's method
on all causes at once, stretches weighed by Laplace's approximation of the evidence; intervals are those of stretch 1.
Corrections. The share that one visit brings back is normal about the
correction's share with sd .25; a body's share about the correction's with sd .10; the correction's about the expert's
with sd .15. Readings. Beta about the expert's typical rate, as wide as his lowest and highest (taken as 5 and 95 %)
say. Sources: A. Gelman et al., Bayesian Data Analysis, 3rd edition, 2013, chapters 2, 4 and 5. Widths without a source
are chosen.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lostgallon.shop.spread import Floats, Spread

SHOP_SD, OWN_SD_LEAST = 0.5, 0.3
Z80, Z90 = 1.2816, 1.6449
STRETCHES = (0.15, 0.4, 1.0)
EXPERT_SHARE_SD, BODY_SD = 0.15, 0.10
ROUNDS = 40
GAP = 1e-3
REACH, STEPS = 15.0, 4001
"""How far a density is added up, in its own widths, and in how many steps."""


def logit(chance: Floats | float) -> Floats:
    """Log odds of a chance kept inside (0, 1)."""
    inside = np.clip(chance, 1e-6, 1.0 - 1e-6)
    return np.asarray(np.log(inside / (1.0 - inside)))


def chance_of(log_odds: Floats | float) -> Floats:
    """The chance of log odds."""
    return np.asarray(1.0 / (1.0 + np.exp(-np.asarray(log_odds))))


@dataclass(frozen=True)
class Shifts:
    """How far a shop lies from the expert in log odds, per cause, shape (causes,).

    `middle` and `sd` are weighed over all stretches and give the chance itself; `wide_middle` and `wide_sd` are those
    of the expert's own widths and give the interval, which covers also where the shop lies as far off as he allows.
    """

    middle: Floats
    sd: Floats
    wide_middle: Floats
    wide_sd: Floats


def cause_shifts(expert: Floats, width: Floats, looked: Floats, there: Floats) -> Shifts:
    """The posterior of each cause's shift, the stretch of the widths summed out.

    Args:
        expert: Chances, shape (causes, bands).
        width: Standard deviation of each cause's own log odds, shape (causes,).
        looked: Visits in which it was looked at, shape (causes, bands).
        there: Visits in which it was there, same shape.
    """
    fits = [_fit(logit(expert), stretch**2 * _prior(width), looked, there) for stretch in STRETCHES]
    evidence = np.array([fit[2] for fit in fits])
    weight = np.exp(evidence - evidence.max())
    weight /= weight.sum()
    middle = sum(each * fit[0] for each, fit in zip(weight, fits, strict=True))
    square = sum(each * (fit[1] + fit[0] ** 2) for each, fit in zip(weight, fits, strict=True))
    wide = fits[STRETCHES.index(1.0)]
    return Shifts(np.asarray(middle), np.sqrt(np.maximum(square - middle**2, 0.0)), wide[0], np.sqrt(wide[1]))


def _prior(width: Floats) -> Floats:
    return np.asarray(np.diag(np.asarray(width) ** 2) + SHOP_SD**2)


def _fit(base: Floats, prior: Floats, looked: Floats, there: Floats) -> tuple[Floats, Floats, float]:
    """Mode, variances and log evidence of all shifts at once, by Newton's method and Laplace's approximation."""
    precision = np.linalg.inv(prior)
    shift = np.zeros(len(base))
    for _ in range(ROUNDS):
        chance = chance_of(base + shift[:, None])
        slope = (there - looked * chance).sum(axis=1) - precision @ shift
        curve = precision + np.diag((looked * chance * (1.0 - chance)).sum(axis=1))
        step = np.linalg.solve(curve, slope)
        shift = shift + np.clip(step, -1.0, 1.0)
        if np.abs(step).max(initial=0.0) < 1e-10:
            break
    odds = base + shift[:, None]
    fit = float((there * odds - looked * np.logaddexp(0.0, odds)).sum() - 0.5 * shift @ precision @ shift)
    sized = np.linalg.slogdet(curve)[1] + np.linalg.slogdet(prior)[1]
    return shift, np.diag(np.linalg.inv(curve)), fit - 0.5 * float(sized)


def width_of_range(low: float, high: float) -> float:
    """Standard deviation in log odds of an expert's range, taken as his middle 80 per cent."""
    return max(float((logit(high) - logit(low)) / (2.0 * Z80)), OWN_SD_LEAST)


def chance_spread(expert: float, shifts: Shifts, place: int) -> Spread:
    """The chance of one cause in one band with its interval; the mean by 3-point Gauss-Hermite quadrature.

    Args:
        expert: The expert's chance.
        shifts: Of all causes.
        place: Which cause.
    """
    base = logit(expert)
    ends = chance_of(base + shifts.wide_middle[place] + Z90 * shifts.wide_sd[place] * np.array([-1.0, 1.0]))
    middle = float(chance_of(base + shifts.middle[place]))
    nodes = chance_of(base + shifts.middle[place] + np.sqrt(3.0) * shifts.sd[place] * np.array([-1.0, 0.0, 1.0]))
    mean = float(nodes @ np.array([1.0, 4.0, 1.0]) / 6.0)
    return Spread(mean, min(float(ends[0]), middle), middle, max(float(ends[1]), mean))


def shares(
    expert: float, weight: Sequence[float], share: Sequence[float], *, visit_sd: float
) -> tuple[Spread, tuple[Spread, ...]]:
    """What a correction brings back in general, and on each body.

    Args:
        expert: The catalogue's share.
        weight: Effective visits of each body: sum of visit_sd^2 / (visit_sd^2 + error^2).
        share: Weighted sum of shares of each body.
        visit_sd: Standard deviation between visits.
    """
    count = np.asarray(weight, dtype=np.float64)
    mean = np.divide(share, np.maximum(count, 1e-12))
    variance = visit_sd**2 / np.maximum(count, 1e-12) + BODY_SD**2
    precision = np.where(count > 0, 1.0 / variance, 0.0)
    total = precision.sum() + 1.0 / EXPERT_SHARE_SD**2
    general = float((precision @ mean + expert / EXPERT_SHARE_SD**2) / total)
    general_variance = 1.0 / total
    bodies = []
    for n, one in zip(count, mean, strict=True):
        kept = BODY_SD**2 / (BODY_SD**2 + visit_sd**2 / max(n, 1e-12))
        middle = general + kept * (one - general)
        bodies.append(_normal(middle, (1.0 - kept) * BODY_SD**2 + (1.0 - kept) ** 2 * general_variance))
    return _normal(general, general_variance), tuple(bodies)


def _normal(mean: float, variance: float) -> Spread:
    reach = Z90 * float(np.sqrt(variance))
    return Spread(float(mean), float(mean - reach), float(mean), float(mean + reach))


def rate(ends: tuple[float, float, float], positive: float, looks: float) -> Spread:
    """A rate between an expert's and what was seen.

    Args:
        ends: The expert's lowest, typical and highest.
        positive: Positive looks.
        looks: Looks.
    """
    low, typical, high = ends
    sd = max((high - low) / (2.0 * Z90), GAP)
    size = max(typical * (1.0 - typical) / sd**2 - 1.0, 2.0)
    good, bad = typical * size + positive, (1.0 - typical) * size + looks - positive
    return Spread(float(good / (good + bad)), *map(float, _points_of_beta(good, bad)))


def _points_of_beta(good: float, bad: float) -> Floats:
    """5, 50 and 95 % points of a Beta distribution, by adding up its density over log odds."""
    width = np.sqrt(1.0 / good + 1.0 / bad)
    odds = np.log(good / bad) + width * np.linspace(-REACH, REACH, STEPS)
    log = -good * np.logaddexp(0.0, -odds) - bad * np.logaddexp(0.0, odds)
    below = np.cumsum(np.exp(log - log.max()))
    return chance_of(np.interp(np.array([0.05, 0.5, 0.95]) * below[-1], below, odds))
