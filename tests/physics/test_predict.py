"""`lostgallon predict` from the case file to the printed page."""

import json
from importlib import resources

import pytest

from lostgallon.job.settable import SETTABLE, Place, amounts_from
from lostgallon.shop.trouble import BadArgument
from tests.cli.conftest import run  # noqa: F401 - the fixture that runs a command
from tests.physics.cast import WAGON

CASE = resources.files("lostgallon.data.demo").joinpath("two-faults.toml")
KEYS = [
    "rolling",
    "aero",
    "inertia",
    "idle",
    "friction",
    "warm_up",
    "electrical",
    "driveline",
]  # keys of predict --json


@pytest.fixture
def predict(run, tmp_path):  # noqa: F811 - the fixture
    return lambda *arguments: run("predict", CASE, "--cache", tmp_path / "kept", *arguments)


def test_the_parts_add_up_to_the_fuel(predict):
    for way in predict("--over", "city,highway,aggressive,short_trip", "--json").json["over"]:
        assert list(way["energy_split"]) == KEYS
        assert sum(way["energy_split"].values()) == pytest.approx(way["l_per_100km"]["mean"], rel=1e-9)


def test_a_warm_vehicle_has_no_warm_up(predict):
    city, trip = predict("--over", "city,short_trip", "--json").json["over"]
    assert city["energy_split"]["warm_up"] == pytest.approx(0.0, abs=1e-3)
    assert trip["energy_split"]["warm_up"] > 0.3


def test_the_schedules_have_their_published_length(predict):
    # 40 CFR part 86 appendix I and part 600: 7.45, 10.26 and 8.01 miles.
    over = predict("--over", "city,highway,aggressive", "--json").json["over"]
    assert [way["distance_km"] / 1.609344 for way in over] == pytest.approx([7.45, 10.26, 8.01], abs=0.01)


def test_a_kept_calibration_says_the_same(predict, tmp_path):
    first, again = predict("--json").out, predict("--json").out
    assert first == again
    assert len(list((tmp_path / "kept").iterdir())) == 1


def test_a_damaged_kept_calibration_is_made_anew(predict, tmp_path):
    first = predict("--json").out
    (kept,) = (tmp_path / "kept").iterdir()
    kept.write_bytes(kept.read_bytes()[:500])
    assert predict("--json").out == first


def test_a_trace_of_the_city_schedule_is_the_city_schedule(predict, tmp_path):
    text = resources.files("lostgallon.data.schedules").joinpath("city.csv").read_text("utf-8")
    rows = [line.split(",") for line in text.splitlines()[2:]]
    trace = tmp_path / "drive.csv"
    trace.write_text("time_s,speed_m_s\n" + "\n".join(f"{time},{float(mph) * 0.44704!r}" for time, mph in rows))
    (found,) = predict("--trace", trace, "--json").json["over"]
    (city,) = predict("--over", "city", "--json").json["over"]
    shares = [way["energy_split"]["aero"] / way["l_per_100km"]["mean"] for way in (found, city)]
    assert shares[0] == pytest.approx(shares[1], rel=1e-3)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("time,speed_m_s\n0,1\n1,1", "line 1: found the columns time, speed_m_s"),
        ("time_s,speed_m_s\n0,1\n0,2", "line 3: found time 0 s after 0 s"),
        ("time_s,speed_m_s\n0,1\n1,fast", "line 3: found 'fast'"),
        ("time_s,speed_m_s\n0,1\n1,-4", "line 3: found a speed of -4 m/s"),
        ("time_s,speed_m_s\n0,1", "found 1 rows"),
        ("time_s,speed_m_s\n0,0\n9,0", "found a trace that never moves"),
        ("", "found an empty file"),
    ],
)
def test_a_bad_trace_is_answered_with_one_line(predict, tmp_path, rows, said):
    trace = tmp_path / "drive.csv"
    trace.write_text(rows)
    ran = predict("--trace", trace)
    assert ran.status == 2
    assert said in ran.line


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("tire_presure=27psi", "did you mean tire_pressure?"),
        ("tire_pressure", "expected name=value"),
        ("tire_pressure=27", "without a unit"),
        ("tire_pressure=2 km", "the unit 'km'"),
        ("road=snowy", "did you mean snow?"),
        ("misfire=80 %", "expected 0 to 0.5"),
    ],
)
def test_a_condition_that_cant_be_set_is_answered_with_one_line(predict, typed, said):
    assert said in predict("--set", typed).line


def test_low_tires_cost_fuel_and_a_way_misspelled_is_answered(predict):
    (good,) = predict("--over", "highway", "--json").json["over"]
    (low,) = predict("--over", "highway", "--set", "tire_pressure=25psi", "--json").json["over"]
    assert low["l_per_100km"]["mean"] > good["l_per_100km"]["mean"]
    assert "did you mean highway?" in predict("--over", "higway").line


def test_the_page_fits_eighty_columns_and_says_where_the_fuel_goes(predict):
    told = predict("--over", "city,highway,aggressive,short_trip")
    assert max(len(line) for line in told.out.splitlines()) <= 80
    assert "WHERE THE FUEL GOES" in told.out


def test_every_settable_name_moves_a_known_condition():
    examples = {"pressure": "30 psi", "temperature": "70 degC"}
    for name, settable in SETTABLE.items():
        value = list(settable.words)[-1] if settable.words else examples.get(settable.kind)
        typed = f"{name}={value or '1 ' + BASE[settable.kind]}"
        assert amounts_from((typed,), Place(WAGON, 30.0)), name


BASE = {
    "share": "%", "area": "m^2", "force": "N", "mass": "kg", "power": "W", "time": "s",
    "speed": "m/s", "length": "m", "temperature step": "K",
}  # fmt: skip


def test_conditions_of_different_names_add_up():
    found = amounts_from(("load=100 kg", "trailer=500 kg"), Place(WAGON, 20.0))
    assert found["mass_kg"] == pytest.approx(600.0)


def test_an_elevation_is_counted_from_the_case():
    with pytest.raises(BadArgument, match="-3000 to 4500 m"):
        amounts_from(("elevation=9000 m",), Place(WAGON, 20.0))


def test_json_is_alone_on_standard_output(predict):
    ran = predict("--json")
    assert json.loads(ran.out)["schema"] == "lostgallon/1"
    assert ran.err == ""
