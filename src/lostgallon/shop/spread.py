"""A number that says how sure it is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Spread:
    """Mean, middle and the two ends of a 90 % interval, in the unit its key names."""

    mean: float
    p05: float
    p50: float
    p95: float


def spread_of(draws: Floats) -> Spread:
    """The spread of a set of draws of one quantity.

    Args:
        draws: Draws of one quantity, shape (draws,), any one unit.

    Returns:
        Mean, median, 5th and 95th percentile, same unit.
    """
    low, middle, high = np.quantile(draws, (0.05, 0.5, 0.95))
    return Spread(mean=float(np.mean(draws)), p05=float(low), p50=float(middle), p95=float(high))
