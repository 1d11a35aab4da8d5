"""Then and now as evidence: what the stated figures say about the rise, and what of it is scatter or mere statement."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lostgallon.shop.filled import FillVerdict
from lostgallon.shop.spread import Floats
from lostgallon.shop.visit import Basis, Case

Index = NDArray[np.intp]
NAMES: dict[Basis, str] = {
    "fill-ups": "fill_ups",
    "trip display": "display",
    "owner's memory": "memory",
    "money spent": "money",
}
REACH, STEP = 2.5, 0.0005  # log units: the table of the likelihood covers a factor of twelve each way


@dataclass(frozen=True)
class Economy:
    """The stated rise and the widths around it, all in natural logs of fuel per distance.

    stated = causes + remainder + scatter + statement error. The remainder is a mixture of a narrow and a wide normal;
    the statement error gains a mean and a width where the owner was misled (never for pooled fills).
    """

    then_l_per_100km: float
    stated_log: float
    scatter_sd: float
    then_sd: float
    now_sd: float
    remainder: tuple[tuple[float, float, float], tuple[float, float, float]]
    misled: tuple[float, float] | None

    @property
    def statement_sd(self) -> float:
        """Standard deviation of the error of the stated rise."""
        return math.hypot(self.then_sd, self.now_sd)

    @cached_property
    def _tables(self) -> Floats:
        causes = np.arange(-REACH, REACH + STEP / 2.0, STEP)
        return np.concatenate([self._log_likelihood(causes, misled) for misled in (0.0, 1.0)])

    def _log_likelihood(self, causes_log: Floats, misled: float) -> Floats:
        extra_mean, extra_sd = self.misled or (0.0, 0.0)
        left = self.stated_log - causes_log - extra_mean * misled
        terms = []
        for weight, mean, sd in self.remainder:
            variance = sd**2 + self.scatter_sd**2 + self.statement_sd**2 + extra_sd**2 * misled
            terms.append(math.log(weight / math.sqrt(variance)) - 0.5 * (left - mean) ** 2 / variance)
        total: Floats = np.logaddexp(*terms)
        return total

    def log_likelihood(self, causes_log: Floats, misled: Index) -> Floats:
        """Log-likelihood of the stated rise given the sum of the causes' logs; from a table in steps of 0.0005.

        Args:
            causes_log: Sum of the logs of all new causes, shape (draws,).
            misled: 1 where the owner was misled, else 0, shape (draws,).
        """
        size = self._tables.size // 2
        at = ((causes_log + REACH) * (1.0 / STEP) + 0.5).astype(np.intp)
        np.minimum(np.maximum(at, 0, out=at), size - 1, out=at)
        found: Floats = self._tables[at + misled * size]
        return found

    def drawn_apart(self, causes_log: Floats, misled: Index, rng: np.random.Generator) -> tuple[Floats, Floats, Floats]:
        """Remainder, scatter and the log of the real fuel of the good days over the stated one, given the rest.

        Args:
            causes_log: Sum of the logs of all new causes, shape (draws,).
            misled: 1 where the owner was misled, shape (draws,).
            rng: Source of randomness.

        Returns:
            remainder_log, scatter_log, then_log, each of shape (draws,); exact conditional draws of jointly normal
            quantities given their sum.
        """
        extra_mean, extra_sd = self.misled or (0.0, 0.0)
        left = self.stated_log - causes_log - extra_mean * misled
        error_var = np.asarray(self.statement_sd**2 + extra_sd**2 * misled, dtype=np.float64)
        remainder = self._remainder_drawn(left, error_var, rng)
        left = left - remainder
        scatter_var = self.scatter_sd**2
        gain = scatter_var / (scatter_var + error_var)
        scatter = gain * left + np.sqrt(gain * error_var) * rng.standard_normal(left.size)
        error = left - scatter + extra_mean * misled
        now_var = error_var - self.then_sd**2
        share = self.then_sd**2 / error_var
        then_error = -share * (error - extra_mean * misled)
        then_error += np.sqrt(share * now_var) * rng.standard_normal(left.size)
        return remainder, scatter, -then_error

    def _remainder_drawn(self, left: Floats, error_var: Floats, rng: np.random.Generator) -> Floats:
        other = self.scatter_sd**2 + error_var
        logs, means, sds = [], [], []
        for weight, mean, sd in self.remainder:
            variance = sd**2 + other
            logs.append(np.log(weight) - 0.5 * np.log(variance) - 0.5 * (left - mean) ** 2 / variance)
            means.append(mean + sd**2 / variance * (left - mean))
            sds.append(np.sqrt(sd**2 * other / variance))
        wide = rng.random(left.size) < 1.0 / (1.0 + np.exp(logs[0] - logs[1]))
        drawn: Floats = np.where(wide, means[1], means[0])
        return drawn + np.where(wide, sds[1], sds[0]) * rng.standard_normal(left.size)


def economy_of(
    case: Case, number: Mapping[str, float], *, verdict: FillVerdict | None, scatter_sd: float | None
) -> Economy:
    """The stated rise of a case and its widths; a verdict on fill-ups replaces what the owner states.

    Args:
        case: The case.
        number: Numbers of the method by id.
        verdict: What the fill-ups say, where there are enough of them.
        scatter_sd: A wider scatter that a finding has shown (one tank, partial fills), or None.
    """
    before, after = case.then.economy_l_per_100km, case.now.economy_l_per_100km
    bases: tuple[Basis, Basis] = (case.then.basis, case.now.basis)
    scatter = max(number[f"{NAMES[basis]}_scatter_sd"] for basis in bases)
    stated = math.log(after / before)
    if verdict is not None and verdict.rise is not None:
        rise = verdict.rise
        before, bases = rise.then_l_per_100km, ("fill-ups", "fill-ups")
        stated = math.log(rise.now_l_per_100km / before)
        scatter = math.hypot(rise.then_log_sd, rise.now_log_sd)
    shared = 1.0 / math.sqrt(2.0)  # the numbers of the method are for the rise, the two sides share them
    then_sd, now_sd = (number[f"{NAMES[basis]}_statement_sd"] * shared for basis in bases)
    wide = number["remainder_wide_share"]
    pooled = bases == ("fill-ups", "fill-ups")
    return Economy(
        then_l_per_100km=before,
        stated_log=stated,
        scatter_sd=max(scatter, scatter_sd or 0.0),
        then_sd=then_sd,
        now_sd=now_sd,
        remainder=(
            (1.0 - wide, 0.0, number["remainder_narrow_sd"]),
            (wide, number["remainder_wide_mean"], number["remainder_wide_sd"]),
        ),
        misled=None if pooled else (number["perception_mean"], number["perception_sd"]),
    )
