"""Which vehicles to flag so that a stated share of them is false.

A fleet has no concern, so "half have changed" is wrong for it: the share that changed is estimated from all Bayes
factors together, and each vehicle's probabilities are redone with it. Where the fleet is large it also shows by itself
how often chance looks like a rise: as often as it looks like a fall. The flagged set is the largest one whose mean
probability of being false stays below the rate. Sources: B. Efron, Large-Scale Inference, 2010, chapters 2 and 5; P.
Muller, G. Parmigiani, K. Rice, FDR and Bayesian multiple comparisons rules, 2007; falls as the yardstick: R. F. Barber,
E. J. Candes, Controlling the false discovery rate via knockoffs, Annals of Statistics 43, 2015, section 2; a chance
that only grows with the score: T. Robertson, F. Wright, R. Dykstra, Order Restricted Statistical Inference, 1988,
section 1.2 (pool adjacent violators).
"""

import numpy as np

from lostgallon.fillups.prior import ALARM
from lostgallon.shop.spread import Bools, Floats

ROUNDS = 60
LEAST_SHARE, MOST_SHARE = 1e-4, 0.5
LEAST_SCORE = 0.5
"""Vehicles about which their own log is less sure, up or down, are no yardstick and need none."""


def share_changed(log_bayes_factor: Floats) -> float:
    """Share of vehicles that changed at all, by maximum likelihood over the fleet (EM).

    Args:
        log_bayes_factor: Any change over none, natural, shape (vehicles,).
    """
    factor = np.exp(np.minimum(log_bayes_factor, 600.0))
    share = 0.1
    for _ in range(ROUNDS):
        share = float(np.clip(np.mean(share * factor / (share * factor + 1.0 - share)), LEAST_SHARE, MOST_SHARE))
    return share


def at_share(share: float, nothing: Floats, part: Floats) -> Floats:
    """A probability computed at even odds of a change, redone at another share.

    Args:
        share: Share of vehicles that changed.
        nothing: Probability of no change at even odds, shape (vehicles,).
        part: Probability of some kind of change at even odds, same shape.
    """
    odds = share / (1.0 - share)
    return np.asarray(part * odds / ((1.0 - nothing) * odds + nothing))


def chance_beside_falls(rise: Floats, fall: Floats) -> Floats:
    """Chance that a rise is more than chance, from the falls that look as sure; zero for falls, shape (vehicles,).

    Nobody mends a whole fleet, so that falls are chance or few, and chance has no side. One fall is put above all
    vehicles, so that a handful of rises never vouches for itself.

    Args:
        rise: Probability of a rise, at any odds that are the same for both, shape (vehicles,).
        fall: The same of a fall.
    """
    score = np.maximum(rise, fall)
    order = np.argsort(-score, kind="stable")
    order = order[score[order] > LEAST_SCORE]
    false = _falls_to_rises((fall > rise)[order])
    chance = np.zeros(len(rise))
    chance[order] = np.where((fall > rise)[order], 0.0, 1.0 - false)
    return chance


def _falls_to_rises(falls: Bools) -> Floats:
    """Falls for each rise around every place of a list that goes from the surest down, never fewer further down."""
    blocks = [[1, 1]]  # falls, vehicles
    for fall in falls.tolist():
        blocks.append([int(fall), 1])
        while len(blocks) > 1 and blocks[-2][0] * blocks[-1][1] > blocks[-1][0] * blocks[-2][1]:
            more = blocks.pop()
            blocks[-1] = [blocks[-1][0] + more[0], blocks[-1][1] + more[1]]
    ratio = [min(fell / max(count - fell, 1), 1.0) for fell, count in blocks]
    return np.repeat(ratio, [count for _, count in blocks])[1:]


def flagged(probability: Floats, rate: float) -> Bools:
    """The largest set whose mean chance of being false is at most `rate`, shape (vehicles,).

    None less likely than what one log alone is called a loss at: a surer neighbor does not vouch for it.
    """
    order = np.argsort(-probability, kind="stable")
    false = np.cumsum(1.0 - probability[order]) / np.arange(1, len(order) + 1)
    chosen = np.zeros(len(order), dtype=np.bool_)
    chosen[order[: int((false <= rate).sum())]] = True
    return chosen & (probability >= ALARM)
