"""Speed of screening a fleet: `python -m benchmarks.fleet [--vehicles N] [--workers N] [--json]`.

`lostgallon screen` as a person runs it, on a made fleet of 60 fills a vehicle, from the Parquet file to the ranking:
one worker, that is one core, against two; growth over three sizes; memory of all its processes together; and the ratio
to a statsmodels loop over the same grid in the same run. Wall time needs a quiet machine; seconds of the processor
stand beside it.
"""

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import polars as pl

from lostgallon.fillups.compiled import bring_into_use

ROOT = Path(__file__).resolve().parent.parent
FILLS = 60
AT_ONCE = 20_000
BETWEEN_LOOKS_S = 0.5


def write_fleet(path: Path, vehicles: int) -> None:
    """A plain fleet in Parquet; one vehicle in twenty loses 18 per cent in its last third."""
    rng = np.random.default_rng(1)
    parts = []
    for low in range(0, vehicles, AT_ONCE):
        shape = (min(AT_ONCE, vehicles - low), FILLS)
        day = 19_400 + np.cumsum(rng.integers(5, 16, shape), axis=1)
        distance = np.clip(rng.normal(480, 60, shape), 100, None)
        fuel = 10.0 * np.exp(rng.normal(0, 0.06, shape) + 0.04 * np.cos(2 * np.pi * (day - 18) / 365.25))
        fuel[:: FILLS // 3, 2 * FILLS // 3 :] *= 1.18
        frame = pl.DataFrame({
            "vehicle": [f"V{number:08d}" for number in range(low, low + shape[0]) for _ in range(FILLS)],
            "date": pl.Series(day.ravel().astype(np.int32)).cast(pl.Date),
            "odometer_km": (20_000 + np.cumsum(distance, axis=1)).ravel(),
            "volume_L": (fuel * distance / 100.0).ravel(),
        })  # fmt: skip
        parts.append(path.with_name(f"{path.stem}-{low}.parquet"))
        frame.write_parquet(parts[-1])
    pl.scan_parquet(parts).sink_parquet(path)
    for part in parts:
        part.unlink()


def one_run(path: Path, workers: int, cache: Path) -> dict[str, float]:
    """Wall and processor seconds of one screening, and the largest memory of its processes at one time."""
    command = [sys.executable, "-m", "lostgallon", "screen", str(path), "--workers", str(workers), "--json"]
    environment = os.environ | {"PYTHONPATH": str(ROOT / "src"), "XDG_CACHE_HOME": str(cache)}
    before, began = _children_s(), time.perf_counter()
    memory_gb = 0.0
    with (
        (cache / "found.json").open("w+") as out,
        subprocess.Popen(command, stdout=out, env=environment, cwd=ROOT) as running,
    ):
        while running.poll() is None:
            memory_gb = max(memory_gb, sum(map(_resident_gb, _with_children(running.pid))))
            try:
                running.wait(BETWEEN_LOOKS_S)
            except subprocess.TimeoutExpired:
                continue
        wall_s = time.perf_counter() - began
        out.seek(0)
        found = json.load(out)
    return {
        "wall_s": wall_s,
        "cpu_s": _children_s() - before,
        "memory_gb": memory_gb,
        "fill_ups": float(found["fill_ups"]),
        "flagged": float(len(found["flagged"])),
    }


def _children_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _with_children(process: int) -> list[int]:
    try:
        told = [each.read_text() for each in Path(f"/proc/{process}/task").glob("*/children")]
    except OSError:
        return []
    return [process, *(below for line in told for child in line.split() for below in _with_children(int(child)))]


def _resident_gb(process: int) -> float:
    try:
        return int(Path(f"/proc/{process}/statm").read_text().split()[1]) * resource.getpagesize() / 1e9
    except OSError:
        return 0.0


def measured(vehicles: int, workers: int) -> dict[str, object]:
    """All figures; keys carry their unit. `growth` holds one row for each size of fleet."""
    from benchmarks.fillups import gls_ms, made_log  # noqa: PLC0415 - brings statsmodels

    with tempfile.TemporaryDirectory() as passing:
        folder = Path(passing)
        bring_into_use(folder / "lostgallon" / "machine-code")
        loop_ms = gls_ms(made_log(FILLS, np.random.default_rng(1)))
        sizes = sorted({max(vehicles // 100, 1000), vehicles // 10, vehicles})
        runs = {}
        for count in sizes:
            write_fleet(folder / f"{count}.parquet", count)
            runs[count] = one_run(folder / f"{count}.parquet", 1, folder)
        few, many = runs[vehicles // 10], runs[vehicles]
        both = one_run(folder / f"{vehicles}.parquet", workers, folder)
    per_vehicle_ms = 1e3 * (many["cpu_s"] - few["cpu_s"]) / (vehicles - vehicles // 10)
    return {
        "growth": [{"vehicles": count, "cpu_s": run["cpu_s"]} for count, run in runs.items()],
        **{f"cpu_ms_per_vehicle_of_{count}": 1e3 * run["cpu_s"] / count for count, run in runs.items()},
        "vehicles": float(vehicles),
        "flagged": many["flagged"],
        "cpu_ms_per_vehicle_more": per_vehicle_ms,
        "fill_ups_per_cpu_second": 1e3 * FILLS / per_vehicle_ms,
        "times_faster_than_statsmodels": loop_ms / per_vehicle_ms,
        "one_worker_wall_s": many["wall_s"],
        "one_worker_cpu_s": many["cpu_s"],
        f"{workers}_workers_wall_s": both["wall_s"],
        f"{workers}_workers_over_one": many["wall_s"] / both["wall_s"],
        f"{workers}_workers_cpu_s": both["cpu_s"],
        f"fill_ups_per_second_with_{workers}_workers": both["fill_ups"] / both["wall_s"],
        f"memory_{workers}_workers_gb": both["memory_gb"],
        "memory_one_worker_gb": many["memory_gb"],
        "memory_of_a_tenth_gb": few["memory_gb"],
    }


def main() -> None:
    """Prints the figures, as JSON where asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--vehicles", type=int, default=100_000)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    figures = measured(asked.vehicles, asked.workers)
    numbers = {key: figure for key, figure in figures.items() if isinstance(figure, float)}
    print(json.dumps(figures, indent=2) if asked.json else "\n".join(f"{k:<48}{v:12.3f}" for k, v in numbers.items()))


if __name__ == "__main__":
    main()
