"""All benchmarks in one run: python -m benchmarks [--json] [NAME ...].

Each runs in a process of its own, one after the other, so that none warms another's caches; one that fails or takes
too long says so in its place and the others go on. Meant for an idle machine. A run of all of them keeps what it found
in benchmarks/found.json and writes docs/benchmarks.md and its picture; `--page` writes both again from what is kept.
"""

import argparse
import datetime as dt
import json
import os
import platform
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

from benchmarks.growth import picture_of
from benchmarks.page import page, rows_of
from benchmarks.rooms import ROOMS, Room

ROOT = Path(__file__).resolve().parent.parent
FOUND = ROOT / "benchmarks" / "found.json"
PAGE = ROOT / "docs" / "benchmarks.md"
PICTURE = ROOT / "docs" / "pictures" / "growth.svg"
REFERENCE = "fastsim==3.1.0"
"""The reference vehicle model; it asks for another polars than ours, so it lives in an environment of its own."""


def run(room: Room, more: list[str]) -> dict[str, Any]:
    """What one benchmark found: told (as it printed it), rows (one a figure), failed (why, or None), took_s."""
    start = time.perf_counter()
    command = [sys.executable, "-m", f"benchmarks.{room.name}", "--json", *more]
    paths = os.pathsep.join(map(str, (ROOT / "src", ROOT)))
    process = subprocess.Popen(
        command,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": paths},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    try:
        out, err = process.communicate(timeout=room.most_s)
    except subprocess.TimeoutExpired:
        _end(process)
        out, err = "", f"given up after {room.most_s:g} s"
    told, failed = _read(out), None
    if process.returncode or not told:
        told, failed = {}, (err.strip() or out.strip() or "printed nothing").splitlines()[-1]
    told |= {} if failed else {"whole_run_s": round(time.perf_counter() - start, 1)}
    return {"failed": failed, "rows": rows_of(room.name, told), "told": told}


def _end(process: subprocess.Popen[str]) -> None:
    """End a benchmark with everything it started."""
    if hasattr(os, "killpg"):
        os.killpg(process.pid, signal.SIGKILL)
    else:
        process.kill()
    process.communicate()


def _read(out: str) -> dict[str, Any]:
    try:
        found = json.loads(out)
    except ValueError:
        return {}
    return found if isinstance(found, dict) else {"rows": found}


def reference_python(folder: Path) -> str | None:
    """A Python that has the reference vehicle model; made in `folder` where it is not there, None where that fails."""
    python = folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    uv = [sys.executable, "-m", "uv"]
    make = [*uv, "venv", "--quiet", str(folder)]
    fill = [*uv, "pip", "install", "--quiet", "--python", str(python), REFERENCE]
    ready = python.exists() and _works([str(python), "-c", "import fastsim"])
    return str(python) if ready or (_works(make) and _works(fill)) else None


def _works(command: list[str]) -> bool:
    return subprocess.run(command, capture_output=True, check=False).returncode == 0


def machine() -> str:
    """The processors, the system, the day and the commit, as the page says them."""
    git = ["git", "-C", str(ROOT), "describe", "--always", "--dirty=, changed since"]
    commit = subprocess.run(git, capture_output=True, text=True, check=False).stdout.strip() or "unknown"
    system = f"{platform.system()} {platform.machine()}, Python {platform.python_version()}"
    load = f"; load when it began {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    return f"{os.cpu_count()} processors, {system}; {dt.datetime.now(dt.UTC).date()}, commit {commit}{load}."


def write_page(found: dict[str, Any]) -> None:
    """The page and its picture."""
    PAGE.write_text(page(found), "utf-8")
    PICTURE.write_text(picture_of({name: room["told"] for name, room in found["rooms"].items()}), "utf-8")
    print(PAGE, file=sys.stderr)


def main() -> int:
    """Run those named, or all; print JSON with --json, else where the page is. 1 if a room failed."""
    names = [room.name for room in ROOMS]
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("names", nargs="*", metavar="NAME", help=", ".join(names))
    parser.add_argument("--json", action="store_true", help="print what was found")
    parser.add_argument("--page", action="store_true", help="run nothing: write the page from benchmarks/found.json")
    parser.add_argument("--reference", help=f"a Python with {REFERENCE}; else one is made in build/reference")
    asked = parser.parse_args()
    if unknown := set(asked.names) - set(names):
        parser.error(f"found {', '.join(sorted(unknown))}; expected some of {', '.join(names)}")
    if asked.page:
        write_page(json.loads(FOUND.read_text("utf-8")))
        return 0
    found: dict[str, Any] = {"machine": machine(), "rooms": {}}
    for room in ROOMS:
        if asked.names and room.name not in asked.names:
            continue
        print(f"{room.name} ...", file=sys.stderr, flush=True)
        python = (asked.reference or reference_python(ROOT / "build" / "reference")) if room.name == "physics" else None
        found["rooms"][room.name] = told = run(room, ["--reference", python] if python else [])
        print(f"{room.name}: {told['failed'] or 'done'}", file=sys.stderr, flush=True)
    if asked.json:
        print(json.dumps(found, indent=2, ensure_ascii=False))
    if not asked.names:
        FOUND.write_text(json.dumps(found, indent=1, ensure_ascii=False) + "\n", "utf-8")
        write_page(found)
    return int(any(room["failed"] for room in found["rooms"].values()))


if __name__ == "__main__":
    sys.exit(main())
