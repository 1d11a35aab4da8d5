"""The overrun: rolling with the foot off. Do the injectors stop, and what does the log know about it?"""

from dataclasses import dataclass

import numpy as np

from lostgallon.drives.samples import Samples, rate
from lostgallon.shop.driven import FuelCut
from lostgallon.shop.spread import Bools

ROLLING_M_S = 7.0
ABOVE_IDLE_RPM = 1_150.0
ENOUGH_S = 15.0


@dataclass(frozen=True)
class Overrun:
    """Where the vehicle overruns, and where the injectors are seen stopped; `cut` is None if the log can't show it."""

    where: Bools
    cut: Bools | None
    verdict: FuelCut


def overrun_of(samples: Samples) -> Overrun:
    """The overrun and the fuel cut, judged by fuel rate, lambda, commanded lambda or the fuel system's status."""
    where = _foot_off(samples)
    cut = _stopped(samples, where)
    seconds = samples.seconds(where)
    if cut is None:
        says = "the log can't show a fuel cut: it holds no fuel rate, lambda or fuel system status"
        return Overrun(where, None, FuelCut(None, None, says))
    if seconds < ENOUGH_S:
        says = f"only {seconds:.0f} s on the overrun; roll off the gas from speed a few times to see the fuel cut"
        return Overrun(where, cut, FuelCut(None, None, says))
    share = samples.seconds(where & cut) / seconds
    if share > 0.1:
        says = f"the injectors stop on the overrun ({100 * share:.0f} % of {seconds:.0f} s)"
    else:
        says = (
            f"no fuel cut in {seconds:.0f} s on the overrun; held off when cold, by some loads, and by a cold reading"
        )
    return Overrun(where, cut, FuelCut(share > 0.1, share, says))


def _foot_off(samples: Samples) -> Bools:
    speed, rpm = samples.speed_m_s, samples.get("rpm")
    nowhere = np.zeros(len(samples.time_s), bool)
    if speed is None or rpm is None:
        return nowhere
    slowing = rate(speed, samples, window_s=3.0) < -0.1
    rolling = (speed > ROLLING_M_S) & (rpm > ABOVE_IDLE_RPM) & slowing
    for name, margin in (("pedal_pct", 1.5), ("throttle_pct", 2.0)):
        opening = samples.get(name)
        if opening is not None and np.isfinite(opening).any():
            return rolling & (opening < float(np.nanquantile(opening, 0.02)) + margin)
    for name, ceiling in (("load_pct", 22.0), ("manifold_pa", 32_000.0)):
        filling = samples.get(name)
        if filling is not None:
            return rolling & (filling < ceiling)
    return nowhere


def _stopped(samples: Samples, foot_off: Bools) -> Bools | None:
    rate_l_h = samples.get("fuel_rate_l_h")
    if rate_l_h is not None:
        return np.asarray(rate_l_h < 0.1) & samples.running()
    for name, lean in (("lambda_1", 1.3), ("equivalence_commanded", 1.5)):
        ratio = samples.get(name)
        if ratio is not None and np.nanmax(ratio) > 0.0:
            return np.asarray(ratio > lean) & samples.running()
    status = samples.get("fuel_status")
    if status is not None:
        return np.asarray(status == 4.0) & foot_off
    return None
