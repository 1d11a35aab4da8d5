"""Reading and judging a recorded drive of a million rows and 30 columns: python -m benchmarks.drive [--json].

The yardstick is polars reading the same file alone, all of its columns, in the same run. Each run is a process of its
own, started from a small one, so that peak memory is its own. The runs alternate, and of each program the best one
counts, by the clock and by processor time. Bars: at most 3 times polars' time, under 1 GB.
"""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import polars as pl

ROOT = Path(__file__).resolve().parent.parent
ROWS, COLUMNS, REPEATS = 1_000_000, 30, 7
RATIO_BAR, MEMORY_BAR_MB = 3.0, 1000.0

POLARS = """
import sys, time, resource, polars
start, cpu = time.perf_counter(), time.process_time()
frame = polars.read_csv(sys.argv[1])
end, spent = time.perf_counter() - start, time.process_time() - cpu
print(end, spent, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0)
"""
WRITE = """
import sys
from pathlib import Path
from benchmarks.drive import write_log
write_log(Path(sys.argv[1]))
"""
OURS = """
import sys, time, resource
from pathlib import Path
import polars
from lostgallon.drives.vehicle import Subject
from lostgallon.drives.verdict import drive_verdict
from lostgallon.readers.drives import read_drive
start, cpu = time.perf_counter(), time.process_time()
log = read_drive(Path(sys.argv[1]))
read = time.perf_counter() - start
drive_verdict(log, Subject(displacement_l=2.0))
end, spent = time.perf_counter() - start, time.process_time() - cpu
print(end, spent, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0, read)
"""


def write_log(path: Path, rows: int = ROWS) -> None:
    """A day of invented driving at 10 rows a second, 13 columns the program knows and others it does not."""
    rng = np.random.default_rng(11)
    time_s = np.arange(rows) * 0.1
    speed = np.clip(70.0 + 30.0 * np.sin(time_s / 90.0) + 15.0 * np.sin(time_s / 11.0), 0.0, None)
    known = {
        "Time (s)": time_s,
        "Vehicle speed (km/h)": np.round(speed),
        "Engine speed (rpm)": np.where(speed > 25.0, speed * 24.0, 740.0),
        "Engine coolant temperature (°C)": np.round(np.minimum(15.0 + time_s / 8.0, 90.0)),
        "Intake air temperature (°C)": np.full(rows, 22.0),
        "Mass air flow (g/s)": 2.5 + speed / 7.0 + rng.normal(0.0, 0.2, rows),
        "Calculated load value (%)": 24.0 + speed / 4.0,
        "Intake manifold absolute pressure (kPa)": np.round(30.0 + speed / 3.0),
        "Short term fuel trim bank 1 (%)": rng.normal(0.0, 2.0, rows),
        "Long term fuel trim bank 1 (%)": np.full(rows, 1.5625),
        "Fuel system status": np.full(rows, 2.0),
        "Accelerator pedal position D (%)": 14.0 + speed / 5.0,
        "Control module voltage (V)": rng.normal(14.1, 0.05, rows),
    }
    others = {f"Reading {at}": rng.normal(50.0, 10.0, rows) for at in range(COLUMNS - len(known))}
    pl.DataFrame({name: values.round(3) for name, values in (known | others).items()}).write_csv(path)


def timed(program: str, log: Path) -> list[float]:
    """Run a program on the log in a process of its own and read the figures it prints."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT / "src"), str(ROOT)])}
    ran = subprocess.run([sys.executable, "-c", program, str(log)], env=environment, check=True, capture_output=True)
    return [float(word) for word in ran.stdout.split()]


def measure() -> dict[str, float | bool]:
    """The best of alternating runs of each, and whether the bars are kept."""
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "drive.csv"
        timed(WRITE, log)
        size_mb = log.stat().st_size / 1e6
        pairs = [(timed(POLARS, log), timed(OURS, log)) for _ in range(REPEATS)]
    polars_s, polars_cpu_s = (min(theirs[at] for theirs, _ in pairs) for at in (0, 1))
    ours_s, ours_cpu_s = (min(ours[at] for _, ours in pairs) for at in (0, 1))
    memory_mb = max(ours[2] for _, ours in pairs)
    return {
        "log_rows": ROWS,
        "columns": COLUMNS,
        "file_mb": round(size_mb, 1),
        "polars_alone_s": round(polars_s, 3),
        "polars_alone_cpu_s": round(polars_cpu_s, 3),
        "read_s": round(min(ours[3] for _, ours in pairs), 3),
        "read_and_judge_s": round(ours_s, 3),
        "read_and_judge_cpu_s": round(ours_cpu_s, 3),
        "times_polars": round(ours_s / polars_s, 2),
        "times_polars_cpu": round(ours_cpu_s / polars_cpu_s, 2),
        "peak_memory_mb": round(memory_mb),
        "polars_peak_memory_mb": round(max(theirs[2] for theirs, _ in pairs)),
        "within_bars": ours_s <= RATIO_BAR * polars_s and memory_mb < MEMORY_BAR_MB,
    }


def main() -> None:
    """Print the figures, as JSON with --json."""
    found = measure()
    if "--json" in sys.argv:
        print(json.dumps(found, indent=2))
        return
    for name, value in found.items():
        print(f"{name:<24}{value}")


if __name__ == "__main__":
    main()
