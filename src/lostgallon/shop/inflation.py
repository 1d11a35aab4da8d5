"""The pressure to set now (keys of `lostgallon tires --json`)."""

from dataclasses import dataclass

from lostgallon.shop.spread import Spread


@dataclass(frozen=True)
class TireReading:
    """A reading, brought to the placard's cold condition on the street."""

    psi: float
    equivalent_cold_psi: float
    short_by_psi: float


@dataclass(frozen=True)
class TireSetting:
    """What to set in the bay so that the tire reads the placard, cold, on the street."""

    set_psi: float
    at_street_psi: float
    per_10c_psi: float
    readings: tuple[TireReading, ...]
    fuel_pct: Spread | None
    cautions: tuple[str, ...]
    arithmetic: tuple[str, ...] = ()
