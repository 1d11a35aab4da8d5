"""Speed of screening a fleet: `python -m benchmarks.fleet [--vehicles N] [--workers N] [--json]`.

A made fleet of 60 fills a vehicle, from the Parquet file to the ranking, each size in a process of its own so that its
memory is its own: one worker against two, growth over three sizes, memory over ten times the rows, and the ratio to a
statsmodels loop over the same grid in the same run. Seconds of the processor judge; wall time needs a quiet machine.
"""

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import polars as pl

from lostgallon.fillups.compiled import bring_into_use
from lostgallon.fleet.screening import Asked, screen

ROOT = Path(__file__).resolve().parent.parent
FILLS = 60
AT_ONCE = 20_000
BAR_S, MOST_MEMORY_GB = 60.0, 4.0


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


def one_run(path: Path, workers: int, folder: Path, at_once: int) -> dict[str, float]:
    """Wall and processor seconds of one screening and the largest memory of its processes."""
    asked = Asked((path,), 1.0, "USD", workers=workers, machine_code=folder, rows_at_once=at_once)
    began = time.perf_counter()
    found = screen(asked, clock=time.monotonic, told=lambda _what, _done, _total: None).record
    wall = time.perf_counter() - began
    usage = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return {
        "wall_s": wall,
        "cpu_s": sum(each.ru_utime + each.ru_stime for each in usage),
        "memory_gb": (usage[0].ru_maxrss + workers * usage[1].ru_maxrss * (workers > 1)) / 1e6,
        "fill_ups": float(found.fill_ups),
        "flagged": float(len(found.flagged)),
    }


def apart(path: Path, folder: Path, *, workers: int = 1, at_once: int = 2_000_000) -> dict[str, float]:
    """One run in a process of its own."""
    asked = ["--one", path, "--workers", workers, "--folder", folder, "--at-once", at_once]
    told = [sys.executable, "-m", "benchmarks.fleet", *map(str, asked)]
    found: dict[str, float] = json.loads(subprocess.check_output(told, cwd=ROOT))
    return found


def measured(vehicles: int, workers: int) -> dict[str, object]:
    """All figures; keys carry their unit. `growth` holds one row for each size of fleet."""
    from benchmarks.fillups import gls_ms, made_log  # noqa: PLC0415 - workers import this file and need no yardstick

    with tempfile.TemporaryDirectory() as passing:
        folder = Path(passing)
        bring_into_use(folder)
        loop_ms = gls_ms(made_log(FILLS, np.random.default_rng(1)))
        figures: dict[str, object] = {}
        runs = {}
        for count in sorted({max(vehicles // 100, 1000), vehicles // 10, vehicles}):
            write_fleet(folder / f"{count}.parquet", count)
            runs[count] = apart(folder / f"{count}.parquet", folder)
            figures[f"cpu_ms_per_vehicle_of_{count}"] = 1e3 * runs[count]["cpu_s"] / count
        figures["growth"] = [{"vehicles": count, "cpu_s": run["cpu_s"]} for count, run in runs.items()]
        few, many = runs[vehicles // 10], runs[vehicles]
        both = apart(folder / f"{vehicles}.parquet", folder, workers=workers)
        pieces = [
            apart(folder / f"{count}.parquet", folder, at_once=vehicles * FILLS // 40)
            for count in (vehicles // 10, vehicles)
        ]
    per_vehicle_ms = 1e3 * (many["cpu_s"] - few["cpu_s"]) / (vehicles - vehicles // 10)
    return figures | {
        "vehicles": float(vehicles),
        "flagged": many["flagged"],
        "cpu_ms_per_vehicle_more": per_vehicle_ms,
        "fill_ups_per_cpu_second": 1e3 * FILLS / per_vehicle_ms,
        "times_faster_than_statsmodels": loop_ms / per_vehicle_ms,
        "one_worker_wall_s": many["wall_s"],
        f"{workers}_workers_wall_s": both["wall_s"],
        f"{workers}_workers_over_one": many["wall_s"] / both["wall_s"],
        f"{workers}_workers_cpu_s": both["cpu_s"],
        "hundred_thousand_vehicles_two_cores_by_cpu_s": both["cpu_s"] / vehicles * 1e5 / 2.0,
        "memory_whole_gb": many["memory_gb"],
        "memory_in_40_pieces_gb": pieces[1]["memory_gb"],
        "memory_of_a_tenth_in_4_pieces_gb": pieces[0]["memory_gb"],
    }


def main() -> None:
    """Prints the figures, as JSON where asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--vehicles", type=int, default=100_000)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--one", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--folder", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--at-once", type=int, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.one:
        print(json.dumps(one_run(asked.one, asked.workers, asked.folder, asked.at_once)))
        return
    figures = measured(asked.vehicles, asked.workers)
    numbers = {key: figure for key, figure in figures.items() if isinstance(figure, float)}
    print(json.dumps(figures, indent=2) if asked.json else "\n".join(f"{k:<48}{v:12.3f}" for k, v in numbers.items()))


if __name__ == "__main__":
    main()
