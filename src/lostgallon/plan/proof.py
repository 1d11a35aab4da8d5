"""What the next fills should show, how many tanks that takes, and the rule by which it is judged.

Expected use after the work, draw by draw: now x exp(-sum of the corrected log effects x share cured) x
exp(season_log (T_coming - T_now) / (T_now - T_then)): the season's effect is taken as linear in the temperature.

Tanks needed on each side to see a step of d (as a fraction) with tank-to-tank scatter s, two-sided 95 %:
n = 2 (1.96 s / d)^2, from the variance 2 s^2 / n of a difference of two means of n tanks (any textbook of statistics).
"""

import math
from dataclasses import dataclass

import numpy as np

from lostgallon.plan.money import MONTHS, month_ambients_c
from lostgallon.shop.account import Proof
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Floats, spread_of
from lostgallon.shop.units import gal_per_100mi, mpg_us
from lostgallon.shop.visit import Case

TANK_SCATTER = 0.07
"""Scatter of one tank's use about its mean in real use; common practice (5 to 8 %), no source."""
LEAST_TANKS = 3
MOST_TANKS = 12
"""More than a season of fills proves the season; chosen."""
Z_TWO_SIDED = 1.96
LEAST_SPAN_K = 5.0
SLOPE_PER_K = 0.004
"""More fuel per kelvin colder where then and now are too alike to tell this owner's own; from memory: 12 % over 31 K
in ordinary city trips (US DOE Fact 818)."""
FREEZE_FREE_C = 20.0


@dataclass(frozen=True)
class After:
    """Use after the work and use if the work did nothing, both at the coming weather, shape (draws,), L/100 km."""

    worked: Floats
    nothing: Floats


def coming_ambient_c(case: Case) -> float:
    """Mean temperature of the six weeks after the visit: half this month, a whole next one."""
    year = month_ambients_c(case)
    month = case.visit.date.month - 1
    return float((0.5 * year[month] + year[(month + 1) % MONTHS]) / 1.5)


def season_change_log(case: Case, season_log: Floats, coming_c: float) -> Floats:
    """Log of fuel at the coming weather over fuel now.

    Args:
        case: For the temperatures of then and now.
        season_log: Log of the season's effect, now over then, shape (draws,).
        coming_c: Coming ambient.
    """
    span = case.now.ambient_c - case.then.ambient_c
    if abs(span) >= LEAST_SPAN_K:
        return season_log * ((coming_c - case.now.ambient_c) / span)
    warmer = min(coming_c, FREEZE_FREE_C) - min(case.now.ambient_c, FREEZE_FREE_C)
    return np.full_like(season_log, -SLOPE_PER_K * warmer)


def tanks_to_see(step: float, *, scatter: float = TANK_SCATTER) -> int | None:
    """Tanks on each side that show a step, at least three; None where no sensible number does.

    Args:
        step: Expected fall as a fraction of the use.
        scatter: Standard deviation of one tank, as a fraction.
    """
    if step <= 0.0:
        return None
    tanks = max(LEAST_TANKS, math.ceil(2.0 * (Z_TWO_SIDED * scatter / step) ** 2))
    return tanks if tanks <= MOST_TANKS else None


def _figure(l_per_100km: float) -> str:
    return (
        f"{gal_per_100mi(l_per_100km):.1f} gal per 100 mi ({mpg_us(l_per_100km):.0f} mpg, {l_per_100km:.1f} L/100 km)"
    )


def limits_l_per_100km(after: After, tanks: int, *, rng: np.random.Generator, scatter: float) -> tuple[float, float]:
    """The figure above which the work is looked at again, and the one below which it is done.

    Above the first, use as expected is unlikely (5 %); below the second, use as before is (5 %), both pooled over the
    tanks with their scatter. Where the two cross, the middle serves as both.
    """
    noise = rng.standard_normal(after.worked.shape) * scatter / math.sqrt(tanks)
    again = float(np.quantile(after.worked * np.exp(noise), 0.95))
    done = float(np.quantile(after.nothing * np.exp(noise), 0.05))
    if done > again:
        again = done = (again + done) / 2.0
    return again, done


FILLS = (
    "Fill at the same pump, stop at the first click, write down odometer and amount. Leave the first tank out: "
    "what the module has learned needs it to settle. Then pool {tanks} fills: all fuel over all distance."
)

NO_SAVING = "Nothing was corrected that saves fuel."
TOO_SMALL = "The change is too small for fills to prove: the measured value before and after is the proof."


def proof_of(
    after: After, *, corrected: bool, rng: np.random.Generator, scatter: float = TANK_SCATTER
) -> tuple[Proof, NotEnough | None]:
    """The proof record, and what can't be proven where the step is too small.

    Args:
        after: Use after the work, and had it done nothing.
        corrected: Whether anything is corrected today.
        rng: Random generator for the tanks' scatter.
        scatter: Standard deviation of one tank, as a fraction.
    """
    expected, as_before = spread_of(after.worked), spread_of(after.nothing)
    if not corrected:
        high, _ = limits_l_per_100km(after, LEAST_TANKS, rng=rng, scatter=scatter)
        rule = f"{FILLS.format(tanks=LEAST_TANKS)} {NO_SAVING} Above {_figure(high)} we look again."
        return Proof(expected, LEAST_TANKS, rule, as_before_l_per_100km=as_before, again_l_per_100km=high), None
    fall_pct = spread_of(100.0 * (1.0 - after.worked / after.nothing))
    step = 1.0 - float(np.mean(after.worked) / np.mean(after.nothing))
    tanks = tanks_to_see(step, scatter=scatter)
    if tanks is None:
        missing = f"the expected change is {step:.1%}, less than any sensible number of tanks can show".replace(
            "%", " %"
        )
        again, _ = limits_l_per_100km(after, LEAST_TANKS, rng=rng, scatter=scatter)
        rule = f"{FILLS.format(tanks=LEAST_TANKS)} {TOO_SMALL} Above {_figure(again)}: we look again without charge."
        return Proof(
            expected, None, rule, as_before_l_per_100km=as_before, fall_pct=fall_pct, again_l_per_100km=again
        ), NotEnough("proof_by_fills", missing, "the same measurement before and after")
    again, done = limits_l_per_100km(after, tanks, rng=rng, scatter=scatter)
    if again == done:
        verdict = f"Above {_figure(again)}: we look again without charge. Below it: done."
    else:
        verdict = (
            f"Above {_figure(again)}: we look again without charge. Below {_figure(done)}: done. "
            "In between: send two more fills."
        )
    return Proof(
        expected,
        tanks,
        f"{FILLS.format(tanks=tanks)} {verdict}",
        as_before_l_per_100km=as_before,
        fall_pct=fall_pct,
        again_l_per_100km=again,
        done_l_per_100km=done,
    ), None
