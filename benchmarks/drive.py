"""Reading and judging a recorded drive of a million rows and 30 columns: python -m benchmarks.drive [--json].

The yardstick is polars reading the same file alone in the same run; each is run in a process of its own, so that peak
memory is its own. Bars: at most 3 times polars' time, under 1 GB.
"""

import json
import os
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import polars as pl

ROOT = Path(__file__).resolve().parent.parent
ROWS, COLUMNS, REPEATS = 1_000_000, 30, 3
RATIO_BAR, MEMORY_BAR_MB = 3.0, 1000.0

POLARS = """
import sys, time, resource, polars
start = time.perf_counter()
frame = polars.read_csv(sys.argv[1])
print(time.perf_counter() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0)
"""
OURS = """
import sys, time, resource
from pathlib import Path
import polars
from lostgallon.drives.vehicle import Subject
from lostgallon.drives.verdict import drive_verdict
from lostgallon.readers.drives import read_drive
start = time.perf_counter()
log = read_drive(Path(sys.argv[1]))
read = time.perf_counter() - start
drive_verdict(log, Subject(displacement_l=2.0))
print(time.perf_counter() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0, read)
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
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "src")}
    ran = subprocess.run([sys.executable, "-c", program, str(log)], env=environment, check=True, capture_output=True)
    return [float(word) for word in ran.stdout.split()]


def measure() -> dict[str, float | bool]:
    """Medians of alternating runs, and whether the bars are kept."""
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "drive.csv"
        write_log(log)
        size_mb = log.stat().st_size / 1e6
        pairs = [(timed(POLARS, log), timed(OURS, log)) for _ in range(REPEATS)]
    polars_s = statistics.median(theirs[0] for theirs, _ in pairs)
    ours_s = statistics.median(ours[0] for _, ours in pairs)
    ratio = statistics.median(ours[0] / theirs[0] for theirs, ours in pairs)
    memory_mb = max(ours[1] for _, ours in pairs)
    return {
        "rows": ROWS,
        "columns": COLUMNS,
        "file_mb": round(size_mb, 1),
        "polars_alone_s": round(polars_s, 3),
        "read_s": round(statistics.median(ours[2] for _, ours in pairs), 3),
        "read_and_judge_s": round(ours_s, 3),
        "times_polars": round(ratio, 2),
        "peak_memory_mb": round(memory_mb),
        "polars_peak_memory_mb": round(max(theirs[1] for theirs, _ in pairs)),
        "within_bars": ratio <= RATIO_BAR and memory_mb < MEMORY_BAR_MB,
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
