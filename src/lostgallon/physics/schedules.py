"""Speed traces at one step a second, cut into short blocks over which temperatures hold still.

Engine, driveline and tires warm up over many minutes, so their temperatures are carried forward once a block;
everything mechanical is computed at every second. Standing seconds of a block are all alike and are only counted.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from importlib import resources
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lostgallon.shop.spread import Floats
from lostgallon.shop.trouble import BadInput, one_of, suggestion

M_S_PER_MPH = 0.44704
SCHEDULES = ("city", "highway", "aggressive")
STANDING_M_S = 0.02
BLOCK_S = 10
FAST_FROM_M_S, FAST_FULL_M_S = 14.0, 18.0  # where added cruise speed begins and is full


@dataclass(frozen=True)
class Block:
    """A stretch of a trace: the moving seconds one by one, the standing ones counted.

    `speed_m_s`, `acceleration_m_s2`, `climb` (rise per distance) and `fast` (share of added cruise speed that
    acts) have shape (moving seconds, 1).
    """

    speed_m_s: Floats
    acceleration_m_s2: Floats
    climb: Floats
    fast: Floats
    standing_s: float
    length_s: float
    distance_m: float


class Steps(NamedTuple):
    """A trace in flat arrays: per moving second, shape (seconds,), and per block, shape (blocks,).

    `first` has shape (blocks + 1,): where each block's seconds begin.
    """

    speed_m_s: Floats
    acceleration_m_s2: Floats
    fast: Floats
    first: NDArray[np.int64]
    standing_s: Floats
    length_s: Floats
    mean_m_s: Floats


@dataclass(frozen=True)
class Trace:
    """A named trace as blocks."""

    name: str
    blocks: tuple[Block, ...]

    @property
    def distance_m(self) -> float:
        """Length of the way. [m]"""
        return float(sum(block.distance_m for block in self.blocks))

    @property
    def length_s(self) -> float:
        """Duration. [s]"""
        return float(sum(block.length_s for block in self.blocks))

    @cached_property
    def steps(self) -> Steps:
        """The same in flat arrays, for the compiled loop."""
        blocks = self.blocks
        return Steps(
            speed_m_s=np.concatenate([block.speed_m_s[:, 0] for block in blocks]),
            acceleration_m_s2=np.concatenate([block.acceleration_m_s2[:, 0] for block in blocks]),
            fast=np.concatenate([block.fast[:, 0] for block in blocks]),
            first=np.cumsum([0, *(block.speed_m_s.size for block in blocks)], dtype=np.int64),
            standing_s=np.array([block.standing_s for block in blocks]),
            length_s=np.array([block.length_s for block in blocks]),
            mean_m_s=np.array([block.distance_m / block.length_s for block in blocks]),
        )


def trace_from_speeds(
    name: str, speed_m_s: Sequence[float] | Floats, *, block_s: int = BLOCK_S, highway: bool = True
) -> Trace:
    """A trace from speeds at whole seconds.

    Args:
        name: What the trace is called.
        speed_m_s: Speed at each second, shape (seconds + 1,). [m/s]
        block_s: Seconds a block. [s]
        highway: Whether its fast stretches are highway, where added cruise speed acts.

    Returns:
        Steps between the seconds: step speed is the mean of its ends, acceleration their difference.

    Raises:
        BadInput: If there are fewer than two speeds, or one is negative, missing or above 90 m/s.
    """
    ends = np.asarray(speed_m_s, dtype=np.float64)
    if ends.size < 2:
        raise BadInput(name, found=f"{ends.size} speeds", expected="at least two, one a second")
    if not np.isfinite(ends).all() or ends.min() < 0.0 or ends.max() > 90.0:
        raise BadInput(name, found="a speed that is missing, negative or above 90 m/s", expected="0 to 90 m/s")
    speed, acceleration = 0.5 * (ends[1:] + ends[:-1]), np.diff(ends)
    starts = range(0, speed.size, block_s)
    cut = [slice(i, i + block_s) for i in starts]
    blocks = (_block(speed[piece], acceleration[piece], highway=highway) for piece in cut)
    return Trace(name, tuple(blocks))


def _block(speed: Floats, acceleration: Floats, *, highway: bool) -> Block:
    moving = speed > STANDING_M_S
    kept = speed[moving][:, None]
    return Block(
        speed_m_s=kept,
        acceleration_m_s2=acceleration[moving][:, None],
        climb=np.zeros_like(kept),
        fast=highway * np.clip((kept - FAST_FROM_M_S) / (FAST_FULL_M_S - FAST_FROM_M_S), 0.0, 1.0),
        standing_s=float(np.count_nonzero(~moving)),
        length_s=float(speed.size),
        distance_m=float(kept.sum()),
    )


def standing(length_s: float) -> Trace:
    """A trace that only stands with the engine running, for a while. [s]"""
    count = max(1, round(length_s / (3 * BLOCK_S)))
    empty = np.zeros((0, 1))
    one = Block(empty, empty, empty, empty, length_s / count, length_s / count, 0.0)
    return Trace("standing", (one,) * count)


def steady(speed_m_s: float, *, length_s: int = 600) -> Trace:
    """A trace at one speed. [m/s, s]"""
    return trace_from_speeds("steady", np.full(length_s + 1, speed_m_s))


@cache
def speeds_m_s(name: str) -> Floats:
    """Speeds of a packaged schedule at whole seconds, shape (seconds + 1,). [m/s]

    Raises:
        BadInput: If there is no such schedule.

    Source: 40 CFR part 86, appendix I, and part 600, appendix I (US government data).
    """
    if name not in SCHEDULES:
        raise BadInput("schedule", found=f"{name!r}{suggestion(name, SCHEDULES)}", expected=one_of(SCHEDULES))
    text = resources.files("lostgallon.data").joinpath("schedules", f"{name}.csv").read_text("utf-8")
    rows = (line.split(",") for line in text.splitlines()[2:])
    return np.array([float(row[1]) for row in rows]) * M_S_PER_MPH


@cache
def schedule(name: str) -> Trace:
    """A packaged schedule: city (1369 s), highway (765 s) or aggressive (600 s)."""
    return trace_from_speeds(name, speeds_m_s(name), highway=name != "city")
