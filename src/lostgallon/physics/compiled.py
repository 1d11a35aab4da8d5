"""Machine code of the time loop: made once in another process, kept in a folder, taken into use when it is there.

Nobody waits for it: NumPy runs until the compiled loop stands, and both give the same digits. The compiler is
imported here and nowhere else, and only when asked for.
"""

import subprocess
import sys
import threading
from collections import namedtuple
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np

from lostgallon.physics.lanes import LANE_FIELDS, Lanes
from lostgallon.physics.loop import WIDTH, leg
from lostgallon.physics.schedules import Trace, trace_from_speeds
from lostgallon.physics.trip import MACHINE, Leg, Outcome
from lostgallon.physics.warm_up import RATING_C, Temperatures

LaneArrays: Any = namedtuple("LaneArrays", list(LANE_FIELDS))  # type: ignore[misc]  # noqa: PYI024 - Lanes lists them
Compiled = Callable[..., None]
_PACKAGES = Path(__file__).parents[2]
_ELSEWHERE = """
import sys, pathlib
sys.path.insert(0, sys.argv[1])
from lostgallon.physics.compiled import compiled_leg
compiled_leg(pathlib.Path(sys.argv[2]))
"""


def start_compiling(folder: Path, *, threads: int = 1) -> threading.Thread:
    """Bring the compiled loop into use in the background.

    Args:
        folder: Where machine code is kept; made if need be.
        threads: How many threads a run may use.

    Returns:
        The thread that does it; a trouble on the way leaves NumPy in use.
    """
    thread = threading.Thread(target=_bring_into_use, args=(folder, threads), daemon=True, name="compile physics")
    thread.start()
    return thread


def _bring_into_use(folder: Path, threads: int) -> None:
    if not any(folder.glob("**/*.nbi")):
        # Compiling holds the interpreter for seconds; another process keeps this one free to answer.
        command = [sys.executable, "-c", _ELSEWHERE, str(_PACKAGES), str(folder)]
        made = subprocess.run(command, check=False, capture_output=True)  # noqa: S603 - our own code, no outside text
        if made.returncode != 0:
            return
    try:
        use(compiled_leg(folder), threads=threads)
    except (ImportError, OSError, RuntimeError):
        return


def compiled_leg(folder: Path) -> Compiled:
    """The loop as machine code, compiled or loaded from the folder.

    Args:
        folder: Where machine code is kept. One function with one set of options, so no two share an entry.
    """
    import numba  # noqa: PLC0415 - takes half a second; only who asks for machine code waits for it

    settings: Any = numba.config

    folder.mkdir(parents=True, exist_ok=True)
    before = settings.CACHE_DIR
    settings.CACHE_DIR = str(folder)
    try:
        function: Compiled = numba.njit(cache=True, nogil=True, error_model="numpy")(leg)
        _run(function, _one_lane(), [Leg(_short())], threads=1)
    finally:
        settings.CACHE_DIR = before
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
