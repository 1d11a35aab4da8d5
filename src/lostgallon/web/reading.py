"""A table or a measurement that somebody uploads is first read in a process of its own, with limits.

What takes too long, too much memory, or takes the process down is refused before it is kept; what passes is read again
by the account's worker, which comes to the same answer. `python -m lostgallon.web.reading KIND SUFFIX` is that process:
the file comes in on its standard input, and what is wrong with it goes out. Coasting that somebody marks in a recorded
drive is tried the same way: `... drive_log SUFFIX START-END`; `--speed=UNIT` before it says what the log leaves open.
"""

import contextlib
import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from lostgallon.shop.marks import read_mark
from lostgallon.shop.trouble import BadInput, Trouble

Kind = Literal["fill_ups", "drive_log"]

LONGEST_S = 120.0
LONGEST_CPU_S = 20
MOST_MEMORY: Mapping[str, int] = {"fill_ups": 512 * 2**20, "drive_log": 1024 * 2**20}
"""Bytes of address space beyond what the reader's libraries take; threads that read a drive only reserve most of it.

Only Linux holds a process to it; the time limits hold anywhere. The longest drive that can be sent needs 0.7 GB.
"""
_REFUSED, _CUT_OFF = 3, 4
_SPEED = "--speed="
_two_at_a_time = threading.BoundedSemaphore(2)


@dataclass(frozen=True)
class Said:
    """What a person says of a recorded drive: the unit of speed where the log leaves it open, coasting as typed."""

    speed: str = ""
    coasts: tuple[str, ...] = ()

    @property
    def words(self) -> tuple[str, ...]:
        """The same as words of a command."""
        return (*((f"{_SPEED}{self.speed}",) if self.speed else ()), *self.coasts)


NOTHING_SAID = Said()


def require_readable(content: bytes, *, kind: Kind, suffix: str, name: str, said: Said = NOTHING_SAID) -> None:
    """Read an upload in a process of its own.

    A log of fill-ups that leaves something open (the order of day and month) is let through: the visit may settle it.

    Args:
        content: The file.
        kind: Which reader is for it.
        suffix: Its suffix, from its content.
        name: As the person knows it.
        said: What a person says of it.

    Raises:
        BadInput: If it can't be read within the limits, or a drive or what is marked in it can't be read at all.
    """
    command = [sys.executable, "-m", "lostgallon.web.reading", kind, suffix, *said.words]
    alone = {
        "POLARS_MAX_THREADS": "1",
        "OPENBLAS_NUM_THREADS": "1",
        "PYTHONPATH": os.pathsep.join(filter(None, sys.path)),
    }
    with _two_at_a_time:
        try:
            done = subprocess.run(  # noqa: S603 - our own module; the file goes in on its standard input
                command, input=content, capture_output=True, timeout=LONGEST_S, check=False, env={**os.environ, **alone}
            )
        except subprocess.TimeoutExpired:
            done = subprocess.CompletedProcess(command, _CUT_OFF)
    if done.returncode == _REFUSED and kind == "drive_log":
        told = done.stdout.decode("utf-8", "replace").replace(f"upload{suffix}", name)
        found, _, expected = told.partition("found ")[2].partition("; expected ")
        expected = expected.partition(", or a columns file")[0] if said.coasts or "without a unit" in found else ""
        raise BadInput("", found=found or told, expected=expected or "a recorded drive that can be read")
    if done.returncode not in {0, _REFUSED}:
        limits = f"{LONGEST_S:.0f} s and {MOST_MEMORY[kind] // 2**20} MB"
        raise BadInput(
            name, found="a file that can't be read within limits", expected=f"a table that takes at most {limits}"
        )


def _limit(most_memory: int) -> None:
    """Hold this process to its limits, where the system can."""
    try:
        import resource  # noqa: PLC0415 - not there on Windows
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_CPU, (LONGEST_CPU_S, LONGEST_CPU_S + 1))
    with contextlib.suppress(OSError, ValueError):
        pages = int(Path("/proc/self/statm").read_text("ascii").split()[0])
        most = pages * resource.getpagesize() + most_memory
        resource.setrlimit(resource.RLIMIT_AS, (most, most))


def _reader(kind: str, words: Sequence[str]) -> Callable[[Path], object]:
    """The reader with all its libraries loaded, so that the limit counts the file alone."""
    if kind == "fill_ups":
        import python_calamine  # noqa: F401, PLC0415 - loaded before the limit

        from lostgallon.readers.fills import read_fills  # noqa: PLC0415 - a process loads what it needs

        return read_fills
    import polars as pl  # noqa: F401, PLC0415 - loaded before the limit

    from lostgallon.job.drive import require_coasts  # noqa: PLC0415 - the same

    speed = next((word.removeprefix(_SPEED) for word in words if word.startswith(_SPEED)), None)
    coasts = tuple(read_mark(word) for word in words if not word.startswith(_SPEED))
    return lambda path: require_coasts(path, coasts, speed_unit=speed)


def main(kind: str, suffix: str, *words: str) -> int:
    """Read the file on standard input; 0 where it can be read."""
    read = _reader(kind, words)
    _limit(MOST_MEMORY[kind])
    try:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / f"upload{suffix}"
            path.write_bytes(sys.stdin.buffer.read())
            read(path)
    except Trouble as trouble:
        sys.stdout.buffer.write(str(trouble).encode())
        return _REFUSED
    except MemoryError:
        return _CUT_OFF
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
