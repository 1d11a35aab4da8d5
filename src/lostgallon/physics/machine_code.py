"""Machine code of plain Python loops: made once in another process and kept in a folder.

The compiler is imported here and nowhere else, and only when asked for.
"""

import subprocess
import sys
import threading
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from typing import Any

_FOLDER_CHOSEN = threading.Lock()  # the compiler knows one folder at a time
_PACKAGES = Path(__file__).parents[2]
_ELSEWHERE = """
import sys, pathlib, importlib
sys.path.insert(0, sys.argv[1])
getattr(importlib.import_module(sys.argv[2]), sys.argv[3])(pathlib.Path(sys.argv[4]))
"""


def compiled(function: Callable[..., None], folder: Path) -> Callable[..., None]:
    """The function as machine code; the first call compiles it, or loads it from the folder.

    Args:
        function: Loops over arrays, with no option of its own.
        folder: Where machine code is kept; made if need be.
    """
    import numba  # noqa: PLC0415 - takes half a second; only who asks for machine code waits for it

    settings: Any = numba.config
    folder.mkdir(parents=True, exist_ok=True)
    with _FOLDER_CHOSEN:
        before, settings.CACHE_DIR = settings.CACHE_DIR, str(folder)
        try:
            fast: Callable[..., None] = numba.njit(cache=True, nogil=True, error_model="numpy")(function)
        finally:
            settings.CACHE_DIR = before
    return fast


def in_background(folder: Path, *, make: Callable[[Path], object], take: Callable[[Path], None]) -> threading.Thread:
    """Bring machine code into use; nobody waits, and a trouble on the way leaves NumPy in use.

    Args:
        folder: Where machine code is kept.
        make: A function of a module that compiles into the folder; called in another process where it is empty.
        take: Loads from the folder and takes it into use, in this process.

    Returns:
        The thread that does it.
    """

    def bring() -> None:
        if find_spec("numba") is None:  # the extra `fast` is not installed
            return
        if not any(folder.glob("**/*.nbi")) and not made_elsewhere(folder, make):
            return
        try:
            take(folder)
        except (ImportError, OSError, RuntimeError):
            return

    thread = threading.Thread(target=bring, daemon=True, name=f"compile {make.__module__}")
    thread.start()
    return thread


def made_elsewhere(folder: Path, make: Callable[[Path], object]) -> bool:
    """Compile in another process: a compiler holds the interpreter for seconds, and this one stays free to answer."""
    command = [sys.executable, "-c", _ELSEWHERE, str(_PACKAGES), make.__module__, make.__qualname__, str(folder)]
    made = subprocess.run(command, check=False, capture_output=True)  # noqa: S603 - our own code, no outside text
    return made.returncode == 0
