"""Several facts about one cause made into one ratio, so that whoever weighs causes counts each fact once."""

import math
from collections.abc import Sequence

from lostgallon.drives.evidence import capped
from lostgallon.shop.driven import Pattern

SAYS_LITTLE = 1.25


def by_cause(patterns: Sequence[Pattern]) -> tuple[Pattern, ...]:
    """One pattern a cause, strongest first.

    Facts that speak for a cause multiply: each is another physical fact. Facts that stay silent do not: a fault that
    does not show in one place often does not show in the next for the same reason, so the plainest silence counts once.

    Args:
        patterns: At most one for a cause and a check.
    """
    causes = dict.fromkeys(one.cause for one in patterns)
    merged = [_merged([one for one in patterns if one.cause == cause]) for cause in causes]
    return tuple(sorted(merged, key=lambda one: -one.likelihood_ratio))


def _merged(of_cause: list[Pattern]) -> Pattern:
    if len(of_cause) == 1:
        return of_cause[0]
    speaking = [one for one in of_cause if one.likelihood_ratio >= 1.0]
    silent = sorted((one for one in of_cause if one.likelihood_ratio < 1.0), key=lambda one: one.likelihood_ratio)
    counted = [*speaking, *silent[:1]]
    ratio = capped(math.prod(one.likelihood_ratio for one in counted))
    strongest = sorted(counted, key=lambda one: -abs(math.log(one.likelihood_ratio)))
    said = [one.because for one in strongest if abs(math.log(one.likelihood_ratio)) > math.log(SAYS_LITTLE)]
    because = "; ".join(said) or strongest[0].because
    checks = tuple(check for one in of_cause for check in one.checks)
    return Pattern(of_cause[0].cause, ratio, because, checks)
