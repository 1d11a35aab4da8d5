"""The cast of eight: the demo shows each, the guide's example is one of them, and no test invents another."""

import re
from pathlib import Path

import pytest

from lostgallon.readers.case import read_case
from lostgallon.readers.cast import CAST, OTHER_VISITS, cast, cast_entries, cast_tables, cast_visit

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "src" / "lostgallon" / "data" / "demo"
OWN_VEHICLES = {
    "tests/hard/blind_visits.py",  # frozen before any tuning: docs/account.md
    "tests/physics/test_second_opinion.py",  # those of the independent model
}


def test_the_demo_shows_each_of_the_eight_once():
    assert sorted(visit["case"] for visit in cast_tables("shop")["visit"]) == sorted(CAST.values())
    assert len(CAST) == 8
    assert {path.stem for path in DEMO.glob("*.toml")} == {*CAST.values(), *OTHER_VISITS, "shop"}


def test_the_vehicles_are_all_different_and_the_other_visit_is_of_one_of_them():
    vehicles = [cast(name).vehicle for name in CAST]
    assert len(set(vehicles)) == 8
    earlier, wagon = cast_visit("flex-pipe").vehicle, cast("wagon").vehicle
    assert (earlier.body, earlier.model_year, earlier.curb_weight_kg) == (
        wagon.body,
        wagon.model_year,
        wagon.curb_weight_kg,
    )
    assert earlier.odometer_km < wagon.odometer_km


def test_the_example_of_the_guide_is_the_wagon(tmp_path):
    example = re.search(r"```toml\n(.*?)```", (ROOT / "docs" / "case-file.md").read_text("utf-8"), re.DOTALL)
    path = tmp_path / "case.toml"
    path.write_text(example.group(1), "utf-8")
    assert read_case(path).vehicle == cast("wagon").vehicle


def test_entries_are_as_typed():
    typed = cast_entries("two-faults")
    assert typed["vehicle.curb_weight"] == "3650 lb"
    assert typed["then.until"] == "2025-10-31"
    assert not [key for key in typed if key.startswith(("visit.", "evidence."))]


@pytest.mark.parametrize("folder", ["tests", "benchmarks", "src/lostgallon/job", "src/lostgallon/web"])
def test_nobody_else_invents_a_vehicle(folder):
    found = {
        str(path.relative_to(ROOT))
        for path in (ROOT / folder).rglob("*.py")
        if re.search(r"(?<![\w.])Vehicle\((?!Base)", path.read_text("utf-8")) and path != Path(__file__)
    }
    assert found - OWN_VEHICLES == set()
