"""Runs the commands that the docs show, so that what they print is never out of date."""

import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
DEMO = ROOT / "src" / "lostgallon" / "data" / "demo"
BLOCK = re.compile(r"^```run(?: lines=(\d+))?\n(lostgallon [^\n]+)\n```$", re.MULTILINE)


@cache
def said_by(command: str) -> str:
    """What a command prints, run in the folder of the demo visits, 80 columns wide.

    Raises:
        subprocess.CalledProcessError: If it ends with another status than 0.
    """
    surroundings = os.environ | {"COLUMNS": "80", "PYTHONPATH": str(ROOT / "src")}
    done = subprocess.run(
        [sys.executable, "-m", *shlex.split(command)],
        cwd=DEMO,
        env=surroundings,
        check=True,
        capture_output=True,
        encoding="utf-8",
    )
    return done.stdout.strip("\n")


def with_output(markdown: str, said: Callable[[str], str] = said_by) -> str:
    """Every block marked `run` with the command and what it prints; `lines=N` keeps the first N lines."""

    def shown(block: re.Match[str]) -> str:
        lines, command = block.groups()
        printed = said(command).splitlines()
        kept = printed[: int(lines)] if lines else printed
        rest = ["..."] if len(kept) < len(printed) else []
        return "\n".join(["```text", f"$ {command}", *kept, *rest, "```"])

    return BLOCK.sub(shown, markdown)
