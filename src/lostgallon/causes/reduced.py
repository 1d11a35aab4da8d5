"""Typed values of a finding, reduced to the one number a gauge or a limit looks at."""

from collections.abc import Callable, Sequence
from itertools import combinations

import numpy as np

from lostgallon.causes.records import ReadAs
from lostgallon.physics.air import pressure_at_elevation_pa
from lostgallon.physics.tires import pressure_at_temperature
from lostgallon.shop.spread import Floats
from lostgallon.shop.visit import Case, Finding

Reduce = Callable[[Floats], float]


def _axle_of(place: str) -> str | None:
    """Front or rear, where a place names a wheel ("LF", "left front", "rr")."""
    words = place.strip().lower().replace("-", " ")
    if words in ("lf", "fl", "rf", "fr") or "front" in words:
        return "front"
    return "rear" if words in ("lr", "rl", "rr") or "rear" in words else None


def axle_difference(values: Floats, places: Sequence[str]) -> float:
    """Largest difference between wheels of one axle; of all values where the places do not name wheels.

    Args:
        values: One reading a wheel, shape (wheels,), any one unit.
        places: Names of the wheels, as typed.
    """
    axles = [_axle_of(place) for place in places]
    pairs = [(a, b) for a, b in combinations(range(len(axles)), 2) if axles[a] and axles[a] == axles[b]]
    if len(axles) != values.size or not pairs:
        return float(np.ptp(values))
    return float(max(abs(values[a] - values[b]) for a, b in pairs))


def shortfall_pa(values_pa: Floats, *, placard_pa: float, case: Case, at_c: float | None) -> float:
    """How far the cold pressure is below the placard, mean of the tires, at the ambient they are used at.

    Args:
        values_pa: Gauge pressures as read, shape (tires,).
        placard_pa: Placard gauge pressure.
        case: For the ambient of now, the bay and the elevation.
        at_c: Temperature of the tires when read; the bay's where it was not noted.

    Source: ideal gas law on absolute pressure and temperature (physics/tires.py).
    """
    outside_pa = float(pressure_at_elevation_pa(case.vehicle.elevation_m))
    from_c = case.visit.bay_c if at_c is None else at_c
    street = [
        pressure_at_temperature(float(value), from_c=from_c, to_c=case.now.ambient_c, atmosphere_pa=outside_pa)
        for value in values_pa
    ]
    return placard_pa - sum(street) / len(street)


def reduced(finding: Finding, read: ReadAs, *, normal: float, case: Case) -> float | None:
    """The number a gauge or a limit looks at, or None where the case lacks what it takes (a placard).

    Args:
        finding: A finding with values.
        read: How to reduce them.
        normal: What a sound vehicle reads, where the reduction needs it.
        case: The case.
    """
    values = np.array([quantity.number for quantity in finding.value])
    if read == "placard_shortfall":
        placard_pa = case.vehicle.tire_placard_pa
        if placard_pa is None:
            return None
        return shortfall_pa(values, placard_pa=placard_pa, case=case, at_c=finding.at_c)
    if read == "axle_difference":
        return axle_difference(values, finding.place)
    ways: dict[ReadAs, Reduce] = {
        "mean": lambda v: float(v.mean()),
        "over_trip": lambda v: float(v.mean() / case.use.trip_km),
        "max": lambda v: float(v.max()),
        "min": lambda v: float(v.min()),
        "abs_mean": lambda v: float(np.abs(v).mean()),
        "spread": lambda v: float(np.ptp(v)),
        "off_mean": lambda v: float(np.abs(v - v.mean()).max()),
        "sum_over_normal": lambda v: float(normal + (v - normal).sum()),
    }
    return ways[read](values)
