"""A steel rule: a linear scale and its ticks. Everything measured lies on one."""

import math
from dataclasses import dataclass

from lostgallon.paper.figures import rounded

_MOST_NUMBERS = 5.5
_TICKS_BETWEEN_NUMBERS = {1: 2, 2: 4, 5: 5}


@dataclass(frozen=True)
class Scale:
    """A linear scale from its left end to its right end, any one unit."""

    low: float
    high: float

    def at(self, value: float) -> float:
        """Where a value lies: 0 at the left end, 1 at the right."""
        return (value - self.low) / (self.high - self.low)


@dataclass(frozen=True)
class Tick:
    """A tick of a rule: its place as a share of the width, its number (empty for a short tick)."""

    at: float
    number: str


def number_step(span: float) -> float:
    """The distance between numbered ticks: 1, 2 or 5 times a power of ten, at most six numbers to the span."""
    rough = span / _MOST_NUMBERS
    power = 10.0 ** math.floor(math.log10(rough))
    return next(nice * power for nice in (1.0, 2.0, 5.0, 10.0) if nice * power >= rough * (1.0 - 1e-9))


def ticks(scale: Scale, *, factor: float = 1.0) -> tuple[Tick, ...]:
    """The ticks of a rule in the unit that `factor` makes of the scale's own.

    Args:
        scale: The scale, own unit.
        factor: Times the own unit gives the unit of the numbers.

    Returns:
        Ticks from left to right, the numbered ones with their number.
    """
    low, high = scale.low * factor, scale.high * factor
    step = number_step(high - low)
    parts = _TICKS_BETWEEN_NUMBERS[round(step / 10.0 ** math.floor(math.log10(step) + 1e-9))]
    first = math.ceil(low / step * parts - 1e-9)
    last = math.floor(high / step * parts + 1e-9)
    return tuple(
        Tick(
            at=scale.at(count * step / parts / factor),
            number=rounded(count // parts * step, step) if count % parts == 0 else "",
        )
        for count in range(first, last + 1)
    )
