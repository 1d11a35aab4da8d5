"""Speed of screening a fleet: `PYTHONPATH=src:. python benchmarks/fleet.py [--vehicles N] [--json]`.

Made logs of 60 fills, weighed in parts; growth from a tenth of the fleet, and one worker against two.
"""

import argparse
import json
import resource
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fillups.tanks import TankArrays
from lostgallon.fleet.parts import Part, weighed
from lostgallon.fleet.screening import PER_PART

FILLS = 60


def made_log(rng: np.random.Generator) -> TankArrays:
    """A plain log of 60 fills."""
    days = rng.integers(5, 12, FILLS).astype(np.float64)
    distance = np.clip(rng.normal(480, 60, FILLS), 100, None)
    volume = np.exp(np.log(10.0) + rng.normal(0, 0.06, FILLS)) * distance / 100.0
    ends, chained = 738000.0 + np.cumsum(days), np.arange(FILLS) > 0
    return TankArrays(ends, days, distance, volume, chained, np.ones(FILLS), *np.full((2, FILLS), np.nan))


def parts_of(vehicles: int) -> list[Part]:
    """A fleet in parts."""
    rng = np.random.default_rng(1)
    logs = [made_log(rng) for _ in range(vehicles)]
    return [Part(tuple(logs[low : low + PER_PART]), SeasonPrior()) for low in range(0, vehicles, PER_PART)]


def spent(parts: Sequence[Part], workers: int) -> tuple[float, float]:
    """Wall and CPU time of weighing; CPU only of this process. [s]."""
    wall, cpu = time.perf_counter(), time.process_time()
    if workers == 1:
        for part in parts:
            weighed(part)
    else:
        with ProcessPoolExecutor(workers) as pool:
            list(pool.map(weighed, parts))
    return time.perf_counter() - wall, time.process_time() - cpu


def main() -> None:
    """Prints the figures, as JSON where asked."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--vehicles", type=int, default=8192)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    few, many = parts_of(max(asked.vehicles // 10, 16)), parts_of(asked.vehicles)
    weighed(few[0])
    few_wall, few_cpu = spent(few, 1)
    one_wall, one_cpu = spent(many, 1)
    two_wall, _ = spent(many, 2)
    count, tenth = sum(len(part.logs) for part in many), sum(len(part.logs) for part in few)
    figures = {
        "vehicles": float(count),
        "cpu_ms_per_vehicle": 1e3 * one_cpu / count,
        "fill_ups_per_cpu_second": count * FILLS / one_cpu,
        "cpu_growth_per_vehicle_over_a_tenth": (one_cpu / count) / (few_cpu / tenth),
        "two_workers_over_one": one_wall / two_wall,
        "hundred_thousand_vehicles_on_two_cores_s": 1e5 * one_cpu / count / 2.0,
        "peak_memory_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0,
        "wall_of_a_tenth_s": few_wall,
    }
    print(json.dumps(figures, indent=2) if asked.json else "\n".join(f"{k:<44}{v:12.3f}" for k, v in figures.items()))


if __name__ == "__main__":
    main()
