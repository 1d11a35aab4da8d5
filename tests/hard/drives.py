"""The long table of docs/drives.md: detection and false alarms on random drives, at 0.5 to 10 Hz, with noise.

    python tests/hard/drives.py [--drives 200] [--known certified] [--faults sound,dragging_brake]

--known says how the sound vehicle's road load is known: certified, by its kind (mass and body alone), or by its own
coast-downs on an earlier drive.
"""

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2] / "src")]

import numpy as np  # noqa: E402 - the two folders above come first

from drives.reliability import SIZES, WATCHED, one_drive  # noqa: E402 - the same
from lostgallon.drives.evidence import SPEAKS_FOR  # noqa: E402 - the same


def _one(job):
    fault, number, known = job
    return one_drive(fault, number, known=known)


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("--drives", type=int, default=200)
    ask.add_argument("--known", choices=("certified", "kind", "own"), default="certified")
    ask.add_argument("--faults", default=",".join(SIZES))
    asked = ask.parse_args()
    faults = asked.faults.split(",")
    jobs = [(fault, number, asked.known) for fault in faults for number in range(asked.drives)]
    with ProcessPoolExecutor(2) as pool:
        outcomes = list(pool.map(_one, jobs, chunksize=8))
    print(f"{asked.drives} drives a row; a cause is claimed at a likelihood ratio of {SPEAKS_FOR:.0f} or more\n")
    print(f"{'fault put in':<30}" + "".join(f"{cause[:13]:>15}" for cause in WATCHED) + f"{'named first':>13}")
    for fault in faults:
        rows = [one for one in outcomes if one.fault == fault]
        shares = [np.mean([cause in one.claimed for one in rows]) for cause in WATCHED]
        first = (
            np.mean([one.first == fault for one in rows])
            if fault != "sound"
            else np.mean([not one.first for one in rows])
        )
        print(f"{fault:<30}" + "".join(f"{100 * share:>13.1f} %" for share in shares) + f"{100 * first:>11.1f} %")
    print("\nother causes claimed:")
    for fault in faults:
        rows = [one for one in outcomes if one.fault == fault]
        counts = {}
        for one in rows:
            for cause in one.others:
                counts[cause] = counts.get(cause, 0) + 1
        said = ", ".join(f"{cause} {100 * count / len(rows):.1f} %" for cause, count in sorted(counts.items()))
        print(f"  {fault:<30}{said or 'none'}")
    print("\nmean ratio where the cause is not in (calibrated: about 1 or less), median where it is:")
    for cause in WATCHED:
        without = [one.ratios.get(cause, 1.0) for one in outcomes if one.fault != cause]
        within = [one.ratios.get(cause, 1.0) for one in outcomes if one.fault == cause]
        print(f"  {cause:<30}{np.mean(without):>6.2f}{np.median(within) if within else np.nan:>8.1f}")
    errors = np.array([one.distance_error for one in outcomes])
    print(f"\ndistance: mean error {100 * errors.mean():+.2f} %, worst {100 * np.abs(errors).max():.2f} %")
    print(f"fuel: the 90 % interval holds the truth in {100 * np.mean([one.fuel_inside for one in outcomes]):.1f} %")


if __name__ == "__main__":
    main()
