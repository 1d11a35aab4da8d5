"""What the physics says a vehicle uses over a way of driving (keys of `lostgallon predict --json`)."""

from dataclasses import dataclass

from lostgallon.shop.spread import Spread


@dataclass(frozen=True)
class EnergySplit:
    """Where the fuel goes, in L/100 km; the parts add up to the mean of `l_per_100km`."""

    rolling: float
    aero: float
    inertia: float
    idle: float
    friction: float
    warm_up: float
    electrical: float
    driveline: float


@dataclass(frozen=True)
class Predicted:
    """Fuel over one way of driving."""

    name: str
    l_per_100km: Spread
    mpg_us: Spread
    distance_km: float
    energy_split: EnergySplit


@dataclass(frozen=True)
class Prediction:
    """Fuel over each way of driving that was asked for."""

    case: str
    seed: int
    draws: int
    over: tuple[Predicted, ...]
    warnings: tuple[str, ...] = ()
