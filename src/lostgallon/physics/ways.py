"""Ways of driving that can be asked for by name, and one from a recorded trace."""

from collections.abc import Sequence

import numpy as np

from lostgallon.physics.predicting import Way
from lostgallon.physics.schedules import SCHEDULES, schedule, standing, trace_from_speeds
from lostgallon.physics.trip import Leg
from lostgallon.shop.trouble import BadInput, one_of, suggestion
from lostgallon.shop.visit import Use

WAYS = (*SCHEDULES, "short_trip")
LONGEST_TRACE_S = 86_400.0


def way_named(name: str, use: Use) -> Way:
    """A way of driving by its name: a schedule from warm, or one of the owner's trips from a full cold soak.

    Raises:
        BadInput: If there is no such way; the nearest is suggested.
    """
    if name in SCHEDULES:
        return Way(name, (Leg(schedule(name)),), "warm")
    if name == "short_trip":
        return _short_trip(use)
    raise BadInput("way of driving", found=f"{name!r}{suggestion(name, WAYS)}", expected=one_of(WAYS))


def _short_trip(use: Use) -> Way:
    """One trip of the owner: his warm-up at a stand, then each schedule brought to its distance."""
    idle = [Leg(standing(use.warm_up_idle_s))] if use.warm_up_idle_s else []
    shares = {"city": 1.0 - use.highway_share, "highway": use.highway_share}
    legs = [
        Leg(schedule(name), np.array([1e3 * use.trip_km * share / schedule(name).distance_m]))
        for name, share in shares.items()
        if share > 0.0
    ]
    return Way("short_trip", (*idle, *legs), "cold")


def recorded_way(name: str, times_s: Sequence[float], speeds_m_s: Sequence[float]) -> Way:
    """A recorded trace, driven by a warm vehicle.

    Args:
        name: What it is called.
        times_s: Rising times. [s]
        speeds_m_s: Speed at each time; between them it is taken as a straight line. [m/s]

    Raises:
        BadInput: If it lasts under two seconds or over a day, or never moves.
    """
    times, speeds = np.asarray(times_s, dtype=np.float64), np.asarray(speeds_m_s, dtype=np.float64)
    length_s = times[-1] - times[0]
    if not 2.0 <= length_s <= LONGEST_TRACE_S:
        raise BadInput(name, found=f"a trace of {length_s:g} s", expected="2 s to a day")
    seconds = times[0] + np.arange(int(length_s) + 1)
    trace = trace_from_speeds(name, np.interp(seconds, times, speeds))
    if trace.distance_m < 1.0:
        raise BadInput(name, found="a trace that never moves", expected="a drive")
    return Way(name, (Leg(trace),), "warm")
