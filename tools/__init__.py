"""Scripts that make data files, pages and pictures or check them, from a plain clone too; the package imports none."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "src"))
