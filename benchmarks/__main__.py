"""All benchmarks in one run: python -m benchmarks [--json] [NAME ...]. Writes docs/benchmarks.md and its picture.

Each runs in a process of its own, one after the other, so that none warms another's caches. Meant for an idle machine.
"""

import argparse
import json
import os
import platform
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from benchmarks.growth import picture_of

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "benchmarks.md"
PICTURE = ROOT / "docs" / "pictures" / "growth.svg"
NAMES = ("commands", "physics", "fillups", "account", "plan", "drive", "pages", "paper", "store", "fleet", "port")
NAMED_BY = ("command", "what", "name")
BARS = {
    "commands.account.first_s": "≤ 6 s",
    "commands.account.then_s": "≤ 2 s",
    "commands.fillups, 700 tanks.first_s": "≤ 2 s",
    "commands.help.then_s": "≤ 0.3 s",
    "commands.predict.first_s": "≤ 4 s",
    "commands.predict.then_s": "≤ 1.5 s",
    "commands.tires.then_s": "≤ 0.6 s",
    "physics.batch_over_reference": "≥ 1500",
    "physics.one_over_reference": "≥ 100",
    "physics.two_threads_over_one": "≥ 1.7",
    "fillups.fills_60_cpu_ms": "≤ 2 ms",
    "fillups.fills_700_cpu_ms": "≤ 10 ms",
    "fillups.times_faster_than_statsmodels": "≥ 500",
    "fillups.cold_process_to_verdict_s": "≤ 1 s",
    "drive.times_polars": "≤ 3",
    "drive.peak_memory_mb": "< 1000",
    "paper.letter_s": "≤ 0.5 s",
    "paper.letters_a_minute_on_two_cores": "≥ 100",
    "pages.page_p95_ms": "≤ 80 ms",
    "pages.entry_saved_p95_ms": "≤ 200 ms",
    "pages.account_refreshed_p95_s": "≤ 1 s",
    "pages.account_refreshed_20_p95_s": "≤ 5 s",
    "pages.first_page_s": "≤ 1.5 s",
    "pages.page_weight_kb": "≤ 250",
}
"""What each room's issue asked for; a room may print more bars of its own."""
HEAD = """# Benchmarks

Written by `python -m benchmarks` on an idle machine, each benchmark in a process of its own. A ratio compares with its
yardstick within the same run, so it carries over to another machine; seconds do not.

"""


def run(name: str, more: list[str]) -> dict[str, Any]:
    """What one benchmark prints with --json, and how long the whole of it took."""
    start = time.perf_counter()
    command = [sys.executable, "-m", f"benchmarks.{name}", "--json", *more]
    done = subprocess.run(command, cwd=ROOT, env=os.environ, capture_output=True, text=True, check=False)
    if done.returncode:
        return {"failed": done.stderr.strip().splitlines()[-1:]}
    found = json.loads(done.stdout)
    told = found if isinstance(found, dict) else {"rows": found}
    return told | {"whole_run_s": round(time.perf_counter() - start, 1)}


def flat(value: object, path: str) -> Iterator[tuple[str, float | str]]:
    """Every figure with its place: keys joined by dots; rows by the name they carry, rows without one left out."""
    if isinstance(value, dict):
        for key, inner in value.items():
            if key not in ("benchmark", "schema"):
                yield from flat(inner, path if key in ("rows", "summary") else f"{path}.{key}")
    elif isinstance(value, list):
        for row in value:
            named = next((key for key in NAMED_BY if isinstance(row, dict) and key in row), None)
            if named:
                rest = {key: inner for key, inner in row.items() if key != named}
                yield from flat(rest, f"{path}.{row[named].lstrip('-')}")
    elif isinstance(value, float | int | str):
        yield path, value


def page(found: dict[str, dict[str, Any]], machine: str) -> str:
    """The whole page as Markdown."""
    parts = [
        HEAD,
        f"{machine}\n\n![How cost grows with work, each curve against its smallest size](pictures/growth.svg)\n",
    ]
    for name, told in found.items():
        lines = [f"\n## {name}\n", "| figure | measured | bar |", "|---|---:|---|"]
        lines += [
            f"| {path.removeprefix(name + '.')} | {value:.4g} | {BARS.get(path, '')} |"
            if isinstance(value, float | int)
            else f"| {path.removeprefix(name + '.')} | {value} | |"
            for path, value in flat(told, name)
        ]
        parts.append("\n".join(lines) + "\n")
    return "".join(parts)


def main() -> None:
    """Run those named, or all; print JSON with --json, else where the page is."""
    parser = argparse.ArgumentParser()
    parser.add_argument("names", nargs="*", choices=[*NAMES, []], metavar="NAME")
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--reference", help="a Python with the reference vehicle model, for benchmarks.physics")
    asked = parser.parse_args()
    found = {}
    for name in asked.names or NAMES:
        print(f"{name} ...", file=sys.stderr, flush=True)
        found[name] = run(name, ["--reference", asked.reference] if asked.reference and name == "physics" else [])
    if asked.json:
        print(json.dumps(found, indent=2))
    if not asked.names:
        system = f"{platform.system()} {platform.machine()}, Python {platform.python_version()}"
        machine = f"{os.cpu_count()} processors, {system}."
        PAGE.write_text(page(found, machine), "utf-8")
        PICTURE.write_text(picture_of(found), "utf-8")
        print(PAGE, file=sys.stderr)


if __name__ == "__main__":
    main()
