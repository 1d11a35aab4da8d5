"""Which vehicles to flag so that a stated share of them is false.

A fleet has no concern, so "half have changed" is wrong for it: the share that changed is estimated from all Bayes
factors together, and each vehicle's probabilities are redone with it. The flagged set is the largest one whose mean
probability of being false stays below the rate. Source: B. Efron, Large-Scale Inference, 2010, chapters 2 and 5; P.
Muller, G. Parmigiani, K. Rice, FDR and Bayesian multiple comparisons rules, 2007.
"""

import numpy as np

from lostgallon.fillups.prior import ALARM
from lostgallon.shop.spread import Bools, Floats

ROUNDS = 60
LEAST_SHARE, MOST_SHARE = 1e-4, 0.5


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


def flagged(probability: Floats, rate: float) -> Bools:
    """The largest set whose mean chance of being false is at most `rate`, shape (vehicles,).

    None less likely than what one log alone is called a loss at: a surer neighbor does not vouch for it.
    """
    order = np.argsort(-probability, kind="stable")
    false = np.cumsum(1.0 - probability[order]) / np.arange(1, len(order) + 1)
    chosen = np.zeros(len(order), dtype=np.bool_)
    chosen[order[: int((false <= rate).sum())]] = True
    return chosen & (probability >= ALARM)
