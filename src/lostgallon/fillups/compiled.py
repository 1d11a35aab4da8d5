"""Machine code of loops.py: made once, kept in a folder, taken into use. One log and a whole fleet run on the same."""

import threading
from pathlib import Path

import numpy as np

from lostgallon.fillups import loops
from lostgallon.fillups.machine import MACHINE, Loops
from lostgallon.fillups.mixtures import mixture_quantiles
from lostgallon.fillups.posterior import weigh
from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fillups.tanks import TankArrays, stack
from lostgallon.physics.machine_code import compiled, in_background

FOLDER = "fill-ups"


def start_compiling(folder: Path) -> threading.Thread:
    """Bring the compiled loops into use in the background.

    Args:
        folder: Where machine code is kept; it gets a folder of its own in it.

    Returns:
        The thread that does it; a trouble on the way leaves NumPy in use.
    """
    return in_background(folder / FOLDER, make=compiled_loops, take=lambda kept: use(compiled_loops(kept)))


def bring_into_use(folder: Path) -> None:
    """Compile or load, and wait for it: for who has minutes of work.

    Args:
        folder: As for start_compiling.
    """
    if MACHINE.loops is None:
        use(compiled_loops(folder / FOLDER))


def use(made: Loops) -> None:
    """Let the model run on these from now on."""
    MACHINE.loops = made


def back_to_numpy() -> None:
    """Let the model run on NumPy again."""
    MACHINE.loops = None


def compiled_loops(folder: Path) -> Loops:
    """The loops as machine code, compiled or loaded from the folder.

    Args:
        folder: Where machine code is kept.
    """
    made = Loops(*(compiled(getattr(loops, name), folder) for name in Loops.__dataclass_fields__))
    before = MACHINE.loops
    MACHINE.loops = made
    try:
        _once()
    finally:
        MACHINE.loops = before
    return made


def _once() -> None:
    """Every loop on the kinds of arrays it will meet: a made log of ten tanks."""
    tanks = np.arange(1.0, 11.0)
    unknown = np.full(10, np.nan)
    log = TankArrays(
        7e5 + 9.0 * tanks, 9.0 + 0 * tanks, 400.0 + tanks, 40.0 + tanks % 3, tanks > 1, tanks**0, unknown, unknown
    )
    seen = weigh(stack([log]), SeasonPrior())
    mixture_quantiles(*(each.reshape(1, -1) for each in (seen.weight, seen.own_mean, seen.own_sd)))
