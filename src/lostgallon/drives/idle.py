"""Standing with the engine running: share of time and fuel, liters an hour against the published range."""

import numpy as np

from lostgallon.drives.fuel import FuelFlow, spread_about
from lostgallon.drives.samples import Samples
from lostgallon.drives.vehicle import Subject
from lostgallon.shop.driven import Idle
from lostgallon.shop.notice import NotEnough

IDLE_L_PER_H_PER_L = (0.30, 0.32)
"""Warm, no load, no accessories. Source: US DOE Fact 861, 23 Feb 2015 (0.16 gal/h at 2.0 L, 0.39 at 4.6 L)."""
TOLERANCE = 0.25
WARM_C = 75.0
ENOUGH_S = 20.0


def idle_of(samples: Samples, flow: FuelFlow | None, subject: Subject) -> Idle | NotEnough:
    """Idle share, and liters an hour when warm.

    Args:
        samples: The drive.
        flow: Fuel flow, where the log gives one.
        subject: What is known of the vehicle.
    """
    standing = samples.standing()
    running = samples.running()
    seconds = samples.seconds(running)
    if standing is None or seconds <= 0.0:
        return NotEnough("idle", "a speed, to know when the vehicle stands", "log the road speed")
    idling = standing & running
    share = samples.seconds(idling) / seconds
    if flow is None:
        return Idle(share=share, l_per_h=None, says="the fuel at idle is not known")
    fuel = flow.flow_l_s * samples.weight_s
    fuel_share = float(fuel[idling].sum() / max(fuel.sum(), 1e-12))
    coolant = samples.get("coolant_c")
    warm = idling if coolant is None else idling & (coolant >= WARM_C)
    warm_s = samples.seconds(warm)
    if warm_s < ENOUGH_S:
        seen = f"only {warm_s:.0f} s of warm idle" if warm_s >= 1.0 else "no warm idle"
        says = f"{seen}; let it idle warm for half a minute"
        return Idle(share=share, l_per_h=None, fuel_share=fuel_share, says=says)
    per_hour = 3600.0 * float(np.sum(fuel[warm])) / warm_s
    return Idle(share, spread_about(per_hour, flow.relative_sd), fuel_share, _against(per_hour, subject))


def _against(l_per_h: float, subject: Subject) -> str:
    if subject.displacement_l is None:
        return ""
    low = (1.0 - TOLERANCE) * IDLE_L_PER_H_PER_L[0] * subject.displacement_l
    high = (1.0 + TOLERANCE) * IDLE_L_PER_H_PER_L[1] * subject.displacement_l
    usual = f"the usual {low:.1f} to {high:.1f} L/h for {subject.displacement_l:.1f} L, warm and without load"
    if l_per_h > high:
        return f"above {usual}; air conditioning, electrical load and a high idle speed all raise it"
    return f"below {usual}" if l_per_h < low else f"inside {usual}"
