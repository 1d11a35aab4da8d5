"""Distance and fuel of a drive, its idle share, and what the overrun did to it."""

import math
from dataclasses import dataclass

import numpy as np

from lostgallon.drives.fuel import FuelFlow, fuel_flow, spread_about
from lostgallon.drives.idle import idle_of
from lostgallon.drives.overrun import Overrun, overrun_of
from lostgallon.drives.samples import Samples, distance_m
from lostgallon.drives.vehicle import Subject
from lostgallon.physics.coefficients import coefficients
from lostgallon.shop.driven import Curve, FuelCut, Idle
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Floats, Spread

ENOUGH_KM = 0.5
DISTANCE_SD = 0.012
"""Speed through the port: its whole km/h and the speedometer's own scale (from memory)."""
AGREES = 0.03
PICTURE_POINTS, SPEED_POINTS = 50, 240


@dataclass(frozen=True)
class Consumption:
    """What the drive used. `flow` has the fuel cut already taken off; `curve` is liters against kilometers."""

    distance_km: float | None
    fuel_l: Spread | None
    l_per_100km: Spread | None
    idle: Idle | None
    flow: FuelFlow | None
    overrun: Overrun
    curve: Curve
    notes: tuple[str, ...]
    not_enough: tuple[NotEnough, ...]

    @property
    def fuel_cut(self) -> FuelCut:
        """What is said of the overrun."""
        return self.overrun.verdict


def consumption_of(samples: Samples, subject: Subject) -> Consumption:
    """Distance by the log's clock, fuel by the best way there is, with what is missing named.

    Args:
        samples: The drive.
        subject: What is known of the vehicle.
    """
    missing: list[NotEnough] = []
    overrun = overrun_of(samples)
    found = fuel_flow(samples, subject)
    if isinstance(found, NotEnough):
        missing.append(found)
    flow = None if isinstance(found, NotEnough) else _with_cut(found, samples, overrun)
    meters = distance_m(samples)
    if meters is None:
        missing.append(NotEnough("distance", "the road speed", "log the road speed"))
    idle = idle_of(samples, flow, subject)
    if isinstance(idle, NotEnough):
        missing.append(idle)
    fuel_l = None if flow is None else float(np.sum(flow.flow_l_s * samples.weight_s))
    economy = _economy(fuel_l, flow, meters, missing)
    return Consumption(
        distance_km=None if meters is None else meters / 1000.0,
        fuel_l=None if flow is None or not fuel_l else spread_about(fuel_l, flow.relative_sd),
        l_per_100km=economy,
        idle=None if isinstance(idle, NotEnough) else idle,
        flow=flow,
        overrun=overrun,
        curve=_curve(samples, flow),
        notes=_notes(samples, meters),
        not_enough=tuple(missing),
    )


def _with_cut(flow: FuelFlow, samples: Samples, overrun: Overrun) -> FuelFlow:
    """Fuel flow with the overrun's cut taken off: where it is seen, else by its usual share with the share's spread."""
    if flow.source == "fuel rate":
        return flow
    if overrun.cut is not None:
        return FuelFlow(np.where(overrun.cut & overrun.where, 0.0, flow.flow_l_s), flow.relative_sd, flow.source)
    usual = coefficients()["overrun_cut"]
    fuel = flow.flow_l_s * samples.weight_s
    touched = float(fuel[overrun.where].sum() / max(fuel.sum(), 1e-12))
    reduced = np.where(overrun.where, (1.0 - usual.value) * flow.flow_l_s, flow.flow_l_s)
    return FuelFlow(reduced, math.hypot(flow.relative_sd, usual.spread * touched), flow.source)


def _economy(
    fuel_l: float | None, flow: FuelFlow | None, meters: float | None, missing: list[NotEnough]
) -> Spread | None:
    if fuel_l is None or flow is None or meters is None:
        return None
    if fuel_l <= 0.0:
        missing.append(NotEnough("fuel_used", f"no fuel by the {flow.source}", "check that column"))
        return None
    if meters < 1000.0 * ENOUGH_KM:
        seen = f"only {meters / 1000.0:.2f} km driven" if meters >= 10.0 else "no distance driven"
        missing.append(NotEnough("fuel_per_distance", seen, "drive at least a few kilometers"))
        return None
    return spread_about(100_000.0 * fuel_l / meters, math.hypot(flow.relative_sd, DISTANCE_SD))


def _curve(samples: Samples, flow: FuelFlow | None) -> Curve:
    speed = samples.speed_m_s
    if flow is None or speed is None:
        return ()
    kilometers = np.cumsum(np.nan_to_num(speed) * samples.weight_s) / 1000.0
    liters = np.cumsum(flow.flow_l_s * samples.weight_s)
    if kilometers[-1] <= 0.0:
        return ()
    grid = np.linspace(0.0, float(kilometers[-1]), PICTURE_POINTS)
    at = liters[np.minimum(np.searchsorted(kilometers, grid), len(liters) - 1)]
    return tuple((round(float(x), 4), round(float(y), 5)) for x, y in zip(grid, at, strict=True))


def speed_curve(samples: Samples) -> Curve:
    """Road speed over the log's minutes, as a picture shows it: km/h against min."""
    speed = samples.speed_m_s
    if speed is None or not np.isfinite(speed).any():
        return ()
    seen = np.isfinite(speed)
    grid = np.linspace(samples.time_s[0], samples.time_s[-1], SPEED_POINTS)
    at = np.interp(grid, samples.time_s[seen], speed[seen])
    return tuple((round(float(x) / 60.0, 3), round(3.6 * float(y), 1)) for x, y in zip(grid, at, strict=True))


def _notes(samples: Samples, meters: float | None) -> tuple[str, ...]:
    """Where the recorder's own distance or the log's holes leave a doubt about the distance."""
    said: list[str] = []
    if samples.gap_s > 0.0:
        said.append(f"the log has holes of {samples.gap_s:.0f} s in all; nothing is counted across them")
    counted = _counter_km(samples.get("distance_km"), samples.get("odometer_km"))
    if meters and counted and abs(counted / (meters / 1000.0) - 1.0) > AGREES:
        km = meters / 1000.0
        said.append(f"speed over time gives {km:.2f} km, the recorder's distance {counted:.2f} km: check their units")
    return tuple(said)


def _counter_km(*counters: Floats | None) -> float | None:
    for counter in counters:
        if counter is not None:
            seen = counter[np.isfinite(counter)]
            if len(seen) and seen[-1] - seen[0] > 1.0:
                return float(seen[-1] - seen[0])
    return None
