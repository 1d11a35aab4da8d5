"""How often a fault of a stated size is found in made-up drives, and how often one is claimed that is not there."""

import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from lostgallon.drives.evidence import SPEAKS_FOR
from lostgallon.drives.vehicle import RoadLoad, Subject
from lostgallon.drives.verdict import drive_verdict, road_load_shown
from lostgallon.readers.drives import read_drive

from . import synthetic

WATCHED = (
    "thermostat_stuck_open",
    "torque_converter_clutch_off",
    "vacuum_leak",
    "air_flow_sensor_biased",
    "dragging_brake",
)
SIZES = {
    "sound": {},
    "thermostat_stuck_open": {"thermostat_open": True},
    "torque_converter_clutch_off": {"slip_rpm": 150.0},
    "vacuum_leak": {"leak_share_of_idle": 0.08},
    "air_flow_sensor_biased": {"meter_error": -0.12},
    "dragging_brake": {"drag_n": 40.0},
}
"""The fault put in, by the cause that should be named for it."""


@dataclass(frozen=True)
class Outcome:
    """One made-up drive: the fault in it, what was claimed, and how distance and fuel came out."""

    fault: str
    claimed: frozenset
    others: frozenset
    first: str
    distance_error: float
    fuel_inside: bool
    rate_hz: float
    ratios: dict


def one_drive(fault, number, *, known="certified", seed=0):
    """Make, write, read and judge one drive.

    Args:
        fault: A key of SIZES.
        number: Which drive.
        known: How the sound vehicle's road load is known: `certified` within 3 %, by its `kind` (mass and body) within
            7.3 %, or by its `own` coast-downs on an earlier drive without the fault, on another day and road.
        seed: Another set of drives.
    """
    rng = np.random.default_rng([seed, number, sorted(SIZES).index(fault)])
    vehicle = synthetic.faulty(synthetic.make(rng), **SIZES[fault])
    # An open thermostat shows in cold air; the others are drawn over the year.
    ambient_c = float(rng.uniform(-12.0, 15.0 if fault == "thermostat_stuck_open" else 30.0))
    signals = synthetic.drive(vehicle, rng, ambient_c=ambient_c)
    rate_hz = float(np.exp(rng.uniform(np.log(0.5), np.log(10.0))))
    with tempfile.TemporaryDirectory() as folder:
        path = synthetic.write_log(Path(folder) / "drive.csv", signals, rng, rate_hz=rate_hz)
        told = subject(vehicle, rng, certified=known == "certified")
        if known == "own":
            earlier = synthetic.drive(
                synthetic.faulty(vehicle, drag_n=0.0), rng, ambient_c=float(rng.uniform(0.0, 30.0))
            )
            before = synthetic.write_log(Path(folder) / "before.csv", earlier, rng, rate_hz=rate_hz)
            told = replace(told, road_load=road_load_shown(read_drive(before), told))
        verdict = drive_verdict(read_drive(path), told)
    claims = [one.cause for one in verdict.pattern if one.likelihood_ratio >= SPEAKS_FOR]
    fuel = verdict.fuel_l
    return Outcome(
        fault=fault,
        claimed=frozenset(claims) & frozenset(WATCHED),
        others=frozenset(claims) - frozenset(WATCHED),
        first=claims[0] if claims else "",
        distance_error=verdict.distance_km * 1000.0 / signals.distance_m - 1.0,
        fuel_inside=fuel is not None and fuel.p05 <= signals.fuel_l <= fuel.p95,
        rate_hz=rate_hz,
        ratios={one.cause: one.likelihood_ratio for one in verdict.pattern if one.cause in WATCHED},
    )


def subject(vehicle, rng, *, certified):
    """What the program is told: mass within 2 %, road load within 3 % of the truth, or only within 7.3 %."""
    sd = 0.03 if certified else 0.073
    off = float(np.exp(rng.normal(0.0, 0.02 if certified else 0.073)))
    load = RoadLoad(vehicle.f0_n * off, vehicle.f2_n * off, sd, "its certified road load" if certified else "its kind")
    mass_kg = vehicle.mass_kg * float(1.0 + rng.normal(0.0, 0.01))
    # The case gives the elevation: 98 kPa at 280 m.
    return Subject(vehicle.displacement_l, "natural", mass_kg, "automatic", load, outside_pa=98_000.0)
