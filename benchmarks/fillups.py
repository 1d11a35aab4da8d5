"""Speed of the fill-up model: `python -m benchmarks.fillups [--json]`.

Ratios are taken within one run. The sums run as machine code, made first in a folder of its own; the cold process does
without, since nobody waits for a compiler.
"""

import argparse
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import statsmodels.api as sm

from lostgallon.fillups import compiled, prior
from lostgallon.fillups.changes import starts_of, step_columns
from lostgallon.fillups.columns import columns_of
from lostgallon.fillups.mixtures import mixture_quantiles
from lostgallon.fillups.posterior import weigh
from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fillups.scatter import own_variance, tail_weights
from lostgallon.fillups.tanks import Batch, TankArrays, stack
from lostgallon.fillups.verdict import judge
from lostgallon.readers.fills import read_fills_text

SEASON = SeasonPrior()
GLS_GRID_POINTS = 2
BATCH, CHUNK = 512, 16


def made_log(tanks: int, rng: np.random.Generator) -> TankArrays:
    """A plain log of the given length."""
    days = rng.integers(5, 12, tanks).astype(np.float64)
    distance = np.clip(rng.normal(480, 60, tanks), 100, None)
    volume = np.exp(np.log(10.0) + rng.normal(0, 0.06, tanks)) * distance / 100.0
    ends = 738000.0 + np.cumsum(days)
    chained = np.arange(tanks) > 0
    return TankArrays(ends, days, distance, volume, chained, np.ones(tanks), *np.full((2, tanks), np.nan))


def verdicts(logs: list[TankArrays]) -> None:
    """Probability, size with its interval and dates of many logs, as a fleet asks for."""
    for at in range(0, len(logs), CHUNK):
        chosen = logs[at : at + CHUNK]
        found = weigh(stack(chosen), SEASON)
        mixture_quantiles(*(each.reshape(len(chosen), -1) for each in (found.weight, found.own_mean, found.own_sd)))


def cpu_ms(work: Callable[[], object], times: int) -> float:
    """Least CPU time of three rounds, per call. [ms]."""
    work()
    rounds = []
    for _ in range(3):
        began = time.process_time()
        for _ in range(times):
            work()
        rounds.append((time.process_time() - began) / times * 1e3)
    return min(rounds)


def dense(batch: Batch, split: int) -> np.ndarray:
    """The unit-scale covariance and the prior of the columns, entry by entry."""
    columns = columns_of(batch, SEASON)
    own = own_variance(batch, tail_weights(batch, columns))[0]
    fill, slow, constant = prior.FILL_SHARE[split], prior.SLOW_SHARE[split], prior.SLOW_DAYS[split]
    level = np.median(batch.volume_l[0]) / batch.volume_l[0]
    found = np.diag((1 - fill - slow) * own + fill * level**2)
    side = -0.5 * fill * level[1:] * level[:-1] * batch.chained[0, 1:]
    found += np.diag(side, 1) + np.diag(side, -1)
    mid = batch.mid_day[0]
    return np.asarray(found + slow * np.exp(-np.abs(mid[:, None] - mid[None]) / constant))


def gls_ms(log: TankArrays) -> float:
    """A statsmodels GLS loop over the whole grid of splits, scales, dates and shapes, from a sample of it. [ms]."""
    batch = stack([log])
    columns = columns_of(batch, SEASON)
    believed = columns.values[0] @ np.diag(columns.sd[0] ** 2) @ columns.values[0].T
    target = batch.log_fuel[0] - columns.values[0] @ columns.mean[0]
    starts = starts_of(batch)
    steps = np.zeros((len(starts.first), len(target)))
    tail = step_columns(starts, len(target))[0]
    steps[:, -tail.shape[1] :] = tail
    began = time.process_time()
    for split in range(GLS_GRID_POINTS):
        total = prior.SCALES[split] ** 2 * dense(batch, split) + believed
        for column in steps:
            sm.GLS(target, column[:, None], sigma=total).fit().params  # noqa: B018 - computed when asked for
    share = GLS_GRID_POINTS / (len(prior.SPLIT_WEIGHT) * len(prior.SCALES)) / 2.0
    return (time.process_time() - began) / share * 1e3


def cold_s() -> float:
    """Wall time of a fresh process from start to the printed verdict, least of three. [s]."""
    days = np.arange(60) * 8
    rows = [f"{np.datetime64('2024-01-06') + int(day)},{280 + day % 7},{14 + day % 3 / 10}" for day in days]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        path.write_text("date,distance_mi,volume_gal\n" + "\n".join(rows))
        spent = []
        for _ in range(3):
            began = time.perf_counter()
            subprocess.run([sys.executable, "-m", "lostgallon", "fillups", str(path)], check=True, capture_output=True)
            spent.append(time.perf_counter() - began)
    return min(spent)


def measured() -> dict[str, float]:
    """All figures; keys carry their unit."""
    rng = np.random.default_rng(1)
    began = time.process_time()
    with tempfile.TemporaryDirectory() as folder:
        compiled.bring_into_use(Path(folder))
    compiling = time.process_time() - began
    short, long = made_log(60, rng), made_log(700, rng)
    many = [made_log(60, rng) for _ in range(BATCH)]
    text = "date,distance_km,volume_L\n" + "\n".join(
        f"{np.datetime64('2010-01-06') + int(8 * tank)},{450 + tank % 70},{45 + tank % 9}" for tank in range(700)
    )
    log = read_fills_text(text)
    one = cpu_ms(lambda: verdicts([short]), 100)
    batched = cpu_ms(lambda: verdicts(many), 1) / BATCH
    loop = gls_ms(short)
    return {
        "fills_60_cpu_ms": one,
        "fills_700_cpu_ms": cpu_ms(lambda: verdicts([long]), 50),
        "fills_60_in_a_batch_cpu_ms": batched,
        "hundred_thousand_logs_one_core_s": 100.0 * batched,
        "statsmodels_loop_cpu_ms": loop,
        "times_faster_than_statsmodels": loop / one,
        "times_faster_than_statsmodels_in_a_batch": loop / batched,
        "compiling_once_cpu_s": compiling,
        "read_700_rows_cpu_ms": cpu_ms(lambda: read_fills_text(text), 5),
        "whole_verdict_700_rows_cpu_ms": cpu_ms(lambda: judge(log), 5),
        "cold_process_to_verdict_s": cold_s(),
    }


def main() -> None:
    """Prints the figures, as JSON where asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    figures = measured()
    if parser.parse_args().json:
        print(json.dumps(figures, indent=2))
        return
    for name, figure in figures.items():
        print(f"{name:<36}{figure:10.3f}")


if __name__ == "__main__":
    main()
