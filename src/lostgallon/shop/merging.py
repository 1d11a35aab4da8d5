"""Several lines of a log as one: readings are averaged, of a state or a counter the last one stands."""

import numpy as np
from numpy.typing import NDArray

from lostgallon.shop.spread import Floats

LAST_STANDS = frozenset({"status", "count"})
"""Kinds of channel (data/headings.csv) that have no mean."""


def merged(values: Floats, starts: NDArray[np.int64], *, kind: str) -> Floats:
    """One value for each run of lines, NaN where the run holds none. Shape (runs,).

    Args:
        values: Readings, NaN where missing. Shape (lines,).
        starts: Where each run begins, the first at 0. Shape (runs,).
        kind: The kind of channel.
    """
    if len(starts) == len(values):
        return values
    if kind in LAST_STANDS:
        return np.asarray(values[np.append(starts[1:], len(values)) - 1])
    total = np.add.reduceat(values, starts)
    if not np.isnan(total).any():
        return total / np.diff(starts, append=len(values))
    present = np.isfinite(values)
    total = np.add.reduceat(np.where(present, values, 0.0), starts)
    count = np.add.reduceat(present.view(np.uint8), starts, dtype=np.int64)
    mean = np.full(len(starts), np.nan)
    np.divide(total, count, out=mean, where=count > 0)
    return mean
