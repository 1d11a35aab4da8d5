"""From a fault in a vehicle to what the program says of it, through frames, a log and the drive's sayings."""

import json
import signal

import numpy as np
import pytest

from drives import synthetic
from lostgallon.cli.recording import _keyboard
from lostgallon.drives.vehicle import Subject
from lostgallon.drives.verdict import drive_verdict
from lostgallon.port.simulated import SimulatedDrive
from lostgallon.readers.drives import read_drive
from tests.port.bench import Bent, recorded, vehicle

CLAIMED = 4.0
FAULTS = {
    "none": synthetic.Faults(),
    "thermostat": synthetic.Faults(thermostat_open=True),
    "leak": synthetic.Faults(leak_share_of_idle=0.12),
}
# The names of the independent simulation for channels that the port sends.
SENT = {
    "speed": "speed_m_s", "rpm": "rpm", "coolant": "coolant_c", "intake": "intake_air_c", "ambient": "ambient_c",
    "load": "load_pct", "air": "air_flow_g_s", "pedal": "pedal_pct", "status": "fuel_status", "voltage": "voltage_v",
    "short_1": "short_trim_1_pct", "long_1": "long_trim_1_pct", "short_2": "short_trim_2_pct", "long_2": "long_trim_2_pct",
    "barometer": "barometer_pa",
}  # fmt: skip


def said_of(fault, number, path):
    """A drive of the independent simulation (tests/drives/synthetic.py), recorded at the port and judged."""
    rng = np.random.default_rng(number)
    made = synthetic.make(rng, FAULTS[fault])
    signals = synthetic.drive(made, rng, ambient_c=2.0, coasts=1)
    drive = SimulatedDrive(
        signals.time_s, {SENT[name]: values for name, values in signals.values.items() if name in SENT}
    )
    done = recorded(Bent(vehicle(drive, delay_s=0.12)), path / f"{fault}.csv")
    verdict = drive_verdict(read_drive(path / f"{fault}.csv"), Subject(displacement_l=made.displacement_l))
    return signals, done, verdict


@pytest.mark.parametrize(
    ("fault", "cause"), [("thermostat", "thermostat_stuck_open"), ("leak", "vacuum_leak"), ("none", None)]
)
def test_a_fault_of_the_independent_simulation_is_named(fault, cause, tmp_path):
    signals, done, verdict = said_of(fault, 5, tmp_path)
    claimed = {one.cause: one.likelihood_ratio for one in verdict.pattern if one.likelihood_ratio >= CLAIMED}
    assert (max(claimed, key=claimed.get) if claimed else None) == cause
    assert done.seconds == pytest.approx(signals.time_s[-1], abs=2.0)
    # The speed comes in whole km/h and several times a second: the distance holds within half a per cent.
    assert verdict.distance_km == pytest.approx(signals.distance_m / 1000.0, rel=0.005)
    assert verdict.fuel_l.p05 * 0.95 < signals.fuel_l < verdict.fuel_l.p95 * 1.05


@pytest.mark.parametrize(
    ("channel", "cause"),
    [
        ("demo", "thermostat stuck open"),
        ("demo-leak", "vacuum leak"),
        ("demo-sound", "Nothing here speaks for a fault"),
    ],
)
def test_the_command_records_and_names_it(run, channel, cause, tmp_path):
    """The physics of the program with an injected fault, from the command line."""
    log = tmp_path / "drive.csv"
    ran = run("drive", log, "--from-port", channel)
    assert ran.status == 0
    assert cause in " ".join(ran.out.split())
    assert "exhaust extraction" in ran.err
    assert "clear of the pedals" in ran.err
    assert log.with_suffix(".raw.csv").exists()
    again = run("drive", log, "--json")
    named = [one["cause"] for one in json.loads(again.out)["pattern"] if one["likelihood_ratio"] >= CLAIMED]
    assert {"demo": "thermostat_stuck_open", "demo-leak": "vacuum_leak"}.get(channel) == (named[0] if named else None)


def test_a_recording_overwrites_nothing(run, tmp_path):
    log = tmp_path / "drive.csv"
    log.write_text("mine", "utf-8")
    ran = run("drive", log, "--from-port", "demo")
    assert ran.status == 2
    assert "there already" in ran.line
    assert log.read_text("utf-8") == "mine"


def test_the_keyboard_ends_a_recording_and_not_the_program(request):
    # A run in the background of a shell starts with the keyboard ignored.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    request.addfinalizer(lambda: signal.signal(signal.SIGINT, before))
    with _keyboard() as stop:
        assert not stop.is_set()
        signal.raise_signal(signal.SIGINT)
        assert stop.is_set()
    with pytest.raises(KeyboardInterrupt):
        signal.raise_signal(signal.SIGINT)
