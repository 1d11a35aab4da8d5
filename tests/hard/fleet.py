"""Fleets with a known truth: `PYTHONPATH=src:. python tests/hard/fleet.py [--vehicles N]`. Prints Markdown for docs/fleet.md.

Steps, drifts, thefts, halved use, bad rows, a shared cold spell, a region's winter, a body's winter: false flags
against the stated rate, and power by kind of loss.
"""

import argparse
import tempfile
import time
from pathlib import Path

import numpy as np

from lostgallon.fleet.screening import Asked, screen
from tests.fleet.made import LOST, made_fleet

FLEETS = {
    "steps of 18 %, use halved in 5 %": {"lost": 0.05, "moved": 0.05, "bad": 0.01},
    "steps of 10 %": {"lost": 0.05, "moved": 0.05, "rise": 0.10, "bad": 0.01},
    "drifts to 27 %, thefts of 45 % in one tank of three": {"lost": 0.0, "drift": 0.04, "theft": 0.04, "moved": 0.03, "bad": 0.01},
    "a shared cold month, a region's winter, a body's winter, steps of 18 %": {
        "lost": 0.03, "moved": 0.03, "cold_spell": 0.10, "north": 0.10, "body": 0.05, "bad": 0.01,
    },
    "nothing at all": {"lost": 0.0, "moved": 0.0, "bad": 0.01},
}  # fmt: skip
RATES = (0.05, 0.20)


def screened(path, rate):
    asked = Asked((path,), 1.0, "USD", rate=rate)
    return screen(asked, clock=time.monotonic, told=lambda _what, _done, _total: None).record


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--vehicles", type=int, default=2000)
    vehicles = parser.parse_args().vehicles
    print("| fleet | rate | flagged | false, expected | false, true | of these use halved | found, by kind |")
    print("|---|---|---|---|---|---|---|")
    for seed, (name, how) in enumerate(FLEETS.items()):
        frame, truth = made_fleet(np.random.default_rng(60 + seed), vehicles, **how)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "fleet.parquet"
            frame.write_parquet(path)
            found = {rate: screened(path, rate) for rate in RATES}
        for rate, record in found.items():
            names = {each.vehicle for each in record.flagged}
            wrong = [name for name in names if truth[name] not in LOST]
            halved = sum(truth[name] == "use" for name in wrong)
            power = []
            for kind in LOST:
                those = {vehicle for vehicle, what in truth.items() if what == kind}
                power += [f"{kind} {len(those & names)} of {len(those)}"] if those else []
            print(
                f"| {name} | {rate} | {len(names)} | {record.expected_false:.1f} | {len(wrong)} | {halved} | {', '.join(power)} |",
                flush=True,
            )


if __name__ == "__main__":
    main()
