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
    return spreads_of(draws[np.newaxis])[0]


def spreads_of(rows: Floats) -> tuple[Spread, ...]:
    """The spreads of several quantities.

    Args:
        rows: Draws of each, shape (quantities, draws), each row in any one unit.

    Returns:
        One spread a row, same unit.
    """
    ends = np.quantile(rows, (0.05, 0.5, 0.95), axis=1)
    return tuple(
        Spread(mean=float(mean), p05=float(low), p50=float(middle), p95=float(high))
        for mean, low, middle, high in zip(rows.mean(axis=1), *ends, strict=True)
    )
