"""Measurements of speed and memory, one module a room; `python -m benchmarks` runs them all, from a plain clone too."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "src"))
