"""Wall time and peak memory of the commands as a person starts them: python -m benchmarks.commands [--json]."""

import json
import math
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "src" / "lostgallon" / "data" / "demo" / "two-faults.toml"
TIRES = ("tires", "--placard", "33psi", "--bay", "68degF", "--street", "25degF", "--json")


def bare_python_s() -> float:
    """Wall time of starting this Python and ending it again, the median of seven. [s]"""
    taken = []
    for _ in range(7):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-c", "pass"], check=True)
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def once(arguments: Sequence[str], cache: Path) -> tuple[float, float]:
    """Run one command to its end. Returns wall time in seconds and peak memory in megabytes."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT / "src"), "XDG_CACHE_HOME": str(cache)}
    start = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "lostgallon", *arguments], env=environment, stdout=subprocess.DEVNULL
    )
    _, status, usage = os.wait4(process.pid, 0)
    if status:
        raise SystemExit(f"lostgallon {' '.join(arguments)} ended with {os.waitstatus_to_exitcode(status)}")
    return time.perf_counter() - start, usage.ru_maxrss / 1024.0


def fill_log(path: Path, tanks: int) -> Path:
    """A log of an invented vehicle with season and scatter, made the same every time."""
    rng = np.random.default_rng(7)
    rows, odometer, day = ["date,odometer (km),volume (L)"], 20_000.0, date(2011, 1, 4)
    for _ in range(tanks):
        distance = rng.uniform(420, 620)
        season = 0.06 * math.cos(2 * math.pi * day.timetuple().tm_yday / 365.25)
        liters = distance * 0.085 * math.exp(season + rng.normal(0, 0.06))
        odometer, day = odometer + distance, day + timedelta(days=int(rng.integers(5, 10)))
        rows.append(f"{day},{odometer:.0f},{liters:.2f}")
    path.write_text("\n".join(rows), "utf-8")
    return path


def measure(repeats: int = 3) -> list[dict[str, float | str]]:
    """Every command, cold where a cold start differs, then the median of the warm ones."""
    with tempfile.TemporaryDirectory() as folder:
        here = Path(folder)
        log = str(fill_log(here / "fills.csv", 700))
        commands: dict[str, tuple[str, ...]] = {
            "--help": ("--help",),
            "tires": TIRES,
            "fillups, 700 tanks": ("fillups", log, "--json"),
            "predict": ("predict", str(DEMO), "--json"),
            "account": ("account", str(DEMO), "--json"),
            "account with letter": ("account", str(DEMO), "--letter", str(here / "letter.pdf")),
        }
        rows: list[dict[str, float | str]] = []
        bare_s = bare_python_s()
        for name, arguments in commands.items():
            first_s, first_mb = once(arguments, here / name.replace(" ", "-"))
            warm = [once(arguments, here / name.replace(" ", "-")) for _ in range(repeats)]
            rows.append(
                {
                    "command": name,
                    "first_s": round(first_s, 3),
                    "then_s": round(statistics.median(seconds for seconds, _ in warm), 3),
                    "times_bare_python": round(statistics.median(seconds for seconds, _ in warm) / bare_s, 2),
                    "peak_mb": round(max(first_mb, *(megabytes for _, megabytes in warm)), 1),
                }
            )
        return rows


if __name__ == "__main__":
    measured = measure()
    if "--json" in sys.argv:
        print(json.dumps({"benchmark": "commands", "rows": measured}, indent=2))
    else:
        for row in measured:
            print(
                f"{row['command']:<22} first {row['first_s']:>6} s   then {row['then_s']:>6} s   {row['peak_mb']:>6} MB"
            )
