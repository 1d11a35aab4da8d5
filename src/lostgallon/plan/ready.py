"""The chance of being ready by the promised time, by simulation of the plan.

Task i takes T_i = m_i L_i S, where m_i is the planned time, L_i a lognormal with mean 1 and the task's coefficient of
variation c_i, and S one lognormal factor of the whole afternoon with mean 1 and coefficient c_s: a bad day slows
everything. For a lognormal with mean 1, sigma^2 = ln(1 + c^2) and mu = -sigma^2 / 2 (any textbook of statistics).
Waits take their own time, with a small spread and without the factor.

The order of the plan is kept: a stretch starts when a pair of hands is free and the wait it ends is over.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from lostgallon.plan.work import Piece, Schedule
from lostgallon.shop.spread import Floats

SHOP_CV = 0.15
"""Spread of the afternoon's common factor; chosen."""
WAIT_CV = 0.10
"""Spread of a wait (warm-up, cool-down); chosen."""
TARGET_CHANCE = 0.85
"""Chance of keeping the promise that a plan aims at; chosen."""
TOLERATED = 0.03
"""How much chance what is added may cost where the booked job alone does not reach the target; chosen."""
DRAWS = 2048
ROUNDS = 5
LEAST_STEP_MINUTES = 0.5


@dataclass(frozen=True)
class Ready:
    """A schedule with its simulated end.

    Attributes:
        schedule: The plan.
        done_minutes: Draws of the clock minutes until the release is done, shape (draws,).
        chance: Share of draws within the promise; None without one.
        buffer_minutes: Minutes kept free before the promise to reach the chance.
    """

    schedule: Schedule
    done_minutes: Floats
    chance: float | None
    buffer_minutes: float = 0.0


def lognormal_with_mean_one(cv: float, normal: Floats) -> Floats:
    """Lognormal factors with mean 1.

    Args:
        cv: Coefficient of variation.
        normal: Standard normal draws, any shape.

    Returns:
        Factors, same shape: exp(sigma z - sigma^2 / 2), sigma^2 = ln(1 + cv^2).
    """
    sigma = np.sqrt(np.log1p(cv**2))
    return np.asarray(np.exp(sigma * normal - sigma**2 / 2.0))


def done_minutes(pieces: Iterable[Piece], *, rng: np.random.Generator, draws: int = DRAWS, hands: int = 1) -> Floats:
    """When the plan is done, simulated.

    Args:
        pieces: Hands-on stretches in the order of the plan; the release last.
        rng: Random generator.
        draws: Number of simulated afternoons.
        hands: Pairs of hands.

    Returns:
        Clock minutes from now to the end of the last stretch, shape (draws,).
    """
    listed = list(pieces)
    shop = lognormal_with_mean_one(SHOP_CV, rng.standard_normal(draws))
    free = np.zeros((hands, draws))
    ends: list[Floats] = []
    every = np.arange(draws)
    for piece in listed:
        factor = lognormal_with_mean_one(piece.cv, rng.standard_normal(draws))
        first_free = np.argmin(free, axis=0)
        start = free[first_free, every]
        if piece.kind == "release":
            start = np.max(free, axis=0)
        if piece.waits_for is not None:
            wait = piece.wait_minutes * lognormal_with_mean_one(WAIT_CV, rng.standard_normal(draws))
            start = np.maximum(start, ends[piece.waits_for] + wait)
        end = start + piece.minutes * factor * shop
        free[first_free, every] = end
        ends.append(end)
    return np.asarray(np.max(free, axis=0))


def chance_within(done: Floats, minutes: float | None) -> float | None:
    """Share of simulated afternoons that end within these minutes; None without a promise."""
    return None if minutes is None else float(np.mean(done <= minutes))


def with_buffer(
    solve: Callable[[float], Schedule | None],
    minutes: float,
    *,
    least: Schedule | None = None,
    rng: np.random.Generator,
    hands: int = 1,
    target: float = TARGET_CHANCE,
) -> Ready | None:
    """Solve with a growing buffer before the promise until the chance of keeping it reaches the target.

    Args:
        solve: Gives the best schedule within so many clock minutes, or None where the booked job doesn't fit.
        minutes: Clock minutes until the promise.
        least: The booked job alone, where that is the last resort.
        rng: Random generator; the same draws are used in every round, so that rounds compare.
        hands: Pairs of hands.
        target: Chance aimed at; where the booked job alone does not reach it, a little less than its chance.

    Returns:
        The first schedule that reaches the target, else the likeliest to be in time, the booked job alone among them.
        None where nothing fits.
    """
    seed = int(rng.integers(2**32))

    def judged(found: Schedule, allowed: float) -> Ready:
        done = done_minutes(found.pieces, rng=np.random.default_rng(seed), hands=hands)
        return Ready(found, done, float(np.mean(done <= minutes)), minutes - allowed)

    best = judged(least, least.end_minutes) if least is not None else None
    if best is not None:
        target = min(target, _chance(best) - TOLERATED)
    allowed = minutes
    for _ in range(ROUNDS):
        found = solve(allowed)
        if found is None:
            break
        ready = judged(found, allowed)
        if _chance(ready) >= target:
            return ready
        best = ready if best is None or _chance(ready) > _chance(best) else best
        # The end aimed at lies to the promise as this plan's end lies to the time it keeps with the target chance.
        kept = float(np.quantile(ready.done_minutes, target))
        allowed = min(minutes * found.end_minutes / kept, found.end_minutes - LEAST_STEP_MINUTES)
    return best


def _chance(ready: Ready) -> float:
    return ready.chance or 0.0
