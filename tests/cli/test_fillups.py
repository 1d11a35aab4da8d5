"""`lostgallon fillups` as a person runs it: verdicts on logs with a known rise, and one line for every bad log."""

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

DEMO = Path(__file__).parents[2] / "src" / "lostgallon" / "data" / "demo"
START = date(2024, 1, 6)


def write_log(path, *, tanks=60, rise_from=None, rise=0.0, back_from=None, scatter=0.03, seed=1, pace=1.0):
    """A log in miles and gallons: 20 mpg, 8 days and 280 mi a tank, winter 8 % above summer; truth as given."""
    rng = np.random.default_rng(seed)
    day, odometer, lines = START, 50000.0, ["date,odometer_mi,volume_gal", "2024-01-06,50000,14.0"]
    for tank in range(tanks):
        slow = 8 if rise_from is None or tank < rise_from else round(8 * pace)
        day += timedelta(days=int(slow + rng.integers(-1, 2)))
        distance = 280.0 + rng.normal(0, 25)
        season = 0.04 * np.cos(2 * np.pi * (day.timetuple().tm_yday - 20) / 365.25)
        lost = rise if rise_from is not None and tank >= rise_from and (back_from is None or tank < back_from) else 0.0
        odometer += distance
        volume = distance / 20.0 * (1 + lost) * np.exp(season + rng.normal(0, scatter))
        lines.append(f"{day},{odometer:.0f},{volume:.3f}")
    path.write_text("\n".join(lines))
    return [date.fromisoformat(line.split(",")[0]) for line in lines[1:]]


def test_a_rise_of_fifteen_per_cent_is_called_a_vehicle_loss(run, tmp_path):
    days = write_log(tmp_path / "log.csv", rise_from=45, rise=0.15)
    step = run("fillups", tmp_path / "log.csv", "--json").json["step"]
    assert step["says"] == "vehicle"
    assert step["probability"] > 0.9
    assert step["increase_pct"]["p05"] < 15.0 < step["increase_pct"]["p95"]
    assert date.fromisoformat(step["since"]["p05"]) <= days[46]
    assert date.fromisoformat(step["since"]["p95"]) >= days[44]


def test_a_year_and_a_half_of_scatter_and_season_is_nothing(run, tmp_path):
    write_log(tmp_path / "log.csv")
    ran = run("fillups", tmp_path / "log.csv")
    assert ran.status == 0
    assert "Nothing beyond scatter and season" in ran.out
    assert "ehicle loss" not in ran.out


def test_use_halved_is_never_called_a_vehicle_loss(run, tmp_path):
    write_log(tmp_path / "log.csv", rise_from=45, rise=0.19, pace=2.0)
    ran = run("fillups", tmp_path / "log.csv")
    assert "ehicle loss" not in ran.out
    verdict = run("fillups", tmp_path / "log.csv", "--json").json
    assert verdict["step"]["says"] in {"use changed", "either"}
    assert verdict["use_moved_pct"] < -30


def test_the_three_explanations_stand_side_by_side(run, tmp_path):
    write_log(tmp_path / "log.csv", rise_from=45, rise=0.15)
    out = run("fillups", tmp_path / "log.csv").out
    assert "THREE EXPLANATIONS" in out
    assert "the use changed" in out
    assert "more tanks" in out
    assert "pooled" in out
    assert max(map(len, out.splitlines())) <= 80


@pytest.mark.parametrize(("back_from", "says"), [(56, "came back"), (None, "did not")])
def test_proof_after_the_work(run, tmp_path, back_from, says):
    days = write_log(tmp_path / "log.csv", tanks=76, rise_from=40, rise=0.18, back_from=back_from)
    back = run("fillups", tmp_path / "log.csv", "--work-done", days[56], "--json").json["came_back"]
    assert back["says"] == says
    assert back["tanks_after"] == 20
    truth = 100.0 if back_from else 0.0
    assert back["share_pct"]["p05"] <= truth <= back["share_pct"]["p95"]


def test_with_no_whole_tank_since_the_work_it_is_too_early(run, tmp_path):
    days = write_log(tmp_path / "log.csv", tanks=50, rise_from=40, rise=0.18)
    ran = run("fillups", tmp_path / "log.csv", "--work-done", days[-1])
    assert "Too early" in ran.out
    assert "Stated in advance" in ran.out


def test_season_comes_from_temperatures_where_they_are_given(run, tmp_path):
    days = write_log(tmp_path / "log.csv", tanks=90)
    every = [days[0] + timedelta(days=n) for n in range((days[-1] - days[0]).days + 1)]
    cold = [12.0 - 14.0 * np.cos(2 * np.pi * (day.timetuple().tm_yday - 20) / 365.25) for day in every]
    lines = [f"{day},{c * 1.8 + 32:.1f}" for day, c in zip(every, cold, strict=True)]
    (tmp_path / "temps.csv").write_text("date,temperature_F\n" + "\n".join(lines))
    verdict = run("fillups", tmp_path / "log.csv", "--temperature", tmp_path / "temps.csv", "--json").json
    # by hand: 8 % between the coldest (-2 degrees C, 22 K below 20) and mild months (20 and warmer) is 3.6 % per 10 K
    slope = verdict["season_pct_per_10c"]
    assert slope["p05"] < 3.6 < slope["p95"]
    assert verdict["season_winter_over_summer_pct"] is None


def test_a_town_is_entered_once_and_found_again(run, tmp_path):
    write_log(tmp_path / "log.csv")
    months = ", ".join(f"{degrees} degF" for degrees in (23, 27, 37, 49, 60, 69, 74, 72, 64, 52, 40, 28))
    town = ("--town", "Mill Creek", "--data", tmp_path / "data")
    once = run("fillups", tmp_path / "log.csv", *town, "--months", months, "--json").json
    again = run("fillups", tmp_path / "log.csv", "--town", "mill creek", "--data", tmp_path / "data", "--json").json
    assert once["season_pct_per_10c"] == again["season_pct_per_10c"] is not None


def test_temperatures_that_miss_the_log_are_said_and_not_used(run, tmp_path):
    write_log(tmp_path / "log.csv")
    (tmp_path / "temps.csv").write_text("date,temperature_C\n2001-01-01,3\n2001-01-02,4")
    verdict = run("fillups", tmp_path / "log.csv", "--temperature", tmp_path / "temps.csv", "--json").json
    assert "temperatures_do_not_cover" in {each["name"] for each in verdict["not_enough"]}
    assert verdict["season_pct_per_10c"] is None


def test_south_of_the_equator_winter_is_in_july(run, tmp_path):
    write_log(tmp_path / "log.csv", tanks=100)
    lines = (tmp_path / "log.csv").read_text().splitlines()
    moved = [lines[0]]
    for line in lines[1:]:
        day, rest = line.split(",", 1)
        moved.append(f"{date.fromisoformat(day) + timedelta(days=183)},{rest}")
    (tmp_path / "south.csv").write_text("\n".join(moved))
    north = run("fillups", tmp_path / "log.csv", "--json").json["season_winter_over_summer_pct"]
    south = run("fillups", tmp_path / "south.csv", "--southern", "--json").json["season_winter_over_summer_pct"]
    assert south["p50"] == pytest.approx(north["p50"], abs=0.5)
    assert north["p05"] < 8.3 < north["p95"]  # e^.08 - 1 = 8.3 %


def test_three_receipts_are_not_enough_and_it_says_what_would_be(run, tmp_path):
    write_log(tmp_path / "log.csv", tanks=2)
    verdict = run("fillups", tmp_path / "log.csv", "--json").json
    assert verdict["step"]["says"] == "not enough"
    assert verdict["not_enough"][0]["name"] == "too_few_tanks"
    assert verdict["before_l_per_100km"] == pytest.approx(11.76, rel=0.08)  # 20 mpg is 11.76 L/100 km


def test_the_demo_case_gives_its_own_season_and_units(run):
    ran = run("fillups", DEMO / "wagon-fills.csv", "--vehicle", DEMO / "two-faults.toml", "--json")
    assert ran.status == 0
    assert ran.json["step"]["says"] == "vehicle"


GOOD = "date,odometer_mi,volume_gal\n2025-01-01,1000,14\n2025-01-09,1290,14.2\n2025-01-18,1580,14.1"
BAD_LOGS = {
    "empty": "",
    "only blanks": "   \n\n  ",
    "only a heading": "date,odometer_mi,volume_gal",
    "only comments": "# nothing\n# here",
    "no volume": "date,odometer_mi\n2025-01-01,1000\n2025-01-09,1290",
    "no date": "odometer_mi,volume_gal\n1000,14\n1290,14.2",
    "no distance": "date,volume_gal\n2025-01-01,14\n2025-01-09,14.2",
    "volume without unit": GOOD.replace("volume_gal", "volume"),
    "odometer without unit": GOOD.replace("odometer_mi", "odometer"),
    "two ways to read the dates": "date,distance_mi,volume_gal\n03/04/2025,290,14\n04/05/2025,295,14.1",
    "two ways to read short dates": "date,distance_mi,volume_gal\n03/04/05,290,14\n04/05/05,295,14.1",
    "no date reads": "date,distance_mi,volume_gal\nsoon,290,14\nlater,295,14.1",
    "months that do not exist": "date,distance_mi,volume_gal\n2025-13-01,290,14\n2025-14-09,295,14.1",
    "a letter": "Dear shop, my van uses more fuel than it used to.",
    "JSON without rows": "{}",
    "JSON of numbers": "[1, 2, 3]",
    "broken JSON": '{"date": "2025-01-01", "distance',
    "JSON with unknown names": '{"a": 1, "b": 2}\n{"a": 3, "b": 4}',
    "unknown headings": "foo,bar,baz\n1,2,3\n4,5,6",
    "one column": "date\n2025-01-01\n2025-01-09",
    "numbers only": "1,2,3\n4,5,6\n7,8,9",
    "semicolons without unit": "date;odometer;volume\n2025-01-01;1000;14\n2025-01-09;1290;14",
    "no unit in pasted text": "2025-01-01 290 14\n2025-01-09 295 14.1",
    "a table of prices": "date,price,station\n2025-01-01,3.35,A\n2025-01-09,3.29,B",
    "a web page": "<html><body><p>not found</p></body></html>",
    "twice the same column": "volume_gal,volume_gal\n14,14\n15,15",
}


@pytest.mark.parametrize("name", BAD_LOGS)
def test_a_bad_log_gets_one_clear_line(run, tmp_path, name):
    path = tmp_path / "log.csv"
    path.write_text(BAD_LOGS[name])
    ran = run("fillups", path)
    assert ran.status == 2
    assert "log.csv" in ran.line
    assert "found" in ran.line
    assert "expected" in ran.line


@pytest.mark.parametrize(
    ("content", "name"),
    [
        (b"\x00\x01\x02\x03", "log.csv"),
        (b"not a zip", "log.xlsx"),
        (b"PK\x03\x04broken", "log.ods"),
        (None, "none.csv"),
    ],
)
def test_a_file_that_is_no_log_gets_one_clear_line(run, tmp_path, content, name):
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    ran = run("fillups", path)
    assert ran.status == 2
    assert name in ran.line


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--work-done", "soon"), "--work-done"),
        (("--work-done", "1999-01-01"), "a day of the log"),
        (("--since", "2099-01-01"), "a day of the log"),
        (("--town", "Nowhere"), "--months"),
        (("--months", "20 degF"), "--town"),
        (("--town", "X", "--months", "20 degF"), "twelve"),
        (("--town", "X", "--months", ", ".join(["20"] * 12)), "temperature with its unit"),
        (("--temperature", "missing.csv"), "missing.csv"),
        (("--vehicle", "missing.toml"), "missing.toml"),
        (("--dates", "sideways"), "--dates"),
    ],
)
def test_a_bad_option_gets_one_clear_line(run, tmp_path, options, said):
    (tmp_path / "log.csv").write_text(GOOD)
    ran = run("fillups", tmp_path / "log.csv", "--data", tmp_path, *options)
    assert ran.status == 2
    assert said in ran.line


def test_a_temperature_file_without_a_unit_asks_for_it(run, tmp_path):
    (tmp_path / "log.csv").write_text(GOOD)
    (tmp_path / "temps.csv").write_text("date,temperature\n2025-01-01,3")
    ran = run("fillups", tmp_path / "log.csv", "--temperature", tmp_path / "temps.csv")
    assert ran.status == 2
    assert "--temperature-in" in ran.line
