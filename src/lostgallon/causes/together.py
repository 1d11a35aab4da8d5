"""What the sum of single effects leaves out: causes run by the physics again, on some of the settled stories.

Stories move by the sum of curves. What two conditions make together beyond their sum, and what a curve of one condition
misses, is added here afterwards, by weights fitted to runs of both and of each alone; docs/account.md, section on
entries.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lostgallon.causes.columns import Column, Effects
from lostgallon.causes.population import ABSENT, NEW, OLD, Stories
from lostgallon.physics.conditions import BY_ID as CONDITIONS
from lostgallon.shop.spread import Floats

Index = NDArray[np.intp]
PAIRS, RUNS = 16, 8
"""How many pairs are run together, and in how many stories each; chosen: the rest holds a tenth of the products."""
RIDGE = 0.01
"""Shrinks the weights, as a share of the mean square of the features; chosen."""


@dataclass(frozen=True)
class Curve:
    """What the curve of one column misses: weights of its log-effect and of powers of its amount over `largest`."""

    column: int
    largest: float
    weights: Floats


@dataclass(frozen=True)
class Pair:
    """Two columns that act on each other: weights of four products of their sizes.

    A size is a log-effect, or an amount times `scale`, the typical log-effect of one unit of it.
    """

    columns: tuple[int, int]
    scale: tuple[float, float]
    weights: Floats

    def log(self, stories: Stories, at: Index) -> Floats:
        """What both make beyond the sum of each, in the stories at `at`, natural log, shape of `at`."""
        products: Floats = _products(stories, self.columns, self.scale, at) @ self.weights
        return products


@dataclass(frozen=True)
class Rerun:
    """What a second run of the physics adds to the sum of single effects."""

    pairs: tuple[Pair, ...] = ()
    curves: tuple[Curve, ...] = ()


def rerun_of(stories: Stories, columns: Sequence[Column], effects: Effects) -> Rerun:
    """The pairs that weigh most in settled stories and the curves of their causes, corrected by the physics.

    Args:
        stories: Settled stories.
        columns: The columns of the case.
        effects: What conditions do to this vehicle's fuel, alone and together.
    """
    chosen = _weightiest(stories, columns)
    if not chosen:
        return Rerun()
    places = [_spread(_both(stories, pair), RUNS) for pair in chosen]
    groups = [*chosen, *((one,) for one, _ in chosen), *((other,) for _, other in chosen)]
    together, one, other = np.split(_run(groups, places * 3, stories, columns, effects), 3)
    beyond = together - one - other
    edges = np.cumsum([0, *(at.size for at in places)])
    parts = [beyond[low:high] for low, high in pairwise(edges)]
    return Rerun(
        tuple(_fitted(stories, pair, at=at, beyond=part) for pair, at, part in zip(chosen, places, parts, strict=True)),
        _curves(
            stories, chosen, np.concatenate(places), np.repeat(np.arange(len(chosen)), np.diff(edges)), (one, other)
        ),
    )


def added_log(stories: Stories, rerun: Rerun) -> Floats:
    """What the second run adds to the log of every new column, shape (columns, draws).

    Two new causes share what they make together in proportion to their single effects; where one of them is old, the
    new one has all of it.
    """
    added = np.zeros_like(stories.effect)
    for curve in rerun.curves:
        new = np.flatnonzero(stories.state[curve.column] == NEW)
        added[curve.column, new] += _alone(stories, curve.column, curve.largest, new) @ curve.weights
    for pair in rerun.pairs:
        at = _both(stories, pair.columns)
        beyond = pair.log(stories, at)
        size = np.array([np.abs(stories.effect[j, at]) * (stories.state[j, at] == NEW) for j in pair.columns])
        whole = size.sum(axis=0)
        share = size / np.where(whole > 0.0, whole, 1.0)
        for side, column in enumerate(pair.columns):
            added[column, at] += share[side] * beyond
    return added


def _both(stories: Stories, pair: tuple[int, ...]) -> Index:
    """Stories in which both are there and at least one is new."""
    states = stories.state[list(pair)]
    return np.flatnonzero((states > ABSENT).all(axis=0) & (states == NEW).any(axis=0))


def _weightiest(stories: Stories, columns: Sequence[Column]) -> list[tuple[int, int]]:
    """Pairs with the largest sums of products of their effects, over the stories in which both are there."""
    bent = [j for j, column in enumerate(columns) if _is_bent(column)]
    there = np.abs(stories.effect[bent]) * (stories.state[bent] > ABSENT)
    old = there * (stories.state[bent] == OLD)
    product = np.triu(there @ there.T - old @ old.T, k=1)
    order = np.argsort(-product, axis=None, kind="stable")[:PAIRS]
    places = [np.unravel_index(place, product.shape) for place in order]
    return [(bent[one], bent[other]) for one, other in places if product[one, other] > 0.0]


def _is_bent(column: Column) -> bool:
    """Whether its condition goes through the run at all: exact ones multiply, and act on nothing else."""
    condition = column.cause.condition if column.cause else None
    return condition is not None and not CONDITIONS[condition].exact


def _spread(at: Index, count: int) -> Index:
    """At most so many of the places, evenly."""
    return at[np.unique(np.linspace(0, at.size - 1, min(count, at.size)).astype(np.intp))]


def _run(
    groups: Sequence[tuple[int, ...]],
    places: Sequence[Index],
    stories: Stories,
    columns: Sequence[Column],
    effects: Effects,
) -> Floats:
    """One run of the physics with each group of columns present in its own stories, all groups one after another."""
    edges = np.cumsum([0, *(at.size for at in places)])
    amounts: dict[str, Floats] = {}
    for group, at, low in zip(groups, places, edges[:-1], strict=True):
        for j in group:
            cause = columns[j].cause
            name = cause.condition if cause else None
            if name is not None:
                amounts.setdefault(name, np.zeros(edges[-1]))[low : low + at.size] += stories.amount[j, at]
    return effects.total_log(amounts, stories.member[np.concatenate(places)])


def _fitted(stories: Stories, pair: tuple[int, ...], *, at: Index, beyond: Floats) -> Pair:
    one, other = pair
    scale = (_typical(stories, one), _typical(stories, other))
    return Pair((one, other), scale, _least_squares(_products(stories, (one, other), scale, at), beyond))


def _curves(
    stories: Stories, chosen: Sequence[tuple[int, int]], at: Index, which: Index, alone: tuple[Floats, Floats]
) -> tuple[Curve, ...]:
    """What the curve of each column misses, from its runs alone: `which` pair each run at `at` belongs to."""
    sides = np.array(chosen)[which]
    found = []
    for column in (int(each) for each in np.unique(sides)):
        mine = [np.flatnonzero(sides[:, side] == column) for side in (0, 1)]
        runs = np.concatenate([at[places] for places in mine])
        ran = np.concatenate([alone[side][places] for side, places in enumerate(mine)])
        largest = max(float(stories.amount[column, runs].max()), 1e-300)
        features = _alone(stories, column, largest, runs)
        found.append(Curve(column, largest, _least_squares(features, ran - stories.effect[column, runs], 1e-6)))
    return tuple(found)


def _alone(stories: Stories, column: int, largest: float, at: Index) -> Floats:
    """Its log-effect and three powers of its amount over the largest that was run, shape (places, 4)."""
    amount = np.minimum(stories.amount[column, at] / largest, 1.0)
    return np.stack([stories.effect[column, at], *(amount**power for power in (1, 2, 3))], axis=1)


def _least_squares(features: Floats, aim: Floats, ridge: float = RIDGE) -> Floats:
    """Weights of features, shrunk a little toward none."""
    square = features.T @ features
    shrink = ridge * np.trace(square) / len(square) + 1e-14
    weights: Floats = np.linalg.solve(square + shrink * np.eye(len(square)), features.T @ aim)
    return weights


def _typical(stories: Stories, j: int) -> float:
    """Mean log-effect over mean amount, in the stories where it is there."""
    there = stories.state[j] > ABSENT
    return float(np.abs(stories.effect[j, there]).sum() / max(stories.amount[j, there].sum(), 1e-300))


def _products(stories: Stories, pair: tuple[int, int], scale: tuple[float, float], at: Index) -> Floats:
    """Four products of the sizes of two columns, shape (places, 4)."""
    effect = [stories.effect[j, at] for j in pair]
    amount = [stories.amount[j, at] * factor for j, factor in zip(pair, scale, strict=True)]
    return np.stack([a * b for a in (effect[0], amount[0]) for b in (effect[1], amount[1])], axis=1)
