"""Machine code of the time loop: made once in another process, kept in a folder, taken into use when it is there.

Nobody waits for it: NumPy runs until the compiled loop stands, and both give the same digits.
"""

import threading
from collections import namedtuple
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np

from lostgallon.physics.lanes import LANE_FIELDS, Lanes
from lostgallon.physics.loop import WIDTH, leg
from lostgallon.physics.machine_code import compiled, in_background
from lostgallon.physics.schedules import Trace, trace_from_speeds
from lostgallon.physics.trip import MACHINE, Leg, Outcome
from lostgallon.physics.warm_up import RATING_C, Temperatures

LaneArrays: Any = namedtuple("LaneArrays", list(LANE_FIELDS))  # type: ignore[misc]  # noqa: PYI024 - Lanes lists them
Compiled = Callable[..., None]


def start_compiling(folder: Path, *, threads: int = 1) -> threading.Thread:
    """Bring the compiled loop into use in the background.

    Args:
        folder: Where machine code is kept; made if need be.
        threads: How many threads a run may use.

    Returns:
        The thread that does it; a trouble on the way leaves NumPy in use.
    """
    return in_background(folder, make=compiled_leg, take=lambda kept: use(compiled_leg(kept), threads=threads))


def compiled_leg(folder: Path) -> Compiled:
    """The loop as machine code, compiled or loaded from the folder.

    Args:
        folder: Where machine code is kept. One function with one set of options, so no two share an entry.
    """
    function: Compiled = compiled(leg, folder)
    _run(function, _one_lane(), [Leg(_short())], threads=1)
    return function


def use(function: Compiled, *, threads: int = 1) -> None:
    """Let `trip.drive` run on this function from now on."""

    def drive(lanes: Lanes, legs: Sequence[Leg], start: Temperatures, starting: bool) -> Outcome:  # noqa: FBT001 - as trip.Machine calls it
        return _run(function, (lanes, start, starting), legs, threads=threads)

    MACHINE.drive = drive


def back_to_numpy() -> None:
    """Let `trip.drive` run on NumPy again."""
    MACHINE.drive = None


def _run(
    function: Compiled, started: tuple[Lanes, Temperatures, bool], legs: Sequence[Leg], *, threads: int
) -> Outcome:
    lanes, start, starting = started
    count = lanes.count
    arrays = LaneArrays(*(np.ascontiguousarray(getattr(lanes, name)) for name in LANE_FIELDS))
    now = np.stack([start.engine_c, start.driveline_c, start.tire_c, start.engine_drift_k])
    done = np.zeros((2, count))
    done[0] = starting * lanes.start_j_per_x * np.maximum(RATING_C - start.engine_c, 0.0) / 100.0
    cut = np.linspace(0, count, threads + 1) // WIDTH * WIDTH
    cut[-1] = count
    spans = np.stack([cut[:-1], cut[1:]], axis=1).astype(np.int64)
    scales = [np.ones(count) if leg.scale is None else np.ascontiguousarray(leg.scale) for leg in legs]

    def stretch(span: Any) -> None:
        for one, scale in zip(legs, scales, strict=True):
            function(arrays, one.trace.steps, scale, now, done, span)

    if threads == 1 or count < threads * WIDTH:
        stretch(np.array([0, count]))
    else:
        with ThreadPoolExecutor(threads) as pool:
            list(pool.map(stretch, spans))
    return Outcome(done[0], done[1], Temperatures(now[0], now[1], now[2], now[3]), {})


def _one_lane() -> tuple[Lanes, Temperatures, bool]:
    one = np.ones(1)
    return Lanes(*(one for _ in LANE_FIELDS)), Temperatures(one, one, one, one), True


def _short() -> Trace:
    return trace_from_speeds("short", [0.0, 1.0, 1.0, 0.0])
