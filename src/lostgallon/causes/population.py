"""A population of stories about one vehicle: which causes, since when, how severe; how well each agrees with findings.

Everything is vectorized over draws. Arrays are (columns, draws) so that one column is contiguous. Method and its
checks: docs/account.md.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lostgallon.causes.columns import Column, Effects
from lostgallon.causes.economy import Economy
from lostgallon.causes.factors import Factors
from lostgallon.shop.spread import Floats

Index = NDArray[np.intp]
ABSENT, NEW, OLD = 0, 1, 2
PERCEPTION = "display_or_price_perception"


@dataclass(frozen=True)
class Known:
    """What is not a bit: season by member, with the width of the owner's real use, and terms the case states.

    `stated` holds logs of now over then by cause, shape (members,) each.
    """

    season_log: Floats
    season_sd: float
    stated: Mapping[str, Floats]

    def total(self, member: Index, z: Floats) -> Floats:
        """Log of now over then by all that is known, shape (draws,)."""
        total = self.season(member, z)
        for log in self.stated.values():
            total = total + log[member]
        return total

    def season(self, member: Index, z: Floats) -> Floats:
        """Log of now over then by season, shape (draws,); z is the standard normal of the owner's use."""
        factor: Floats = np.exp(self.season_sd * z - 0.5 * self.season_sd**2)
        return self.season_log[member] * factor


@dataclass(frozen=True)
class Model:
    """What stays the same while stories move."""

    columns: tuple[Column, ...]
    effects: Effects
    economy: Economy
    known: Known
    seen_power: float

    @cached_property
    def perception(self) -> int | None:
        """The column that says whether the owner was misled."""
        ids = [column.id for column in self.columns]
        return ids.index(PERCEPTION) if PERCEPTION in ids and self.economy.misled else None

    @cached_property
    def log_prior(self) -> Floats:
        """Logs of absent, new and old, shape (columns, 3)."""
        return np.array([column.log_prior for column in self.columns])

    def sized(self, column: int, z: Floats, member: Index) -> tuple[Floats, Floats, Floats]:
        """Amount of the condition, log-effect on fuel, and ease of being seen, each of shape (draws,)."""
        what = self.columns[column]
        amount, seen = what.sized(z, power=self.seen_power)
        if what.cause is None or what.cause.condition is None:
            return amount, np.zeros_like(z), seen
        return amount, self.effects.log_effect(what.cause.condition, amount, member), seen


@dataclass
class Stories:
    """The draws. `state`, `z`, `amount`, `effect` and `seen` have shape (columns, draws)."""

    member: Index
    season_z: Floats
    state: NDArray[np.int8]
    z: Floats
    amount: Floats
    effect: Floats
    seen: Floats

    @property
    def draws(self) -> int:
        """How many stories."""
        return self.member.size

    def taken(self, index: Index) -> "Stories":
        """The stories at an index, with repeats."""
        return Stories(
            member=self.member[index],
            season_z=self.season_z[index],
            state=np.take(self.state, index, axis=1),
            z=np.take(self.z, index, axis=1),
            amount=np.take(self.amount, index, axis=1),
            effect=np.take(self.effect, index, axis=1),
            seen=np.take(self.seen, index, axis=1),
        )

    def causes_log(self, known: Known) -> Floats:
        """Sum of the logs of everything that came since the good days, shape (draws,)."""
        new: Floats = np.einsum("cd,cd->d", self.state == NEW, self.effect)
        return new + known.total(self.member, self.season_z)

    def misled(self, model: Model) -> Index:
        """1 where the owner was misled, shape (draws,)."""
        if model.perception is None:
            return np.zeros(self.draws, dtype=np.intp)
        misled: Index = (self.state[model.perception] > ABSENT).astype(np.intp)
        return misled


def fresh(model: Model, draws: int, rng: np.random.Generator) -> Stories:
    """Stories from the prior.

    Args:
        model: Columns, effects and figures of the case.
        draws: How many.
        rng: Source of randomness.
    """
    size = len(model.columns)
    member = rng.integers(model.known.season_log.size, size=draws).astype(np.intp)
    z = rng.standard_normal((size, draws))
    chance = rng.random((size, draws))
    prior = np.exp(model.log_prior)
    state = np.where(chance < prior[:, 1:2], NEW, np.where(chance < prior[:, 1:2] + prior[:, 2:3], OLD, ABSENT))
    parts = [model.sized(column, z[column], member) for column in range(size)]
    amount, effect, seen = (np.array([part[which] for part in parts]) for which in range(3))
    return Stories(member, rng.standard_normal(draws), state.astype(np.int8), z, amount, effect, seen)


def log_weights(stories: Stories, factors: Factors) -> Floats:
    """Log-likelihood of findings alone (not of then and now), shape (draws,)."""
    new, old = stories.state == NEW, stories.state == OLD
    total = (factors.new @ (new * stories.seen)) + (factors.old @ (old * stories.seen))
    total = total + factors.sure_new @ new + factors.sure_old @ old
    for row in factors.rows:
        miss = row.new @ (new * stories.seen) + row.old @ (old * stories.seen)
        total = total + row.log_likelihood(miss, row.masks @ (new | old))
    for gauge in factors.gauges:
        present = (new | old)[list(gauge.at)]
        amount = (present * stories.amount[list(gauge.at)]).sum(axis=0)
        spoiled = (stories.state[gauge.look] > ABSENT).astype(float) if gauge.look is not None else 0.0 * amount
        total = total + gauge.log_likelihood(amount, spoiled)
    return np.asarray(total, dtype=np.float64)


def effective_share(log_weight: Floats) -> float:
    """Effective share of a weighted population: (sum w)^2 / (n sum w^2) (Kong, 1992)."""
    weight = np.exp(log_weight - log_weight.max())
    return float(weight.sum() ** 2 / (weight.size * (weight**2).sum()))


def resampled(stories: Stories, log_weight: Floats, rng: np.random.Generator) -> Stories:
    """Stories drawn in proportion to their weight, systematically (Kitagawa, 1996)."""
    weight = np.exp(log_weight - log_weight.max())
    edges = np.cumsum(weight) / weight.sum()
    places = (np.arange(stories.draws) + rng.random()) / stories.draws
    return stories.taken(np.minimum(np.searchsorted(edges, places), stories.draws - 1))
