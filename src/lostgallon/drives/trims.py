"""Total fuel trim per bank at idle, cruise and load: warm, closed loop, foot on, steady."""

from dataclasses import dataclass
from typing import get_args

import numpy as np

from lostgallon.drives.overrun import Overrun
from lostgallon.drives.samples import Samples, air_share
from lostgallon.shop.driven import Region, Trim
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Bools, Floats

WARM_C, LOWEST_WARM_C = 70.0, 35.0
LONG_DRIVE_S = 900.0
ENOUGH_S = 12.0
ENOUGH_SAMPLES = 6
IDLE_RPM = 1_100.0
CRUISE_M_S = 8.0
CRUISE_FILLING = (0.18, 0.58)
LOAD_FILLING = 0.66
CLOSED, CLOSED_WITH_FAULT = 2.0, 16.0
FIXED_PCT = 0.4
"""A trim that stays within half a step of the port is not at work."""
STUCK_WARM_S = 180.0


@dataclass(frozen=True)
class LoopState:
    """Where the mixture is controlled by the upstream sensor, and whether it ever was once warm (None: not known)."""

    closed: Bools
    ever_closed: bool | None
    warm_s: float


def loop_state(samples: Samples) -> LoopState:
    """Closed loop by the fuel system's status, else by a short trim that moves."""
    warm = _warm(samples) & samples.running()
    warm_s = samples.seconds(warm)
    status = samples.get("fuel_status")
    if status is not None and np.isfinite(status).any():
        closed = (status == CLOSED) | (status == CLOSED_WITH_FAULT)
        ever = samples.seconds(closed & warm) > 0.05 * warm_s if warm_s >= STUCK_WARM_S else None
        return LoopState(np.asarray(closed), ever, warm_s)
    moving = any(_moves(samples.get(f"short_trim_{bank}_pct"), warm) for bank in (1, 2))
    known = any(samples.get(f"short_trim_{bank}_pct") is not None for bank in (1, 2))
    ever = moving if known and warm_s >= STUCK_WARM_S else None
    return LoopState(np.full(len(samples.time_s), moving), ever, warm_s)


def _warm(samples: Samples) -> Bools:
    """Coolant past 70 degC, or near where a long drive took it if that is lower: control is closed long before."""
    coolant = samples.get("coolant_c")
    if coolant is None:
        return np.ones(len(samples.time_s), bool)
    reached = float(np.nanquantile(coolant, 0.9)) - 8.0
    line = max(min(WARM_C, reached), LOWEST_WARM_C) if samples.duration_s > LONG_DRIVE_S else WARM_C
    return np.asarray(coolant >= line)


def _moves(trim: Floats | None, where: Bools) -> bool:
    if trim is None or not where.any():
        return False
    seen = trim[where]
    seen = seen[np.isfinite(seen)]
    return len(seen) > 1 and float(np.std(seen)) > 0.5 * FIXED_PCT


def regions(samples: Samples, overrun: Overrun) -> dict[Region, Bools]:
    """Where the engine idles, cruises and pulls; a steady 2500 rpm in the bay counts as cruise."""
    rpm = samples.get("rpm")
    standing = samples.standing()
    running = samples.running()
    filling = air_share(samples)
    nowhere = np.zeros(len(samples.time_s), bool)
    still = nowhere if standing is None else standing
    slow = nowhere if rpm is None else rpm < IDLE_RPM
    foot = running & ~overrun.where
    if overrun.cut is not None:
        foot = foot & ~overrun.cut
    idle = still & running & (slow if rpm is not None else running)
    if filling is None:
        return {"idle": idle, "cruise": foot & ~still & ~slow, "load": nowhere}
    speed = samples.speed_m_s
    rolling = nowhere if speed is None else speed > CRUISE_M_S
    bay = nowhere if rpm is None else still & (rpm > 2_000.0) & (rpm < 3_200.0)
    light = (filling > CRUISE_FILLING[0]) & (filling < CRUISE_FILLING[1])
    return {"idle": idle, "cruise": foot & ((rolling & light) | bay), "load": foot & (filling > LOAD_FILLING)}


def trims_of(samples: Samples, overrun: Overrun, loop: LoopState) -> tuple[Trim, ...] | NotEnough:
    """Mean trims for every bank and region that the log holds enough of.

    Args:
        samples: The drive.
        overrun: Where the foot is off; trims there say nothing.
        loop: Where the loop is closed.
    """
    banks = [bank for bank in (1, 2) if _has_trims(samples, bank)]
    if not banks:
        return NotEnough("trims", "fuel trims", "log short and long fuel trim of each bank")
    if loop.ever_closed is False:
        return ()
    where = regions(samples, overrun)
    steady = loop.closed & _warm(samples)
    found = [
        trim
        for bank in banks
        for region in get_args(Region)
        if (trim := _trim(samples, bank, region=region, where=where[region] & steady)) is not None
    ]
    if not found:
        would = "log a warm minute of idle and a few of steady cruise, and a pull"
        return NotEnough("trims", "warm closed-loop time in any region", would)
    return tuple(found)


def _has_trims(samples: Samples, bank: int) -> bool:
    return any(samples.get(f"{kind}_trim_{bank}_pct") is not None for kind in ("short", "long"))


def _trim(samples: Samples, bank: int, *, region: Region, where: Bools) -> Trim | None:
    short = _mean(samples, f"short_trim_{bank}_pct", where)
    long = _mean(samples, f"long_trim_{bank}_pct", where)
    count = int(np.count_nonzero(where))
    if count < ENOUGH_SAMPLES or samples.seconds(where) < ENOUGH_S or (short is None and long is None):
        return None
    total = (short or 0.0) + (long or 0.0)
    return Trim(bank, region, short, long, total, count)


def _mean(samples: Samples, name: str, where: Bools) -> float | None:
    values = samples.get(name)
    if values is None:
        return None
    use = where & np.isfinite(values)
    weight = samples.weight_s[use]
    return float(np.average(values[use], weights=weight)) if weight.sum() > 0.0 else None


def memory_was_cleared(samples: Samples) -> bool:
    """Whether the long trims never left zero while the short ones work: cleared a short while ago, no evidence."""
    pairs = [(samples.get(f"short_trim_{bank}_pct"), samples.get(f"long_trim_{bank}_pct")) for bank in (1, 2)]
    pairs = [(short, long) for short, long in pairs if short is not None and long is not None]
    warm = _warm(samples)
    return bool(pairs) and all(_moves(short, warm) and not _moves(long, warm) and _zero(long) for short, long in pairs)


def _zero(trim: Floats | None) -> bool:
    return trim is not None and bool(np.nanmax(np.abs(trim)) <= FIXED_PCT)
