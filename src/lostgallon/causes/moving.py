"""Moves a population of stories by Gibbs steps, so that it agrees with then, now and what was found.

Everything is vectorized over draws; the loop runs over columns. Method and its checks: docs/account.md.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lostgallon.causes.factors import Factors
from lostgallon.causes.population import ABSENT, NEW, OLD, Model, Stories
from lostgallon.shop.spread import Floats

Index = NDArray[np.intp]
KEEP, RENEW = 0.8, 0.6  # preconditioned Crank-Nicolson step; squares add to one (Cotter et al., 2013, Stat. Sci. 28)
SWAPS_PER_COLUMN = 0.3
EVERYWHERE = slice(None)
CERTAIN_LOG = 600.0


@dataclass(frozen=True)
class _Sizes:
    """Amount, log-effect and ease of being seen of one column in the stories at `at`."""

    at: Index | slice
    amount: Floats
    effect: Floats
    seen: Floats

    @property
    def none(self) -> Floats:
        """Zeros of the same shape."""
        return np.zeros(self.seen.size)


class Mover:
    """Moves stories so that they agree with then, now and all factors; keeps running sums while it does."""

    def __init__(self, model: Model, factors: Factors, stories: Stories) -> None:
        self.model, self.factors, self.stories = model, factors, stories
        self.rows_of = [
            [(n, row) for n, row in enumerate(factors.rows) if row.new[j] or row.old[j] or row.masks[j]]
            for j in range(len(model.columns))
        ]
        self.gauges_of = [
            [(n, gauge) for n, gauge in enumerate(factors.gauges) if j in gauge.at or j == gauge.look]
            for j in range(len(model.columns))
        ]
        self.age_unseen = (factors.new == factors.old) & (factors.sure_new == factors.sure_old)
        for row in factors.rows:
            self.age_unseen &= row.new == row.old
        self._sum_up()

    def _sum_up(self) -> None:
        stories = self.stories
        new, old = stories.state == NEW, stories.state == OLD
        self.misled = stories.misled(self.model)
        self.total = stories.causes_log(self.model.known)
        shape = (len(self.factors.rows), stories.draws)
        self.miss, self.mask = np.zeros(shape), np.zeros(shape)
        for n, row in enumerate(self.factors.rows):
            self.miss[n] = row.new @ (new * stories.seen) + row.old @ (old * stories.seen)
            self.mask[n] = row.masks @ (new | old)
        self.read = np.zeros((len(self.factors.gauges), stories.draws))
        self.spoiled = np.zeros_like(self.read)
        for n, gauge in enumerate(self.factors.gauges):
            self.read[n] = ((new | old)[list(gauge.at)] * stories.amount[list(gauge.at)]).sum(axis=0)
            if gauge.look is not None:
                self.spoiled[n] = stories.state[gauge.look] > ABSENT

    def sweep(self, rng: np.random.Generator) -> Floats:
        """One pass over season and all columns, then label swaps.

        Returns:
            Mean conditional probabilities of absent, new and old, shape (columns, 3): smoother than counting.
        """
        self._move_season(rng)
        chances = np.zeros((len(self.model.columns), 3))
        for column in rng.permutation(len(self.model.columns)):
            chances[column] = self._move_column(int(column), rng)
        self._swap(chances, rng)
        return chances

    def _move_season(self, rng: np.random.Generator) -> None:
        stories, known = self.stories, self.model.known
        if known.season_sd == 0.0 or not known.season_log.any():
            return
        proposed = KEEP * stories.season_z + RENEW * rng.standard_normal(stories.draws)
        change = known.season(stories.member, proposed) - known.season(stories.member, stories.season_z)
        gain = self._economy(self.total + change) - self._economy(self.total)
        accepted = np.log(rng.random(stories.draws)) < gain
        stories.season_z = np.where(accepted, proposed, stories.season_z)
        self.total = self.total + np.where(accepted, change, 0.0)

    def _economy(self, total: Floats) -> Floats:
        return self.model.economy.log_likelihood(total, self.misled)

    def _move_column(self, j: int, rng: np.random.Generator) -> Floats:
        log_prior = self.model.log_prior[j]
        if np.isneginf(log_prior[1]) and np.isneginf(log_prior[2]):
            return np.array([1.0, 0.0, 0.0])
        self._add(j, -1.0, EVERYWHERE)
        self._move_severity(j, rng)
        absent, new, old = self._options(j)
        # Against absent; what is certain stays finite.
        to_new, to_old = (np.exp(np.minimum(option - absent, CERTAIN_LOG)) for option in (new, old))
        up_to_new = 1.0 + to_new
        whole = up_to_new + to_old
        chosen = rng.random(self.stories.draws) * whole
        self.stories.state[j] = (chosen > 1.0).astype(np.int8) + (chosen > up_to_new)
        self._add(j, 1.0, EVERYWHERE)
        if j == self.model.perception:
            self.misled = self.stories.misled(self.model)
        share = 1.0 / whole
        draws = self.stories.draws
        return np.array([share.sum(), to_new @ share, to_old @ share]) / draws

    def _add(self, j: int, sign: float, at: Index | slice) -> None:
        """Add column j, where present, to the running sums of the stories at `at`, or take it out."""
        stories = self.stories
        places = stories.state[j].nonzero()[0] if isinstance(at, slice) else at[stories.state[j, at] > ABSENT]
        new = stories.state[j, places] == NEW
        self.total[places] += sign * new * stories.effect[j, places]
        for n, row in self.rows_of[j]:
            self.miss[n, places] += sign * stories.seen[j, places] * np.where(new, row.new[j], row.old[j])
            if row.masks[j]:
                self.mask[n, places] += sign * row.masks[j]
        for n, gauge in self.gauges_of[j]:
            if j == gauge.look:
                self.spoiled[n, places] += sign
            else:
                self.read[n, places] += sign * stories.amount[j, places]

    def _options(self, j: int) -> tuple[Floats, Floats, Floats]:
        """Log-probability of column j absent, new and old, the sums being without it, each of shape (draws,)."""
        log_prior, sizes = self.model.log_prior[j], self._sizes(j, EVERYWHERE)
        never = np.full(self.stories.draws, -np.inf)
        unmoved = self._then_and_now(j, ABSENT, sizes)
        absent = log_prior[ABSENT] + (unmoved + self._evidence(j, ABSENT, sizes))
        new = old = never
        seen = None
        if log_prior[NEW] > -np.inf:
            seen = self._evidence(j, NEW, sizes)
            new = log_prior[NEW] + (self._then_and_now(j, NEW, sizes) + seen)
        if log_prior[OLD] > -np.inf:
            seen = seen if seen is not None and self.age_unseen[j] else self._evidence(j, OLD, sizes)
            economy = self._then_and_now(j, OLD, sizes) if j == self.model.perception else unmoved
            old = log_prior[OLD] + (economy + seen)
        return absent, new, old

    def _sizes(self, j: int, at: Index | slice) -> "_Sizes":
        stories = self.stories
        return _Sizes(at, stories.amount[j, at], stories.effect[j, at], stories.seen[j, at])

    def _then_and_now(self, j: int, state: int, sizes: "_Sizes") -> Floats:
        """Log-likelihood of then and now with column j in one state, the sums being without it."""
        total, misled = self.total[sizes.at], self.misled[sizes.at]
        if j == self.model.perception:
            misled = np.full_like(misled, int(state != ABSENT))
        return self.model.economy.log_likelihood(total + sizes.effect if state == NEW else total, misled)

    def _evidence(self, j: int, state: int, sizes: "_Sizes") -> Floats:
        """The same of what findings say of column j."""
        factors, at, present = self.factors, sizes.at, float(state != ABSENT)
        total: Floats = sizes.none
        if state == NEW:
            total = factors.new[j] * sizes.seen + factors.sure_new[j]
        elif state == OLD:
            total = factors.old[j] * sizes.seen + factors.sure_old[j]
        for n, row in self.rows_of[j]:
            part = row.new[j] if state == NEW else row.old[j] * present
            miss = self.miss[n, at] + part * sizes.seen if part else self.miss[n, at]
            total = total + row.log_likelihood(miss, self.mask[n, at] + row.masks[j] * present)
        for n, gauge in self.gauges_of[j]:
            spoiled = self.spoiled[n, at] + present if j == gauge.look else self.spoiled[n, at]
            read = self.read[n, at] + present * sizes.amount if j != gauge.look else self.read[n, at]
            total = total + gauge.log_likelihood(np.maximum(read, 0.0), spoiled)
        return total

    def _move_severity(self, j: int, rng: np.random.Generator) -> None:
        """A step of z: fresh from the prior where absent, accepted by likelihood where present."""
        stories = self.stories
        if not self.model.columns[j].has_size:
            return
        z = rng.standard_normal(stories.draws)
        there = stories.state[j].nonzero()[0]
        z[there] = KEEP * stories.z[j, there] + RENEW * z[there]
        sizes = self.model.sized(j, z, stories.member)
        for state in (NEW, OLD):
            at = there[stories.state[j, there] == state]
            if at.size:
                better = _Sizes(at, *(size[at] for size in sizes))
                was = self._sizes(j, at)
                gain = self._likelihood(j, state, better) - self._likelihood(j, state, was)
                stays = np.log(rng.random(at.size)) >= gain
                kept = at[stays]
                z[kept] = stories.z[j, kept]
                for size, before in zip(sizes, (was.amount, was.effect, was.seen), strict=True):
                    size[kept] = before[stays]
        stories.z[j], stories.amount[j], stories.effect[j], stories.seen[j] = z, *sizes

    def _likelihood(self, j: int, state: int, sizes: "_Sizes") -> Floats:
        return self._then_and_now(j, state, sizes) + self._evidence(j, state, sizes)

    def _swap(self, chances: Floats, rng: np.random.Generator) -> None:
        """Exchange the states of two columns at once: stories that explain the same loss by another cause."""
        doubt = chances[:, 0] * (1.0 - chances[:, 0])
        open_columns = np.flatnonzero(doubt > 1e-6)
        if open_columns.size < 2:
            return
        weight = np.sqrt(doubt[open_columns])
        for _ in range(max(1, int(SWAPS_PER_COLUMN * open_columns.size))):
            one, other = rng.choice(open_columns, size=2, replace=False, p=weight / weight.sum())
            self._swap_pair(int(one), int(other), rng)

    def _swap_pair(self, one: int, other: int, rng: np.random.Generator) -> None:
        """Exchange two columns in the stories where they differ, by their joint likelihood."""
        state, prior = self.stories.state, self.model.log_prior
        at = np.flatnonzero(state[one] != state[other])
        if self.model.perception in (one, other) or not at.size:
            return
        before = state[one, at], state[other, at]
        was = self._joint((one, other), at) + prior[one, before[0]] + prior[other, before[1]]
        self._exchange(one, other, at)
        is_now = self._joint((one, other), at) + prior[one, before[1]] + prior[other, before[0]]
        with np.errstate(invalid="ignore"):
            accepted = np.log(rng.random(self.stories.draws)[at]) < is_now - was
        self._exchange(one, other, at[~accepted])

    def _exchange(self, one: int, other: int, at: Index) -> None:
        state = self.stories.state
        for column in (one, other):
            self._add(column, -1.0, at)
        state[one, at], state[other, at] = state[other, at], state[one, at]
        for column in (one, other):
            self._add(column, 1.0, at)

    def _joint(self, columns: tuple[int, int], at: Index) -> Floats:
        """Log-likelihood of everything two columns touch, at the states as they stand, shape of `at`."""
        stories, factors = self.stories, self.factors
        total = self.model.economy.log_likelihood(self.total[at], self.misled[at])
        for j in columns:
            new, old = stories.state[j, at] == NEW, stories.state[j, at] == OLD
            seen = stories.seen[j, at]
            total = total + new * (factors.new[j] * seen + factors.sure_new[j])
            total = total + old * (factors.old[j] * seen + factors.sure_old[j])
        for n, row in dict(pair for j in columns for pair in self.rows_of[j]).items():
            total = total + row.log_likelihood(self.miss[n, at], self.mask[n, at])
        for n, gauge in dict(pair for j in columns for pair in self.gauges_of[j]).items():
            total = total + gauge.log_likelihood(np.maximum(self.read[n, at], 0.0), self.spoiled[n, at])
        return total
