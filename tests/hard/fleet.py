"""Fleets with a known truth: `PYTHONPATH=src:. python tests/hard/fleet.py [--vehicles N]`. Prints Markdown for docs/fleet.md.

Steps, drifts, thefts, halved use, bad rows, slips, a shared cold spell, a region's winter, a body's winter: false flags
against the stated rate, and power by kind of loss; then the power of one log alone and of the same log in its fleet at
the same threshold and at the same rate of false alarms.
"""

import argparse
import tempfile
import time
from pathlib import Path

import numpy as np
import polars as pl

from lostgallon.fillups.posterior import weigh
from lostgallon.fillups.prior import ALARM, SeasonPrior
from lostgallon.fillups.tanks import stack, tanks_of_log
from lostgallon.fleet.discoveries import flagged
from lostgallon.fleet.screening import Asked, screen
from lostgallon.readers.fills import read_fills_text
from tests.fleet.made import LOST, made_fleet

FLEETS = {
    "steps of 18 %, use halved in 5 %": {"lost": 0.05, "moved": 0.05, "bad": 0.01},
    "steps of 18 %, use halved in 20 %": {"lost": 0.05, "moved": 0.20, "bad": 0.01},
    "steps of 10 %": {"lost": 0.05, "moved": 0.05, "rise": 0.10, "bad": 0.01},
    "drifts to 27 %, thefts of 45 % in one tank of three": {"lost": 0.0, "drift": 0.04, "theft": 0.04, "moved": 0.03, "bad": 0.01},
    "the same, and slips in one row of 250": {"lost": 0.0, "drift": 0.04, "theft": 0.04, "moved": 0.03, "bad": 0.01, "slips": 0.004},
    "slips in one row of 50, nothing lost": {"lost": 0.0, "moved": 0.0, "slips": 0.02},
    "a shared cold month, a region's winter, a body's winter, steps of 18 %": {
        "lost": 0.03, "moved": 0.03, "cold_spell": 0.10, "north": 0.10, "body": 0.05, "bad": 0.01,
    },
    "falls of 18 % in 5 %, nothing lost": {"lost": 0.05, "rise": -0.18, "moved": 0.0},
    "nothing at all": {"lost": 0.0, "moved": 0.0, "bad": 0.01},
}  # fmt: skip
RATES = (0.05, 0.20)
RISES = (0.05, 0.10, 0.15)
LIKE = {"lost": 0.10, "moved": 0.0}
"""More would be what the whole fleet does, and taken out."""


def screened(frame):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "fleet.parquet"
        frame.write_parquet(path)
        asked = Asked((path,), 1.0, "USD")
        return screen(asked, clock=time.monotonic, told=lambda _what, _done, _total: None).ranking


def by_kind(names, truth):
    found = []
    for kind in LOST:
        those = {vehicle for vehicle, what in truth.items() if what == kind}
        found += [f"{kind} {len(those & names)} of {len(those)}"] if those else []
    return ", ".join(found)


def fleets(vehicles):
    print("| fleet | list | rate | named | false, expected | false, true | of these use halved | found, by kind |")
    print("|---|---|---|---|---|---|---|---|")
    for seed, (name, how) in enumerate(FLEETS.items()):
        frame, truth = made_fleet(np.random.default_rng(60 + seed), vehicles, **how)
        ranking = screened(frame)
        for what, chance in (("uses more", ranking.rise), ("single tanks", ranking.far_above)):
            for rate in RATES:
                chosen = flagged(chance, rate)
                names = set(ranking.names.filter(pl.Series(chosen)))
                wrong = [each for each in names if truth[each] not in (LOST if what == "uses more" else ("theft",))]
                halved = sum(truth[each] == "use" for each in wrong)
                expected = (1.0 - chance[chosen]).sum()
                told = (name, what, rate, len(names), f"{expected:.1f}", len(wrong), halved, by_kind(names, truth))
                if names or rate == min(RATES):
                    print("|", *(f"{each} |" for each in told), flush=True)


def alone(frame):
    """The chance of a rise of each vehicle by its own log, at even odds, with the season that one log is given."""
    found = {}
    for (name,), own in frame.group_by("vehicle", maintain_order=True):
        log = tanks_of_log(read_fills_text(own.select("date", "odometer_km", "volume_L").write_csv()))
        found[name] = float(weigh(stack([log]), SeasonPrior()).vehicle_rise[0])
    return found


def power(vehicles):
    print("\n| rise | one log alone: false alarms | power | in its fleet, even odds: false alarms | power |", end="")
    print(" in its fleet, at the log's false alarms: power | at rate .05 | at rate .20 |")
    print("|---|---|---|---|---|---|---|---|")
    for seed, rise in enumerate(RISES):
        frame, truth = made_fleet(np.random.default_rng(90 + seed), vehicles, rise=rise, **LIKE)
        ranking = screened(frame)
        names = ranking.names.to_list()
        own = alone(frame)
        single = np.array([own[name] for name in names])
        even = ranking.column["vehicle_rise"]
        lost = np.array([truth[name] == "step" for name in names])
        same = np.quantile(even[~lost], 1.0 - np.mean(single[~lost] >= ALARM))
        chosen = [single >= ALARM, even >= ALARM, even > same]
        chosen += [flagged(ranking.rise, rate) for rate in RATES]
        told = [f"+{100 * rise:.0f} %"]
        told += [f"{each.mean():.3f}" for one in chosen[:2] for each in (one[~lost], one[lost])]
        told += [f"{one[lost].mean():.2f}" for one in chosen[2:]]
        print("|", *(f"{each} |" for each in told), flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--vehicles", type=int, default=2000)
    vehicles = parser.parse_args().vehicles
    fleets(vehicles)
    power(vehicles)


if __name__ == "__main__":
    main()
