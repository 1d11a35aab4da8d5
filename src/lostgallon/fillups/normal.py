"""The normal distribution and sums of logs, without the half second that a larger library takes to load."""

import numpy as np

from lostgallon.shop.spread import Floats

_P = 0.2316419
_B = (0.319381530, -0.356563782, 1.781477937, -1.821255978, 1.330274429)


def normal_below(score: Floats) -> Floats:
    """Probability that a standard normal is below a score, within 7.5e-8.

    Args:
        score: Any shape.

    Source: Abramowitz, Stegun, Handbook of Mathematical Functions, 1964, formula 26.2.17.
    """
    size = np.abs(score)
    t = 1.0 / (1.0 + _P * size)
    series = t * (_B[0] + t * (_B[1] + t * (_B[2] + t * (_B[3] + t * _B[4]))))
    tail = np.exp(-0.5 * np.minimum(size, 38.0) ** 2) / np.sqrt(2.0 * np.pi) * series
    return np.asarray(np.where(score >= 0.0, 1.0 - tail, tail))


def log_sum(logs: Floats, axis: tuple[int, ...] | None = None) -> Floats:
    """Log of the sum of exponentials.

    Args:
        logs: Any shape.
        axis: Axes to sum over; all by default.
    """
    top = logs.max(axis=axis, keepdims=True)
    total = np.log(np.exp(logs - top).sum(axis=axis, keepdims=True)) + top
    return np.asarray(total.squeeze(axis=axis))
