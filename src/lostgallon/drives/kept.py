"""What the control module told beside the drive: codes, counters, ethanol share, voltage, fuel level."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from lostgallon.drives.evidence import ratios
from lostgallon.drives.samples import Samples
from lostgallon.shop.driven import DriveLog, Kept, Pattern
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.trouble_codes import code_of

COUNTER_STOPS_AT = 255.0
ENOUGH_WARM_UPS, ENOUGH_KM = 8.0, 60.0
CHARGING_V = (12.5, 15.2)
"""Battery voltage with the engine running, controlled charging included (trade practice)."""
ENOUGH_MISFIRES, TIMES_THE_OTHERS = 20.0, 4.0


def kept_of(log: DriveLog, samples: Samples) -> tuple[Kept, tuple[NotEnough, ...]]:
    """Everything of this kind the log holds."""
    warm_ups, distance = _last(samples, "warm_ups"), _last(samples, "distance_since_clear_km")
    per_warm_up, missing = km_per_warm_up(warm_ups, distance)
    misfires = _misfires(samples)
    voltage = _running_mean(samples, "voltage_v")
    kept = Kept(
        codes=tuple(code_of(code) for code in log.codes),
        warm_ups=warm_ups,
        distance_since_clear_km=distance,
        km_per_warm_up=per_warm_up,
        misfires=misfires,
        ethanol_pct=_median(samples, "ethanol_pct"),
        voltage_v=voltage,
        fuel_level_drop_pct=_level_drop(samples),
    )
    said = (*_about_codes(kept), *_about_trips(kept), *_about_misfires(misfires), *_about_voltage(voltage))
    return replace(kept, says=said), (missing,) if missing else ()


def km_per_warm_up(warm_ups: float | None, distance_km: float | None) -> tuple[float | None, NotEnough | None]:
    """Distance over warm-ups since the codes were cleared, or why not. [km].

    Traps: both start again when codes are cleared and often when the battery comes off; the warm-up counter stops at
    255; a warm-up counts only from about 70 degC on, so a thermostat stuck open or very short trips raise the ratio.

    Args:
        warm_ups: Counter, PID 30.
        distance_km: Counter, PID 31. [km]
    """
    if warm_ups is None:
        return None, None
    if warm_ups >= COUNTER_STOPS_AT:
        stopped = "the warm-up counter stands at 255, where it stops"
        return None, NotEnough(
            "km_per_warm_up", stopped, "ask for trip lengths; a clear restarts it, and wipes other evidence"
        )
    if distance_km is None:
        return None, None
    if warm_ups < ENOUGH_WARM_UPS or distance_km < ENOUGH_KM:
        seen = f"only {warm_ups:.0f} warm-ups and {distance_km:.0f} km since the codes were cleared"
        return None, NotEnough("km_per_warm_up", seen, "read both again after two weeks of use")
    return distance_km / warm_ups, None


def kept_patterns(kept: Kept, *, thermostat_suspect: bool) -> tuple[Pattern, ...]:
    """What kilometers per warm-up say about short trips. Codes are left to the catalogue, which maps them to causes.

    Args:
        kept: The counters.
        thermostat_suspect: A cold plateau keeps warm-ups from being counted, so a high ratio then says nothing.
    """
    ratio_km = kept.km_per_warm_up
    if ratio_km is None or (thermostat_suspect and ratio_km > 10.0):
        return ()
    sd = 1.0 / math.sqrt(max(kept.warm_ups or 1.0, 1.0))
    found = ratios("km_per_warm_up_ln", math.log(ratio_km), sd_measured=sd)
    because = f"{ratio_km:.0f} km per warm-up since the codes were cleared"
    return tuple(Pattern(cause, ratio, because, ("km_per_warmup",)) for cause, ratio in found.items())


def _last(samples: Samples, name: str) -> float | None:
    values = samples.get(name)
    if values is None or not np.isfinite(values).any():
        return None
    return float(values[np.isfinite(values)][-1])


def _median(samples: Samples, name: str) -> float | None:
    values = samples.get(name)
    return None if values is None or not np.isfinite(values).any() else float(np.nanmedian(values))


def _running_mean(samples: Samples, name: str) -> float | None:
    values = samples.get(name)
    if values is None:
        return None
    use = samples.running() & np.isfinite(values)
    return float(np.median(values[use])) if use.any() else None


def _misfires(samples: Samples) -> tuple[float, ...]:
    """Counts by cylinder, the rise over the log and the standing count together being the last value."""
    counts = [_last(samples, f"misfire_{cylinder}") for cylinder in range(1, 9)]
    return tuple(count for count in counts if count is not None)


def _level_drop(samples: Samples) -> float | None:
    level = samples.get("fuel_level_pct")
    if level is None:
        return None
    seen = level[np.isfinite(level)]
    tenth = max(len(seen) // 10, 1)
    return float(np.median(seen[:tenth]) - np.median(seen[-tenth:])) if len(seen) >= 20 else None


def _about_codes(kept: Kept) -> tuple[str, ...]:
    return tuple(f"code {one.code}: {one.system}, defined by {one.defined_by}" for one in kept.codes)


def _about_trips(kept: Kept) -> tuple[str, ...]:
    if kept.km_per_warm_up is None:
        return ()
    trap = "cold engines that never reach 70 °C are not counted, so short trips and an open thermostat hide here"
    return (f"{kept.km_per_warm_up:.0f} km per warm-up since the codes were cleared; {trap}",)


def cylinder_apart(counts: Sequence[float]) -> int | None:
    """Place of the count that stands out from the others, or None.

    Common practice, no source: at least 20 misfires together, and more than four times the others' mean.
    """
    if len(counts) < 2 or sum(counts) < ENOUGH_MISFIRES:
        return None
    worst = max(range(len(counts)), key=lambda place: counts[place])
    others = (sum(counts) - counts[worst]) / (len(counts) - 1)
    return worst if counts[worst] > TIMES_THE_OTHERS * max(others, 1.0) else None


def _about_misfires(misfires: tuple[float, ...]) -> tuple[str, ...]:
    worst = cylinder_apart(misfires)
    if worst is None:
        return ()
    most, others = misfires[worst], (sum(misfires) - misfires[worst]) / (len(misfires) - 1)
    return (f"cylinder {worst + 1} counts {most:.0f} misfires, the others {others:.0f} on average",)


def _about_voltage(voltage_v: float | None) -> tuple[str, ...]:
    if voltage_v is None or CHARGING_V[0] <= voltage_v <= CHARGING_V[1]:
        return ()
    side = "below" if voltage_v < CHARGING_V[0] else "above"
    return (f"{voltage_v:.1f} V with the engine running, {side} {CHARGING_V[0]:.1f} to {CHARGING_V[1]:.1f} V",)
