"""What stories have learned, kept by what they learned it from: one finding more, and only that is learned anew.

For programs that stay. A state is taken up with its generator, so the digits are those of learning from nothing.
"""

import hashlib
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.evidence import Piece
from lostgallon.causes.population import Model, Stories
from lostgallon.shop.spread import Floats

MOST_STATES = 12
"""Seven megabytes each at 4096 stories."""


@dataclass(frozen=True)
class Learned:
    """Stories after some pieces of evidence; nobody moves them. `waiting`, shape (draws,), is not yet acted on.

    `generator` is the state of the source of randomness from there on.
    """

    stories: Stories
    waiting: Floats
    generator: Any


class Remembered:
    """The newest states, each under a name that changes with anything it rests on."""

    def __init__(self, most: int = MOST_STATES) -> None:
        self._most = most
        self._states: OrderedDict[str, tuple[Learned, object]] = OrderedDict()

    def find(self, name: str) -> Learned | None:
        """The state of this name, or None."""
        if name not in self._states:
            return None
        self._states.move_to_end(name)
        return self._states[name][0]

    def keep(self, name: str, learned: Learned, *, rests_on: object) -> None:
        """Keep a state, and what its name rests on by identity, which must not be another object's meanwhile."""
        self._states[name] = (learned, rests_on)
        self._states.move_to_end(name)
        while len(self._states) > self._most:
            self._states.popitem(last=False)


def names_of(
    pieces: Sequence[Piece], *, model: Model, catalogue: Catalogue, draws: int, rng: np.random.Generator
) -> list[str]:
    """Names of the states after no piece, after the first, after the first two, and so on."""
    known = model.known
    told = (
        id(model.effects),
        id(catalogue),
        [(column.id, column.log_prior) for column in model.columns],
        model.economy,
        known.season_log.tobytes(),
        known.season_sd,
        [(name, log.tobytes()) for name, log in known.stated.items()],
        draws,
        rng.bit_generator.state,
    )
    names = [_hashed(repr(told))]
    for piece in pieces:
        names.append(_hashed(f"{names[-1]} {piece!r}"))
    return names


def _hashed(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
