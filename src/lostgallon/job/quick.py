"""For programs that stay: bring compiled physics and fill-up sums into use in the background."""

import threading
from pathlib import Path

from lostgallon.fillups import compiled as fillups
from lostgallon.physics import compiled as physics


def quicken(folder: Path) -> tuple[threading.Thread, ...]:
    """Start it; nobody waits, and every answer stays the same.

    Args:
        folder: Where machine code is kept.

    Returns:
        The threads that do it.
    """
    return physics.start_compiling(folder), fillups.start_compiling(folder)
