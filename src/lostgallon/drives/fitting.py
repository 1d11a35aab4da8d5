"""Least squares of a few smooth unknowns, with their covariance."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lostgallon.shop.spread import Floats

MOST_STEPS, MOST_HALVINGS = 30, 8
SETTLED = 1e-8
_PROBE = 1e-6


@dataclass(frozen=True)
class Fit:
    """The unknowns, shape (unknowns,), and their covariance, shape (unknowns, unknowns)."""

    at: Floats
    covariance: Floats


def fitted(off: Callable[[Floats], Floats], start: Floats, *, scale: Floats) -> Fit:
    """The unknowns that make the sum of squares least, by Gauss-Newton steps halved until they gain.

    Args:
        off: Residuals in standard deviations, shape (residuals,), at some unknowns.
        start: First guess, shape (unknowns,).
        scale: The usual size of a change of each unknown, shape (unknowns,).

    Source: J. Nocedal, S. J. Wright, Numerical Optimization, 2nd ed., Springer 2006, section 10.3.
    """
    at, residuals = start, off(start)
    for _ in range(MOST_STEPS):
        jacobian = _jacobian(off, at, residuals, scale=scale)
        step = np.linalg.lstsq(jacobian, -residuals, rcond=None)[0]
        at, residuals, gained = _moved(off, at, residuals, step=step * scale)
        if gained <= SETTLED * float(residuals @ residuals):
            break
    jacobian = _jacobian(off, at, residuals, scale=scale) / scale
    return Fit(at, np.asarray(np.linalg.pinv(jacobian.T @ jacobian), np.float64))


def _jacobian(off: Callable[[Floats], Floats], at: Floats, residuals: Floats, *, scale: Floats) -> Floats:
    """How the residuals change with each unknown, in units of its scale. Shape (residuals, unknowns)."""
    probes = np.diag(_PROBE * scale)
    return np.stack([(off(at + probe) - residuals) / _PROBE for probe in probes], axis=1)


def _moved(
    off: Callable[[Floats], Floats], at: Floats, residuals: Floats, *, step: Floats
) -> tuple[Floats, Floats, float]:
    """Unknowns and residuals after the largest share of a step that gains, and what it gained."""
    before = float(residuals @ residuals)
    for _ in range(MOST_HALVINGS):
        there = off(at + step)
        gained = before - float(there @ there)
        if gained > 0.0:
            return at + step, there, gained
        step = step / 2.0
    return at, residuals, 0.0
