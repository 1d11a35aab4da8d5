"""The city schedule, ours against a reference library, in one run.

    python -m benchmarks.physics [--json] [--reference PYTHON]

PYTHON is an interpreter that has fastsim 3.1.0 (tools/second_opinion.py says how to make one); without it the
reference is left out. Ratios count, not the machine: everything is measured in one run on one core.
"""

import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from lostgallon.physics import compiled
from lostgallon.physics.calibration import calibrated
from lostgallon.physics.effects import effects_for
from lostgallon.physics.lanes import Lanes
from lostgallon.physics.schedules import schedule
from lostgallon.physics.setting import Surroundings, lanes_for
from lostgallon.physics.trip import Leg, drive
from lostgallon.physics.vehicle import prior_members
from lostgallon.physics.warm_up import cold_soaked
from lostgallon.readers.cast import cast
from lostgallon.shop.visit import Period, Use

WAGON = cast("wagon").vehicle
USE = Use(distance_per_year_km=17_700.0, trip_km=9.7, highway_share=0.3, fuel_price_per_l=0.9, warm_up_idle_s=120.0)
GOOD, BAD = Period(10.2, "fill-ups", 19.0), Period(13.2, "fill-ups", -2.0)
FLOPS_PER_SECOND_DRIVEN = 30.0  # of one lane and one moving second in loop.py, an FMA as two, counted by hand
REFERENCE = """
import time, warnings, fastsim
warnings.simplefilter("ignore")
cycle, best = fastsim.Cycle.from_resource("udds.csv"), 1e9
for path in fastsim.Vehicle.list_resources():
    vehicle = fastsim.Vehicle.from_resource(str(path))
    if "Conv" in vehicle.to_dict()["pt_type"]:
        break
for _ in range(25):
    run = fastsim.SimDrive(vehicle, cycle)
    start = time.process_time()
    run.walk()
    best = min(best, time.process_time() - start)
print(1.0 / best)
"""


def lanes(draws: int) -> Lanes:
    """Lanes of one vehicle with every coefficient drawn."""
    return lanes_for(prior_members(WAGON, draws, rng=np.random.default_rng(1)), Surroundings(24.0), {})


def best_s(work: Callable[[], object], *, repeats: int = 7) -> float:
    """Shortest processor time of some work: what one core needs, whoever else uses the machine. [s]"""
    times = []
    for _ in range(repeats):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def best_wall_s(work: Callable[[], object], *, repeats: int = 15) -> float:
    """Shortest wall time of some work. [s]"""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def schedules_per_s(draws: int) -> float:
    """City schedules per second with the loop that is in use."""
    these = lanes(draws)
    legs, start = [Leg(schedule("city"))], cold_soaked(these)
    return draws / best_s(lambda: drive(these, legs, start))


def reference_per_s(python: str | None) -> float | None:
    """City schedules per second of the reference library, one at a time as it works."""
    if python is None:
        return None
    told = subprocess.run([python, "-c", REFERENCE], check=True, capture_output=True, text=True)
    return float(told.stdout)


def fma_ceiling_flops() -> float:
    """Floating-point operations per second of chains of multiply-add on vectors, one core, double precision."""
    import numba  # noqa: PLC0415 - the compiler is loaded after the times without it are taken

    def chains(values: np.ndarray, turns: int) -> None:
        for _ in range(turns):
            for i in range(values.size):
                value = values[i]
                for _ in range(16):
                    value = value * 0.999999 + 1e-6
                values[i] = value

    machine = numba.njit(fastmath={"contract"})(chains)
    values = np.ones(128)
    machine(values, 1)
    turns = 100_000
    return 2.0 * 16 * values.size * turns / best_s(lambda: machine(values, turns), repeats=5)


def peak_mb() -> float:
    """Peak memory of this process so far. [MB]"""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def compile_times_s() -> tuple[float, float, compiled.Compiled]:
    """Seconds to make the machine code, seconds to load it in a fresh process, and the loop itself."""
    with tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        function = compiled.compiled_leg(Path(folder))
        made = time.perf_counter() - start
        code = (
            f"from pathlib import Path; from lostgallon.physics.compiled import compiled_leg as c; c(Path({folder!r}))"
        )
        environment = {**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parent.parent / "src")}
        start = time.perf_counter()
        subprocess.run([sys.executable, "-c", code], check=True, env=environment)
        return made, time.perf_counter() - start, function


def measure(reference: str | None) -> dict[str, float]:
    """All figures of this benchmark."""
    start = time.perf_counter()
    members = calibrated(WAGON, 128, rng=np.random.default_rng(1)).members
    row: dict[str, float] = {"first_calibration_128_members_s": time.perf_counter() - start}
    row["effects_128_members_numpy_s"] = best_s(lambda: effects_for(WAGON, USE, GOOD, BAD, members=members), repeats=3)
    row["numpy_2048_per_s"], row["numpy_1_per_s"] = schedules_per_s(2048), schedules_per_s(1)
    row["compile_s"], row["load_in_a_fresh_process_s"], function = compile_times_s()
    before = peak_mb()
    compiled.use(function)
    row["compiled_1_per_s"], row["compiled_2048_per_s"] = schedules_per_s(1), schedules_per_s(2048)
    row["compiled_over_numpy"] = row["compiled_2048_per_s"] / row["numpy_2048_per_s"]
    row["peak_mb"] = peak_mb()
    row["effects_128_members_compiled_s"] = best_s(
        lambda: effects_for(WAGON, USE, GOOD, BAD, members=members), repeats=3
    )
    row["compiled_16384_per_s"] = schedules_per_s(16384)
    row["bytes_per_draw"] = max(peak_mb() - before, 0.0) * 1e6 / 16384
    many = lanes(8192)
    legs, cold = [Leg(schedule("city"))], cold_soaked(many)
    one_thread_s = best_wall_s(lambda: drive(many, legs, cold))
    compiled.use(function, threads=2)
    row["two_threads_over_one"] = one_thread_s / best_wall_s(lambda: drive(many, legs, cold))
    compiled.back_to_numpy()
    ceiling = fma_ceiling_flops()
    moving = schedule("city").steps.speed_m_s.size
    row["fma_ceiling_gflops"] = ceiling / 1e9
    row["share_of_fma_ceiling"] = row["compiled_2048_per_s"] * moving * FLOPS_PER_SECOND_DRIVEN / ceiling
    told = reference_per_s(reference)
    if told is not None:
        row["reference_per_s"] = told
        row["batch_over_reference"] = row["compiled_2048_per_s"] / row["reference_per_s"]
        row["one_over_reference"] = row["compiled_1_per_s"] / row["reference_per_s"]
        row["numpy_batch_over_reference"] = row["numpy_2048_per_s"] / row["reference_per_s"]
    return row


if __name__ == "__main__":
    given = sys.argv[sys.argv.index("--reference") + 1] if "--reference" in sys.argv else None
    measured = {name: float(f"{value:.4g}") for name, value in measure(given).items()}
    if "--json" in sys.argv:
        print(json.dumps({"benchmark": "physics", **measured}, indent=2))
    else:
        for name, value in measured.items():
            print(f"{name:36}{value:>14}")
