"""How tanks scatter: fill level shared by neighbors, slow wander, a tank's own. Whitening by one banded Cholesky.

With e the fill-level error, v the fuel of a tank and unit scale s = 1, the covariance of two tanks is
C0 = own q + f (median v / v)^2 on the diagonal, C1 = -(f/2) (median v)^2 / (v_k v_(k-1)) for chained neighbors, and
g exp(-gap/T) between any two. Multiplying by the quasi-difference x_k - phi_k x_(k-1), phi = exp(-gap/T), leaves
a band of two sub-diagonals, factored and solved tank by tank for all logs and splits at once. Source: Golub, Van Loan,
Matrix Computations, 4th edition, 2013, section 4.3 (banded Cholesky). Twins in loops.py: factor, whiten.
"""

from dataclasses import dataclass

import numpy as np

from lostgallon.fillups.columns import Columns, middle
from lostgallon.fillups.machine import MACHINE
from lostgallon.fillups.prior import FILL_SHARE, SLOW_DAYS, SLOW_SHARE
from lostgallon.fillups.tanks import Batch
from lostgallon.shop.spread import Floats

ROBUST_SCALE = 0.065
RUNNING = 4
MAD_TO_SD = 1.4826
WIDEN = 1.08


@dataclass(frozen=True)
class Whitener:
    """The factor of unit-scale covariance for every log and split, shape (logs, splits, tanks) each.

    `diagonal`, `below_1`, `below_2` are entries (k, k), (k, k-1), (k, k-2) of the lower factor; `carry` is
    phi; `log_det` the log determinant of the covariance, shape (logs, splits).
    """

    diagonal: Floats
    below_1: Floats
    below_2: Floats
    carry: Floats
    log_det: Floats


def tail_weights(batch: Batch, columns: Columns) -> Floats:
    """Factor on a tank's own variance for tanks far off, shape (logs, tanks), never below 1.

    max(1, (4 + z^2)/8), z the residual of a ridge fit less its 9-tank running median (so that a step is not
    weighted away) in units of 1.08 robust sd.
    """
    centered = batch.log_fuel - np.einsum("bnp,bp->bn", columns.values, columns.mean) * batch.valid
    gram = np.einsum("bnp,bnq->bpq", columns.values, columns.values) / ROBUST_SCALE**2
    place = np.arange(gram.shape[-1])
    gram[:, place, place] += 1.0 / columns.sd**2
    right = np.einsum("bnp,bn->bp", columns.values, centered) / ROBUST_SCALE**2
    fitted = np.einsum("bnp,bp->bn", columns.values, np.linalg.solve(gram, right[..., None])[..., 0])
    residual = centered - fitted
    count = batch.valid.sum(axis=1)
    length = batch.valid.shape[1]
    near = np.arange(length)[:, None] + np.arange(-RUNNING, RUNNING + 1)
    index = np.clip(near[None], (length - np.maximum(count, 1))[:, None, None], length - 1)
    window = residual[np.arange(len(count))[:, None, None], index]
    off = np.where(batch.valid, residual - np.partition(window, RUNNING, axis=-1)[..., RUNNING], 0.0)
    sd = WIDEN * MAD_TO_SD * middle(np.abs(off), batch.valid.astype(np.float64))
    score = off / np.maximum(sd, 1e-3)[:, None]
    return np.maximum(1.0, (4.0 + score**2) / 8.0)


def own_variance(batch: Batch, tails: Floats) -> Floats:
    """Factor on a tank's own variance by its size, its tails and reconstructed distances, shape (logs, tanks)."""
    typical = middle(batch.distance_km, batch.valid.astype(np.float64))
    size = np.sqrt(np.clip(typical[:, None] / batch.distance_km, 0.5, 4.0))
    return size * tails * batch.variance_times


def whitener_of(batch: Batch, own: Floats) -> Whitener:
    """Factors the unit-scale covariance of every log and split.

    Args:
        batch: The logs.
        own: See own_variance.
    """
    fill, slow = FILL_SHARE[None, :, None], SLOW_SHARE[None, :, None]
    valid = batch.valid[:, None, :]
    typical = middle(batch.volume_l, batch.valid.astype(np.float64))[:, None]
    level = typical / batch.volume_l
    shared = np.zeros_like(level)
    shared[:, 1:] = np.where(batch.chained[:, 1:] & batch.valid[:, :-1], level[:, 1:] * level[:, :-1], 0.0)
    variance = (1.0 - fill - slow) * own[:, None] + fill * (level**2)[:, None]
    lag = -0.5 * fill * shared[:, None]
    has_before = valid & np.roll(valid, 1, axis=2)
    has_before[..., 0] = False
    carry = np.where(has_before & (slow > 0), np.exp(-batch.gap_days[:, None] / SLOW_DAYS[None, :, None]), 0.0)
    before_variance, before_lag, before_carry = _back(variance), _back(lag), _back(carry)
    diagonal = variance + carry**2 * before_variance - 2.0 * carry * lag + slow * (1.0 - carry**2)
    lag_1 = lag - carry * before_variance + carry * before_carry * before_lag
    lag_2 = -carry * before_lag
    diagonal = np.where(valid, diagonal, 1.0)
    return _factor(diagonal, np.where(valid, lag_1, 0.0), np.where(valid, lag_2, 0.0), carry)


def _back(values: Floats) -> Floats:
    """Values of the tank before; zero for the first."""
    back = np.zeros_like(values)
    back[..., 1:] = values[..., :-1]
    return back


def _factor(diagonal: Floats, lag_1: Floats, lag_2: Floats, carry: Floats) -> Whitener:
    root, below_1, below_2 = (np.zeros_like(diagonal) for _ in range(3))
    if MACHINE.loops:
        lanes = (diagonal.shape[0] * diagonal.shape[1], diagonal.shape[2])
        MACHINE.loops.factor(*(each.reshape(lanes) for each in (diagonal, lag_1, lag_2, root, below_1, below_2)))
    else:
        _factor_by_tank(diagonal, (lag_1, lag_2), root, (below_1, below_2))
    if not np.isfinite(root).all():
        raise FloatingPointError("the covariance of a log is not positive definite")
    return Whitener(root, below_1, below_2, carry, log_det=2.0 * np.log(root).sum(axis=-1))


def _factor_by_tank(diagonal: Floats, lags: tuple[Floats, Floats], root: Floats, below: tuple[Floats, Floats]) -> None:
    """Fills the factor's diagonal and its two sub-diagonals; all arrays (logs, splits, tanks)."""
    for k in range(diagonal.shape[2]):
        one = two = np.zeros(())
        if k > 1:
            two = lags[1][..., k] / root[..., k - 2]
        if k > 0:
            one = (lags[0][..., k] - two * below[0][..., k - 1]) / root[..., k - 1]
        root[..., k] = np.sqrt(diagonal[..., k] - one * one - two * two)
        below[0][..., k], below[1][..., k] = one, two


def whiten(by: Whitener, values: Floats) -> Floats:
    """Whitened columns over the last tanks, shape (logs, splits, columns, tanks).

    Args:
        by: The factor.
        values: Columns, shape (logs, columns, tanks), or (1, columns, tanks) where they are the same for all
            logs; tanks may be fewer than the factor's (the columns are zero before them).
    """
    length = values.shape[-1]
    factors = np.stack([each[..., -length:] for each in (by.diagonal, by.below_1, by.below_2, by.carry)])
    values = np.ascontiguousarray(np.swapaxes(values, 1, 2))
    white = np.empty((*by.diagonal.shape[:2], length, values.shape[2]))
    if MACHINE.loops:
        MACHINE.loops.whiten(values, factors, white)
    else:
        _whiten_by_tank(values[:, None], factors[..., None], white)
    return np.swapaxes(white, 2, 3)


def _whiten_by_tank(values: Floats, factors: Floats, white: Floats) -> None:
    """Fills `white`: arrays with an axis of tanks, third in `values` and `white`, fourth in `factors`."""
    root, below_1, below_2, carry = factors
    for k in range(white.shape[2]):
        left = values[:, :, k]
        if k > 0:
            left = left - carry[:, :, k] * values[:, :, k - 1] - below_1[:, :, k] * white[:, :, k - 1]
        if k > 1:
            left = left - below_2[:, :, k] * white[:, :, k - 2]
        white[:, :, k] = left / root[:, :, k]
