"""Made-up frames by the ten thousand: `python -m tests.hard.port --frames 20000`.

Counts frames thrown at whole sessions (discovery, the memory in one press, a recording), the longest session, and what
left. Ends with an error if anything crashed, took too long, or was no read.
"""

import argparse
import tempfile
from pathlib import Path

import numpy as np

from tests.port.garble import session

LONGEST_S = 60.0


def main():
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--frames", type=int, default=20_000)
    asked.add_argument("--first", type=int, default=0, help="number of the first session")
    wanted = asked.parse_args()
    made, rows, number, longest_s = 0, 0, wanted.first, 0.0
    with tempfile.TemporaryDirectory() as folder:
        while made < wanted.frames:
            rng = np.random.default_rng(number)
            count, lines, seconds = session(rng, Path(folder), share=float(rng.choice([0.1, 0.5, 2.0, 6.0])))
            made, rows, number, longest_s = made + count, rows + lines, number + 1, max(longest_s, seconds)
            assert seconds < LONGEST_S, f"session {number - 1} took {seconds:.0f} s of processor time"
    print(f"{made} made-up frames in {number - wanted.first} sessions: no crash, no hang; {rows} lines recorded")
    print(f"longest session {longest_s:.1f} s of processor time; nothing left but reads")


if __name__ == "__main__":
    main()
