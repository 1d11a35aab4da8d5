"""Tanks that stand far off their neighbors: pooled, proposed for correction, or left out. Never halved."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from lostgallon.readers.fills_chain import Ledger
from lostgallon.shop.filled import Tank
from lostgallon.shop.spread import Floats
from lostgallon.shop.units import KM_PER_MILE, L_PER_IMPERIAL_GALLON, L_PER_US_GALLON

HALF_WINDOW = 5
LEAST_THRESHOLD = 0.30
ROBUST_SDS = 5.0
NEIGHBOR_SHARE = 0.4
NEAR_FACTOR = 0.16
USUAL_VOLUME = 0.35
MISSED = (0.18, 0.60)
OVER_COUNT = (1.8, 2.2)


@dataclass(frozen=True)
class Slip:
    """A way to write a figure wrong by a fixed factor, possible in files kept in `file_unit` (or any).

    `factor` multiplies what is written.
    """

    field: str
    factor: float
    what: str
    file_unit: str = ""


SLIPS = (
    Slip("volume", L_PER_US_GALLON, "liters written among gallons", "gal"),
    Slip("volume", L_PER_IMPERIAL_GALLON, "liters written among imperial gallons", "imp_gal"),
    Slip("volume", L_PER_US_GALLON / L_PER_IMPERIAL_GALLON, "imperial gallons written among US ones", "gal"),
    Slip("volume", L_PER_IMPERIAL_GALLON / L_PER_US_GALLON, "US gallons written among imperial ones", "imp_gal"),
    Slip("volume", 1.0 / L_PER_US_GALLON, "gallons written among liters", "L"),
    Slip("volume", 1.0 / L_PER_IMPERIAL_GALLON, "imperial gallons written among liters", "L"),
    Slip("volume", 10.0, "a decimal sign one place to the right"),
    Slip("volume", 0.1, "a decimal sign one place to the left"),
    Slip("volume", 1000.0, "a decimal sign that was lost"),
    Slip("distance", KM_PER_MILE, "kilometers written among miles", "mi"),
    Slip("distance", 1.0 / KM_PER_MILE, "miles written among kilometers", "km"),
    Slip("distance", 10.0, "a decimal sign one place to the right"),
    Slip("distance", 0.1, "a decimal sign one place to the left"),
)
"""The unit factors are exact (shop/units.py); which slips happen is common practice, no source."""


@dataclass(frozen=True)
class Told:
    """What judging a tank needs to know of its file: units by column, lines whose proposal was confirmed."""

    units: Mapping[str, str]
    confirmed: tuple[int, ...] = ()


def doubt(tanks: Sequence[Tank], ledger: Ledger, *, told: Told) -> tuple[Tank, ...]:
    """Judges every tank against the 11-row running median of fuel per distance.

    A tank is in doubt beyond max(0.30, 5 robust sd) of ln fuel per distance. Opposite neighbors that cancel
    are pooled; a factor that a unit or a decimal sign explains is proposed and stays out until confirmed; the
    rest is left out and breaks the chain.
    """
    off, threshold = deviations(tanks)
    usual = np.median([[tank.distance_km, tank.volume_l] for tank in tanks], axis=0) if tanks else np.ones(2)
    kept: list[Tank] = []
    broken = False
    index = 0
    while index < len(tanks):
        tank = tanks[index]
        if _cancel(tanks, off, index=index, threshold=threshold):
            pooled = _pool(tank, tanks[index + 1])
            ledger.mend(tanks[index + 1].line, f"pooled with line {tank.line}: one high, one low, together usual")
            kept.append(replace(pooled, chained=pooled.chained and not broken))
            broken = False
            index += 2
            continue
        index += 1
        if abs(off[index - 1]) > threshold:
            mended = _judge(tank, float(off[index - 1]), usual=usual, told=told, ledger=ledger)
            if mended is None:
                broken = True
                continue
            tank = mended
        kept.append(replace(tank, chained=tank.chained and not broken))
        broken = False
    _warn_large(kept, ledger)
    return tuple(kept)


def deviations(tanks: Sequence[Tank]) -> tuple[Floats, float]:
    """Natural log of fuel per distance less its 11-row running median, shape (tanks,), and the threshold of doubt."""
    ratio = np.log([tank.volume_l / tank.distance_km for tank in tanks]) if tanks else np.zeros(0)
    near = [np.median(ratio[max(0, index - HALF_WINDOW) : index + HALF_WINDOW + 1]) for index in range(len(ratio))]
    off = ratio - np.asarray(near, dtype=np.float64)
    robust_sd = 1.4826 * float(np.median(np.abs(off))) if len(off) else 0.0
    return off, max(LEAST_THRESHOLD, ROBUST_SDS * robust_sd)


def _cancel(tanks: Sequence[Tank], off: Floats, *, index: int, threshold: float) -> bool:
    if index + 1 >= len(tanks) or not tanks[index + 1].chained:
        return False
    here, there = off[index], off[index + 1]
    if here * there >= 0 or max(abs(here), abs(there)) <= threshold:
        return False
    if min(abs(here), abs(there)) <= NEIGHBOR_SHARE * threshold:
        return False
    fuel = [tank.volume_l for tank in tanks[index : index + 2]]
    usual = [volume / np.exp(dev) for volume, dev in zip(fuel, (here, there), strict=True)]
    return bool(abs(np.log(sum(fuel) / sum(usual))) <= threshold / 2.0)


def _pool(first: Tank, second: Tank) -> Tank:
    ambient = [tank.ambient_c for tank in (first, second) if tank.ambient_c is not None]
    return replace(
        second,
        days=first.days + second.days,
        distance_km=first.distance_km + second.distance_km,
        volume_l=first.volume_l + second.volume_l,
        chained=first.chained,
        reconstructed=first.reconstructed or second.reconstructed,
        ambient_c=sum(ambient) / len(ambient) if ambient else None,
    )


def _judge(tank: Tank, off: float, *, usual: Floats, told: Told, ledger: Ledger) -> Tank | None:
    """The tank mended by a confirmed proposal, or None after it was left out with its reason."""
    times = f"{np.exp(off):.2g} times the fuel per distance of its neighbors"
    slip = _slip(tank, off, usual=usual, units=told.units)
    if slip is None:
        reason = "stands alone"
        if MISSED[0] <= np.exp(off) <= MISSED[1]:
            reason = "this fill was partial, or one before it is missing"
        elif OVER_COUNT[0] <= np.exp(off) <= OVER_COUNT[1]:
            reason = "probably two fills or a half distance in one row"
        ledger.reject(tank.line, f"{times}: {reason}")
        return None
    if tank.line in told.confirmed:
        ledger.mend(tank.line, f"{slip.what}: {slip.field} divided by {slip.factor:.4g}, as confirmed")
        if slip.field == "volume":
            return replace(tank, volume_l=tank.volume_l / slip.factor)
        return replace(tank, distance_km=tank.distance_km / slip.factor)
    ledger.reject(tank.line, f"{times}: perhaps {slip.what}; out until confirmed with --confirm {tank.line}")
    return None


def _slip(tank: Tank, off: float, *, usual: Floats, units: Mapping[str, str]) -> Slip | None:
    """The nearest factor that explains the tank while its other figure and the mended one are usual."""
    fits: list[tuple[float, Slip]] = []
    for slip in SLIPS:
        if slip.file_unit and slip.file_unit != units.get(slip.field, ""):
            continue
        sign = 1.0 if slip.field == "volume" else -1.0
        miss = abs(off - sign * np.log(slip.factor))
        value, typical = (tank.volume_l, usual[1]) if slip.field == "volume" else (tank.distance_km, usual[0])
        before, after = abs(np.log(value / typical)), abs(np.log(value / slip.factor / typical))
        if miss <= NEAR_FACTOR and after < before and after < 2.0 * USUAL_VOLUME:
            fits.append((float(miss), slip))
    return min(fits, key=lambda each: each[0])[1] if fits else None


def _warn_large(tanks: Sequence[Tank], ledger: Ledger) -> None:
    if len(tanks) < 8:
        return
    volumes = np.asarray([tank.volume_l for tank in tanks])
    limit = 1.3 * float(np.quantile(volumes, 0.98))
    carried = {each.line for each in ledger.repaired}
    for tank in tanks:
        if tank.volume_l > limit and tank.line not in carried:
            ledger.mend(tank.line, "far more fuel than the other fills, at a usual rate: kept, two stations pooled?")
