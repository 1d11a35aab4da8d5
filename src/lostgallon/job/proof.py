"""From the owner's later fills to the verdict: the job behind the proof of a visit."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

from lostgallon.fillups.prior import LEAST_AFTER, LEAST_BEFORE
from lostgallon.fillups.promised import promise_of, returned_by_promise, whole_tanks
from lostgallon.fillups.proof import came_back_of, first_whole_tank, returned
from lostgallon.fillups.tanks import TankArrays, tanks_of_log
from lostgallon.job.fillups import hints_from, season_prior
from lostgallon.plan.proof import TANK_SCATTER
from lostgallon.readers.fills import NO_HINTS, read_fills, read_fills_text
from lostgallon.shop.filled import CameBack, FillLog, Tank
from lostgallon.shop.proven import By, LaterFill, LaterTank, ProofQuestion, Proven
from lostgallon.shop.visit import Case


def prove(asked: ProofQuestion, *, folder: Path | None = None) -> Proven:
    """What the fills since the work say.

    Args:
        asked: The case as handed back, the promise, and the fills.
        folder: Where calibrations of vehicles are kept; None keeps none.

    Raises:
        BadInput: If a file of fills can't be used.
    """
    before = _read(asked.case.evidence.fill_ups, asked.case)
    later = _read(asked.log, asked.case)
    typed = _typed(asked.fills)
    joined = _joined(before, later, typed)
    told = [log for log in (later, typed) if log is not None]
    tanks = tanks_of_log(joined)
    day = float(asked.work_done.toordinal())
    came_back, by = _verdict(tanks, day, asked, folder=folder)
    counted = slice(first_whole_tank(tanks, day), len(tanks.days)) if by == "log" else whole_tanks(tanks, day)
    return Proven(
        came_back=came_back,
        by=by,
        tanks=_later_tanks(joined.tanks, counted, asked.work_done),
        pooled_l_per_100km=_pooled(tanks, counted),
        left_out=tuple(f"{_place(log, each.line)}: {each.why}" for log in told for each in log.rejected),
        mended=tuple(f"{_place(log, each.line)}: {each.rule}" for log in told for each in log.repaired),
    )


def _verdict(tanks: TankArrays, day: float, asked: ProofQuestion, *, folder: Path | None) -> tuple[CameBack | None, By]:
    promise = asked.promise
    if promise.as_before_l_per_100km is None or promise.fall_pct is None:
        return None, "promise"
    if int((tanks.end_day <= day).sum()) >= LEAST_BEFORE + LEAST_AFTER:
        season = season_prior(asked.case, southern=False, folder=folder)
        return came_back_of(returned(tanks, day, season)), "log"
    told = promise_of(promise.as_before_l_per_100km, promise.fall_pct, scatter=TANK_SCATTER)
    return came_back_of(returned_by_promise(tanks, day, told)), "promise"


def _read(path: Path | None, case: Case) -> FillLog | None:
    return None if path is None else read_fills(path, hints_from(case, NO_HINTS))


def _typed(fills: tuple[LaterFill, ...]) -> FillLog | None:
    """Fills typed one by one go the way of a file: the same repairs, the same refusals."""
    if not fills:
        return None
    rows = [
        f"{fill.filled_on},{fill.odometer_km:.1f},{fill.volume_l:.3f},{'yes' if fill.to_first_click else 'no'}"
        for fill in sorted(fills, key=lambda fill: (fill.filled_on, fill.odometer_km))
    ]
    return read_fills_text("\n".join(["date,odometer km,volume L,full tank", *rows]), name="typed")


def _place(log: FillLog, line: int) -> str:
    return f"fill {line - 1}" if log.name == "typed" else f"{log.name}, line {line}"


def _joined(*logs: FillLog | None) -> FillLog:
    """One log of several: a later one takes over from its first fill on."""
    tanks: tuple[Tank, ...] = ()
    for log in logs:
        if log is None or not log.tanks:
            continue
        first = log.tanks[0]
        begins = first.filled_on - dt.timedelta(days=first.days)
        kept = tuple(tank for tank in tanks if tank.filled_on <= begins)
        tanks = (*kept, replace(first, chained=False), *log.tanks[1:])
    return FillLog(name="fills", tanks=tanks, rejected=(), repaired=(), columns=(), rows=len(tanks))


def _later_tanks(tanks: tuple[Tank, ...], counted: slice, work_done: dt.date) -> tuple[LaterTank, ...]:
    return tuple(
        LaterTank(tank.filled_on, 100.0 * tank.volume_l / tank.distance_km, counted.start <= place < counted.stop)
        for place, tank in enumerate(tanks)
        if tank.filled_on > work_done
    )


def _pooled(tanks: TankArrays, counted: slice) -> float | None:
    distance_km = float(tanks.distance_km[counted].sum())
    return 100.0 * float(tanks.volume_l[counted].sum()) / distance_km if distance_km > 0.0 else None
