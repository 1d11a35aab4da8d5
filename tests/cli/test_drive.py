"""`lostgallon drive` as a person runs it: one reading in one command, or one clear line."""

import json

import asammdf
import numpy as np
import pytest

from drives import synthetic
from lostgallon.drives.vehicle import Subject
from lostgallon.drives.verdict import drive_verdict
from lostgallon.readers.drives import read_drive

KEYS = {
    "schema", "duration_s", "distance_km", "fuel_l", "l_per_100km", "idle", "warm_up", "trims", "pattern", "lock_up",
    "coast_downs", "columns", "rejected",
}  # fmt: skip


@pytest.fixture(scope="module")
def recorded(tmp_path_factory):
    """A stranger's log: an open thermostat, 2 Hz, German headings and decimal commas."""
    rng = np.random.default_rng(20)
    vehicle = synthetic.faulty(synthetic.make(rng), thermostat_open=True)
    signals = synthetic.drive(vehicle, rng, ambient_c=2.0)
    path = tmp_path_factory.mktemp("log") / "fahrt.csv"
    return synthetic.write_log(path, signals, rng, rate_hz=2.0, style=3)


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    rng = np.random.default_rng(21)
    signals = synthetic.drive(synthetic.make(rng), rng, ambient_c=12.0)
    return synthetic.write_log(tmp_path_factory.mktemp("log") / "sound.csv", signals, rng, rate_hz=1.0, style=0)


def test_json_has_the_keys_that_others_rely_on(run, recorded):
    ran = run("drive", recorded, "--json")
    assert ran.status == 0
    assert ran.json.keys() >= KEYS
    assert {"taken_as", "heading", "unit", "why"} == ran.json["columns"][0].keys()
    assert {"mean", "p05", "p50", "p95"} == ran.json["fuel_l"].keys()
    assert all(one["why"] for one in ran.json["columns"])


def test_trims_have_their_keys(run, sound):
    trims = run("drive", sound, "--json").json["trims"]
    assert {"bank", "region", "short_pct", "long_pct", "total_pct", "samples"} == trims[0].keys()


def test_a_sound_drive_speaks_for_no_fault(run, sound):
    ran = run("drive", sound)
    assert "Nothing here speaks for a fault" in " ".join(ran.out.split())
    assert "FUEL TRIM" in ran.out


def test_the_fault_is_named_in_words(run, recorded):
    ran = run("drive", recorded)
    assert ran.status == 0
    assert "thermostat stuck open" in ran.out
    assert max(len(line) for line in ran.out.splitlines()) <= 80
    assert not set("≥≈→") & set(ran.out)


def test_caution_stands_before_the_pictures(run, recorded):
    out = run("drive", recorded).out
    assert out.index("CAUTION") < out.index("WARM-UP")


def test_a_case_file_gives_displacement_and_weight(run, recorded, tmp_path):
    case = tmp_path / "case.toml"
    case.write_text(CASE, "utf-8")
    with_case = run("drive", recorded, "--vehicle", case, "--json").json
    assert with_case["coast_downs"]
    assert with_case["coast_downs"][0]["extra_drag_n"]["p05"] < with_case["coast_downs"][0]["extra_drag_n"]["p95"]
    without = run("drive", recorded, "--json").json
    assert without["coast_downs"] == []
    assert any("weight" in one["missing"] for one in without["not_enough"])


def test_columns_file_written_edited_and_read(run, recorded, tmp_path):
    columns = tmp_path / "map.toml"
    assert run("drive", recorded, "--write-columns", columns).status == 0
    assert 'taken_as = "coolant_c"' in columns.read_text("utf-8")
    same = run("drive", recorded, "--columns", columns, "--json").json
    assert same["distance_km"] == pytest.approx(run("drive", recorded, "--json").json["distance_km"])
    assert all("columns file" in one["why"] for one in same["columns"][1:])


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('taken_as = "coolant_c"', 'taken_as = "coolent_c"', "did you mean coolant_c"),
        ('unit = "km/h"', 'unit = "furlongs"', "km/h, mi/h or m/s"),
        ("Geschwindigkeit", "Geschwindigkeiten", "a heading of the log"),
        ('taken_as = "coolant_c"', 'taken_as = "rpm"', "second time"),
        ("[[column]]", "[[spalte]]", "no [[column]] tables"),
        ("[[column]]", "[[column", "TOML"),
    ],
)
def test_a_wrong_columns_file_gives_one_line(run, recorded, tmp_path, old, new, said):
    columns = tmp_path / "map.toml"
    run("drive", recorded, "--write-columns", columns)
    columns.write_text(columns.read_text("utf-8").replace(old, new), "utf-8")
    ran = run("drive", recorded, "--columns", columns)
    assert ran.status == 2
    assert said in ran.line


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--from-port", "can 0"), "expected a channel"),
        ((), "expected a log"),
        (("nowhere.csv",), "no such file"),
        (("nowhere.mf4",), "no such file"),
    ],
)
def test_what_can_not_be_used_gives_one_line(run, arguments, said):
    ran = run("drive", *arguments)
    assert ran.status == 2
    assert said in ran.line


def test_open_unit_of_speed_is_asked_once(run, tmp_path):
    log, columns = tmp_path / "log.csv", tmp_path / "map.toml"
    lines = ["Time (s),Speed,Coolant (degF),RPM", *(f"{at},{30.3 + at % 9:.1f},190,1800" for at in range(60))]
    log.write_text("\n".join(lines), "utf-8")
    ran = run("drive", log)
    assert ran.status == 2
    assert "--write-columns" in ran.line
    assert "mi/h" in ran.line
    run("drive", log, "--write-columns", columns)
    text = columns.read_text("utf-8")
    assert 'taken_as = "speed_m_s"\nunit = ""' in text
    columns.write_text(text.replace('unit = ""   # open', 'unit = "mph"   # open'), "utf-8")
    assert run("drive", log, "--columns", columns).status == 0


def test_mdf_reads_as_the_same_drive(tmp_path):
    time = np.arange(0.0, 120.0, 0.5)
    mdf = asammdf.MDF(version="4.10")
    for name, unit, values, stamps in (
        ("Vehicle speed", "km/h", np.full(len(time), 72.0), time),
        ("Engine speed", "rpm", np.full(60, 1800.0), time[::4]),
        ("Mass air flow", "g/s", np.full(len(time), 10.0), time + 0.1),
    ):
        mdf.append(asammdf.Signal(samples=values, timestamps=stamps, name=name, unit=unit))
    path = mdf.save(tmp_path / "drive.mf4")
    mdf.close()
    log = read_drive(path)
    verdict = drive_verdict(log, Subject())
    # 20 m/s for 119.5 s; 10 g/s of air for as long
    assert verdict.distance_km == pytest.approx(2.39, rel=0.01)
    assert verdict.fuel_from == "air flow"
    assert json.dumps([one.taken_as for one in log.columns]) == '["time_s", "speed_m_s", "rpm", "air_flow_g_s"]'


CASE = """
[visit]
date = 2026-01-15
[vehicle]
body = "wagon"
propulsion = "gasoline"
model_year = 2011
curb_weight = "3650 lb"
displacement = "2.3 L"
cylinders = 4
induction = "natural"
injection = "port"
drive = "2wd"
transmission = "automatic"
odometer = "131000 mi"
[use]
distance_per_year = "11000 mi"
trip = "4 mi"
highway_share = 0.15
fuel_price = "3.35 USD/gal"
[then]
economy = "23 mpg"
basis = "owner's memory"
ambient = "72 degF"
[now]
economy = "19.5 mpg"
basis = "trip display"
ambient = "28 degF"
"""


def test_a_stretch_marked_by_hand_and_an_earlier_drive_to_compare_with(run, tmp_path):
    case = tmp_path / "case.toml"
    case.write_text(CASE, "utf-8")
    rng = np.random.default_rng(4)
    vehicle = synthetic.make(rng)
    logs = [
        synthetic.write_log(tmp_path / f"{name}.csv", synthetic.drive(made, rng, ambient_c=18.0), rng, rate_hz=2.0)
        for name, made in (("before", vehicle), ("after", synthetic.faulty(vehicle, drag_n=60.0)))
    ]
    said = run("drive", logs[1], "--vehicle", case, "--against", logs[0], "--json").json
    assert "its own coast-down in before.csv" in said["coast_downs"][0]["says"]
    assert said["coast_downs"][0]["extra_drag_n"]["p05"] > 0.0
    assert "no --vehicle" in run("drive", logs[1], "--against", logs[0]).line
    assert "12-9" in run("drive", logs[1], "--vehicle", case, "--coast", "12-9").line
    assert "coasting marked 0:01-0:03" in run("drive", logs[1], "--vehicle", case, "--coast", "1-3").line
