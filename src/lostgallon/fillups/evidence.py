"""Marginal likelihoods on the grid of scatter, and what a candidate column adds, with all else integrated out.

With r = y - X m, prior sd matrix D^(1/2) and K the unit-scale covariance, one eigendecomposition of
D^(1/2) X'K^-1 X D^(1/2) = Q L Q' per split serves every scale s, since only L/s^2 + 1 changes:
    ln ML = -1/2 [n ln(2 pi s^2) + ln|K| + sum ln(1 + L/s^2) + r'K^-1 r/s^2 - sum b^2/(s^2 (L + s^2))]
with b = Q'D^(1/2) X'K^-1 r. Source: Rasmussen, Williams, Gaussian Processes for Machine Learning, 2006, section
2.7 (explicit basis functions, eqs. 2.43-2.45), rewritten.
"""

from dataclasses import dataclass

import numpy as np

from lostgallon.fillups.columns import Columns
from lostgallon.fillups.machine import MACHINE
from lostgallon.fillups.prior import SCALE_LOG_MEAN, SCALE_LOG_SD, SCALES, SPLIT_WEIGHT
from lostgallon.fillups.scatter import Whitener, whiten
from lostgallon.fillups.tanks import Batch
from lostgallon.shop.spread import Floats


@dataclass(frozen=True)
class Null:
    """A log without a change, on the grid (logs, splits, scales), with what candidates need.

    `whitened` (logs, splits, columns, tanks) are the rotated columns, `target` (logs, splits, tanks) the whitened
    response; `rotation` (logs, splits, columns, columns) takes whitened raw columns to rotated ones.
    """

    log_likelihood: Floats
    log_prior: Floats
    eigen: Floats
    whitened: Floats
    target: Floats
    rotated_target: Floats
    rotation: Floats


@dataclass(frozen=True)
class Candidate:
    """Information and estimate of each candidate's size, shape (logs, splits, scales, candidates) each."""

    information: Floats
    estimate: Floats


def grid_log_prior() -> Floats:
    """Log prior of each (split, scale), normalized, shape (splits, scales)."""
    bell = np.exp(-0.5 * ((np.log(SCALES) - SCALE_LOG_MEAN) / SCALE_LOG_SD) ** 2)
    return np.asarray(np.log(SPLIT_WEIGHT[:, None] * (bell / bell.sum())[None, :]))


def null_of(batch: Batch, columns: Columns, by: Whitener) -> Null:
    """The marginal likelihood of every log on the grid, without a change."""
    centered = batch.log_fuel - np.einsum("bnp,bp->bn", columns.values, columns.mean)
    stacked = np.concatenate([np.swapaxes(columns.values, 1, 2), centered[:, None]], axis=1)
    white = whiten(by, stacked)
    target = white[:, :, -1]
    scaled = white[:, :, :-1] * columns.sd[:, None, :, None]
    eigen, rotation = np.linalg.eigh(scaled @ np.swapaxes(scaled, 2, 3))
    rotated = np.swapaxes(rotation, 2, 3) @ scaled
    rotated_target = np.einsum("bhpn,bhn->bhp", rotated, target)
    variance = SCALES**2
    eigen = np.maximum(eigen, 0.0)
    spread = eigen[:, :, None, :] + variance[:, None]
    quadratic = (target**2).sum(-1)[..., None] - (rotated_target[:, :, None, :] ** 2 / spread).sum(-1)
    count = batch.count[:, None, None]
    log_det = by.log_det[..., None] + np.log(spread / variance[:, None]).sum(-1)
    log_likelihood = -0.5 * (count * np.log(2.0 * np.pi * variance) + log_det + quadratic / variance)
    return Null(log_likelihood, grid_log_prior(), eigen, rotated, target, rotated_target, rotation)


def candidates_of(null: Null, white: Floats, *, ramps: bool = False) -> Candidate:
    """What each candidate column adds, everything else integrated out.

    Args:
        null: The logs without a change.
        white: Whitened candidates over the last tanks, shape (logs, splits, candidates, tanks).
        ramps: The candidates are steps, newest first and the step of the last tank alone in front; ramps to one at the
            last tank are judged behind them, and the front one is dropped.
    """
    if MACHINE.loops:
        return _by_loops(null, white, ramps=ramps)
    if ramps:
        white = with_ramps(white)
    length = white.shape[-1]
    cross = null.whitened[..., -length:] @ np.swapaxes(white, 2, 3)
    own = np.einsum("bhmn,bhmn->bhm", white, white)
    with_target = np.einsum("bhmn,bhn->bhm", white, null.target[..., -length:])
    variance = SCALES**2
    weight = 1.0 / (null.eigen[:, :, None, :] + variance[:, None])
    information = (own[:, :, None] - weight @ cross**2) / variance[:, None]
    slope = (with_target[:, :, None] - weight @ (cross * null.rotated_target[..., None])) / variance[:, None]
    information = np.maximum(information, 1e-12)
    return Candidate(information, slope / information)


def _by_loops(null: Null, white: Floats, *, ramps: bool) -> Candidate:
    logs, splits, steps, tanks = white.shape
    lanes = logs * splits
    known = np.concatenate([null.whitened, null.target[:, :, None]], axis=2)
    eigen = np.stack([null.eigen, null.rotated_target])
    found = np.empty((2, logs, splits, len(SCALES), 2 * steps - 2 if ramps else steps))
    assert MACHINE.loops is not None  # noqa: S101 - asked by the caller
    MACHINE.loops.sized(
        np.ascontiguousarray(np.swapaxes(white, 2, 3)).reshape(lanes, tanks, steps),
        known.reshape(lanes, *known.shape[2:]),
        eigen.reshape(2, lanes, -1),
        SCALES**2,
        ramps,
        *found.reshape(2, lanes, len(SCALES), -1),
    )
    return Candidate(*found)


def with_ramps(white_steps: Floats) -> Floats:
    """Whitened steps and, behind them, whitened ramps to one at the last tank.

    A ramp is the mean of the steps that begin with its own tank and later, the last tank's included; whitening
    is linear, so the whitened ramp is the same mean. `white_steps` (logs, splits, candidates, tanks) must begin
    with the step of the last tank alone; that candidate is dropped from the result.
    """
    steps = np.moveaxis(white_steps, 2, 0)  # as whitening left it in memory
    both = np.empty((2 * len(steps) - 2, *steps.shape[1:]))
    both[: len(steps) - 1] = steps[1:]
    count = np.arange(2.0, len(steps) + 1.0)[:, None, None, None]
    np.divide(np.cumsum(steps, axis=0)[1:], count, out=both[len(steps) - 1 :])
    return np.moveaxis(both, 0, 2)


def log_bayes_factor(candidate: Candidate, *, mean: Floats | float, variance: Floats | float) -> Floats:
    """Natural log of the evidence for a size with prior N(mean, variance) over none, shape of the candidates."""
    a, estimate = candidate.information, candidate.estimate
    return np.asarray(
        0.5 * a * estimate**2 - 0.5 * np.log1p(variance * a) - (estimate - mean) ** 2 / (2.0 * (1.0 / a + variance))
    )
