"""For programs that stay: bring the compiled physics into use in the background."""

import threading
from pathlib import Path

from lostgallon.physics.compiled import start_compiling


def quicken(folder: Path) -> threading.Thread:
    """Start it; nobody waits, and every answer keeps its digits.

    Args:
        folder: Where machine code is kept.

    Returns:
        The thread that does it.
    """
    return start_compiling(folder)
