"""The hot sums of the model once more, number by number, in the form that a compiler takes.

Each function has a twin in NumPy (scatter.py, evidence.py, posterior.py) with the same equations; a test holds them
together. Plain Python with no compiler in sight: compiled.py makes machine code of it. Every loop that matters runs
over candidates or columns side by side, so that a compiler works on several at once without changing the order of a
sum. Arrays are made by the caller; the last argument or arguments are filled.
"""

import math

import numpy as np

NEAR_ENOUGH = 1e-6
"""A quantile is found when its probability is hit this closely; a last step of Newton then goes far below it."""
ROUNDS = 60
FAR_SD = 12.0
START = 3.65  # sends .05 and .95 to 1.64 sd from the mean
P = 0.2316419
B1, B2, B3, B4, B5 = 0.319381530, -0.356563782, 1.781477937, -1.821255978, 1.330274429
ROOT_TWO_PI = math.sqrt(2.0 * math.pi)


def nearby(day, end_day, driven, valid, reach, local, own) -> None:  # type: ignore[no-untyped-def]
    """Distance and days near each tank, and of its own date. See tanks.py.

    Args:
        day: Mid dates, shape (logs, tanks).
        end_day: The same.
        driven: Distance and days, shape (logs, tanks, 2).
        valid: Shape (logs, tanks).
        reach: Days and tanks that are near.
        local: Sums near each tank, shape (logs, tanks, 2).
        own: Sums of its date, the same.
    """
    for log in range(day.shape[0]):
        for i in range(day.shape[1]):
            way, time, own_way, own_time = 0.0, 0.0, 0.0, 0.0
            for j in range(day.shape[1]):
                if valid[log, j]:
                    if abs(day[log, i] - day[log, j]) <= reach[0] or abs(i - j) <= reach[1]:
                        way += driven[log, j, 0]
                        time += driven[log, j, 1]
                    if end_day[log, i] == end_day[log, j]:
                        own_way += driven[log, j, 0]
                        own_time += driven[log, j, 1]
            local[log, i, 0], local[log, i, 1] = way, time
            own[log, i, 0], own[log, i, 1] = own_way, own_time


def factor(diagonal, lag_1, lag_2, root, below_1, below_2) -> None:  # type: ignore[no-untyped-def]
    """Banded Cholesky of each lane; all arrays (lanes, tanks). See scatter.py."""
    for lane in range(diagonal.shape[0]):
        for k in range(diagonal.shape[1]):
            one, two = 0.0, 0.0
            if k > 1:
                two = lag_2[lane, k] / root[lane, k - 2]
            if k > 0:
                one = (lag_1[lane, k] - two * below_1[lane, k - 1]) / root[lane, k - 1]
            root[lane, k] = math.sqrt(diagonal[lane, k] - one * one - two * two)
            below_1[lane, k], below_2[lane, k] = one, two


def whiten(values, factors, white) -> None:  # type: ignore[no-untyped-def]
    """Columns to unit covariance.

    Args:
        values: Shape (logs or 1, tanks, columns).
        factors: Root, below_1, below_2 and carry, shape (4, logs, splits, tanks).
        white: Shape (logs, splits, tanks, columns).
    """
    for log in range(white.shape[0]):
        mine = values[min(log, values.shape[0] - 1)]
        for split in range(white.shape[1]):
            out = white[log, split]
            for k in range(white.shape[2]):
                over = 1.0 / factors[0, log, split, k]
                one, two, carry = factors[1, log, split, k], factors[2, log, split, k], factors[3, log, split, k]
                row, raw = out[k], mine[k]
                if k == 0:
                    for j in range(white.shape[3]):
                        row[j] = raw[j] * over
                elif k == 1:
                    last, before = out[0], mine[0]
                    for j in range(white.shape[3]):
                        row[j] = (raw[j] - carry * before[j] - one * last[j]) * over
                else:
                    last, older, before = out[k - 1], out[k - 2], mine[k - 1]
                    for j in range(white.shape[3]):
                        row[j] = (raw[j] - carry * before[j] - one * last[j] - two * older[j]) * over


def sized(white, known, eigen, variance, ramps, information, estimate) -> None:  # type: ignore[no-untyped-def]
    """Information and estimate of every candidate, all else integrated out. See evidence.py.

    Args:
        white: Whitened candidates over the last tanks, shape (lanes, tanks, columns).
        known: Rotated whitened columns and behind them the target, shape (lanes, columns + 1, all tanks).
        eigen: Eigenvalues and behind them the rotated target, shape (2, lanes, columns).
        variance: Squared scales.
        ramps: Whether steps become steps and ramps; the first column is then the last tank alone.
        information: Shape (lanes, scales, candidates).
        estimate: The same.
    """
    lanes, tanks, steps = white.shape
    others = eigen.shape[2]
    skip = known.shape[2] - tanks
    count = information.shape[2]
    # rows: crossed with each column, then with the target, then with itself
    steps_by, by = np.empty((others + 2, steps)), np.empty((others + 2, count))
    for lane in range(lanes):
        steps_by[:] = 0.0
        by[:] = 0.0
        for n in range(tanks):
            row, own = white[lane, n], steps_by[others + 1]
            for j in range(steps):
                own[j] += row[j] * row[j]
            for q in range(others + 1):
                level, into = known[lane, q, skip + n], steps_by[q]
                for j in range(steps):
                    into[j] += level * row[j]
            if ramps:
                total, behind = row[0], by[others + 1, steps - 1 :]
                for j in range(1, steps):
                    total += row[j]
                    behind[j - 1] += total * total
        if ramps:
            for q in range(others + 2):
                total = steps_by[q, 0]
                for j in range(1, steps):
                    by[q, j - 1] = steps_by[q, j]
                    total += steps_by[q, j]
                    if q <= others:
                        by[q, steps + j - 2] = total / (j + 1.0)
                    else:
                        by[q, steps + j - 2] /= (j + 1.0) * (j + 1.0)
        else:
            by[:] = steps_by
        for scale in range(len(variance)):
            told, along = information[lane, scale], estimate[lane, scale]
            for j in range(count):
                told[j], along[j] = by[others + 1, j], by[others, j]
            for q in range(others):
                weight, toward = 1.0 / (eigen[0, lane, q] + variance[scale]), eigen[1, lane, q]
                crossed = by[q]
                for j in range(count):
                    told[j] -= weight * crossed[j] * crossed[j]
                    along[j] -= weight * crossed[j] * toward
            for j in range(count):
                known_by = max(told[j] / variance[scale], 1e-12)
                told[j], along[j] = known_by, along[j] / variance[scale] / known_by


def summed(grid, candidate, believed, own_variance, scales, least, held) -> None:  # type: ignore[no-untyped-def]
    """The grid summed out for every log, kind and candidate. See posterior.py.

    Args:
        grid: ln weight of (split, scale) without a change, shape (logs, grid).
        candidate: Information and estimate, shape (2, logs, grid, candidates).
        believed: ln weight, mean and variance of sizes, shape (3, logs, kinds, candidates).
        own_variance: Of the vehicle's part by kind.
        scales: ln scale of each place of the grid.
        least: Pairs with less ln weight are not worked on.
        held: ln weight, size mean and sd, vehicle's mean and sd, mean ln scale, shape (6, logs, kinds, candidates).
    """
    logs, points = grid.shape
    kinds, count = believed.shape[2], believed.shape[3]
    score, top = np.empty((points, count)), np.empty(count)
    sums = np.empty((6, count))
    for log in range(logs):
        for kind in range(kinds):
            weight, middle, spread = believed[0, log, kind], believed[1, log, kind], believed[2, log, kind]
            if weight.max() <= least:
                continue
            top[:] = -1e300
            for g in range(points):
                row, base = score[g], grid[log, g]
                a, size = candidate[0, log, g], candidate[1, log, g]
                for j in range(count):
                    off = size[j] - middle[j]
                    row[j] = base + 0.5 * a[j] * size[j] * size[j] - off * off / (2.0 * (1.0 / a[j] + spread[j]))
                    top[j] = max(top[j], row[j])
            sums[:] = 0.0
            for j in range(count):
                if weight[j] <= least:
                    continue
                for g in range(points):
                    below = score[g, j] - top[j]
                    if below < -50.0:
                        continue
                    a, size = candidate[0, log, g, j], candidate[1, log, g, j]
                    share = math.exp(below) / math.sqrt(1.0 + spread[j] * a)
                    shrink = 1.0 / (spread[j] + 1.0 / a)
                    surplus = (size - middle[j]) * shrink
                    mean, own = middle[j] + spread[j] * surplus, own_variance[kind] * surplus
                    sums[0, j] += share
                    sums[1, j] += share * mean
                    sums[2, j] += share * (mean * mean + spread[j] - spread[j] * spread[j] * shrink)
                    sums[3, j] += share * own
                    sums[4, j] += share * (own * own + own_variance[kind] - own_variance[kind] ** 2 * shrink)
                    sums[5, j] += share * scales[g]
                total = sums[0, j]
                held[0, log, kind, j] = weight[j] + top[j] + math.log(total)
                for part in (1, 3):
                    mean = sums[part, j] / total
                    held[part, log, kind, j] = mean
                    held[part + 1, log, kind, j] = math.sqrt(max(sums[part + 1, j] / total - mean * mean, 1e-12))
                held[5, log, kind, j] = sums[5, j] / total


def quantiles(weight, mean, sd, levels, found) -> None:  # type: ignore[no-untyped-def]
    """Points of mixtures of normals by Newton's method inside a shrinking bracket. See mixtures.py.

    Args:
        weight: Of the components, shape (logs, components).
        mean: The same.
        sd: The same.
        levels: Probabilities wanted.
        found: Shape (logs, levels).
    """
    for log in range(weight.shape[0]):
        total, center, square, low, high = 0.0, 0.0, 0.0, 1e300, -1e300
        for c in range(weight.shape[1]):
            if weight[log, c] > 0.0:
                total += weight[log, c]
                center += weight[log, c] * mean[log, c]
                square += weight[log, c] * (mean[log, c] ** 2 + sd[log, c] ** 2)
                low, high = min(low, mean[log, c] - FAR_SD * sd[log, c]), max(high, mean[log, c] + FAR_SD * sd[log, c])
        if total <= 0.0:
            found[log, :] = 0.0
            continue
        center /= total
        wide = math.sqrt(max(square / total - center * center, 1e-300))
        for level in range(len(levels)):
            left, right = low, high
            at = center + wide * START * (levels[level] - 0.5)
            for _ in range(ROUNDS):
                below, steep = 0.0, 0.0
                for c in range(weight.shape[1]):
                    if weight[log, c] <= 0.0:
                        continue
                    score = (at - mean[log, c]) / sd[log, c]
                    size = min(abs(score), 38.0)
                    t = 1.0 / (1.0 + P * size)
                    bell = math.exp(-0.5 * size * size) / ROOT_TWO_PI
                    tail = bell * t * (B1 + t * (B2 + t * (B3 + t * (B4 + t * B5))))
                    below += weight[log, c] * (1.0 - tail if score >= 0.0 else tail)
                    steep += weight[log, c] * bell / sd[log, c]
                off = below / total - levels[level]
                left, right = (left, at) if off > 0.0 else (at, right)
                step = at - off * total / max(steep, 1e-300)
                at = step if left <= step <= right else 0.5 * (left + right)
                if abs(off) < NEAR_ENOUGH:
                    break
            found[log, level] = at
