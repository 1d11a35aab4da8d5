"""The channels of an ASAM MDF4 measurement, read by asammdf in a process of its own.

A damaged measurement can overwrite memory in its compiled parts (one in a thousand did), which no exception handler
sees. `write_channels` is all that process does; what it writes are plain arrays.
"""

import json
import subprocess
import sys
import tempfile
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np

from lostgallon.readers.drive_series import Series
from lostgallon.shop.trouble import BadFile

EXPECTED = "an ASAM MDF4 measurement with engine and road speed"
LONGEST_S = 300.0
_REFUSED = 3


def read_channels(path: Path) -> list[Series]:
    """Every channel of numbers with its own stamps.

    Raises:
        BadFile: If the file can't be used or the extra is not there.
    """
    if not path.is_file():
        raise BadFile(str(path), found="no such file", expected=EXPECTED)
    if find_spec("asammdf") is None:
        raise BadFile(path.name, found="an MDF file", expected="the extra: pip install 'lostgallon[mdf]'")
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "channels.npz"
        reason = _read_aside(path.resolve(), out)
        if reason:
            raise BadFile(path.name, found=f"a file that can't be read ({reason})", expected=EXPECTED)
        found = _series_of(out)
    if not found:
        raise BadFile(path.name, found="no channel with numbers", expected=EXPECTED)
    return found


def _read_aside(path: Path, out: Path) -> str:
    """Why it could not be read, or nothing."""
    # The other process finds this program where this one found it.
    code = (
        f"import sys; sys.path[:] = {sys.path!r}; from {__name__} import write_channels; "
        "sys.exit(write_channels(*sys.argv[1:]))"
    )
    try:
        done = subprocess.run(  # noqa: S603 - our own module, handed two paths
            [sys.executable, "-c", code, str(path), str(out)], capture_output=True, timeout=LONGEST_S, check=False
        )
    except subprocess.TimeoutExpired:
        return f"it takes more than {LONGEST_S:.0f} s"
    if done.returncode == _REFUSED:
        return done.stdout.decode("utf-8", "replace").strip()
    return "it breaks its reader" if done.returncode else ""


def _series_of(out: Path) -> list[Series]:
    with np.load(out) as kept:
        told = json.loads(bytes(kept["told"]))
        return [Series(name, unit, kept[f"t{number}"], kept[f"v{number}"]) for number, (name, unit) in enumerate(told)]


def write_channels(path: str, out: str) -> int:
    """The life of the other process: the channels of `path` into `out`; says on its output why not."""
    from asammdf import MDF  # noqa: PLC0415 - optional and slow to import

    told: list[tuple[str, str]] = []
    arrays: dict[str, Any] = {}
    try:
        with MDF(path) as measurement:
            for one in measurement.iter_channels():
                if len(one.samples) and one.samples.dtype.kind in "iuf":
                    number = len(told)
                    arrays[f"t{number}"] = np.asarray(one.timestamps)
                    arrays[f"v{number}"] = np.asarray(one.samples, np.float64)
                    told.append((str(one.name), str(one.unit or "")))
    except Exception as problem:  # noqa: BLE001 - asammdf raises whatever the bytes of a broken file lead to
        print((str(problem).splitlines() or [type(problem).__name__])[0])  # noqa: T201 - the other process reads it
        return _REFUSED
    np.savez(out, told=np.frombuffer(json.dumps(told).encode(), np.uint8), **arrays)
    return 0
