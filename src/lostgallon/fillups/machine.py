"""Where the compiled form of the hot sums is put once it is there; compiled.py does so. NumPy runs until then."""

from collections.abc import Callable
from dataclasses import dataclass

Loop = Callable[..., None]


@dataclass(frozen=True)
class Loops:
    """The functions of loops.py as machine code, by name."""

    nearby: Loop
    factor: Loop
    whiten: Loop
    sized: Loop
    summed: Loop
    quantiles: Loop


@dataclass
class Machine:
    """The compiled loops, or None."""

    loops: Loops | None = None


MACHINE = Machine()
