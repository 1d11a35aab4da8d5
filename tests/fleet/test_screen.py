"""Many vehicles at once: false discoveries at the stated rate, shared months, resume, one line for bad input."""

import json
import sys
import time

import numpy as np
import polars as pl
import pytest

from lostgallon.cli import main
from lostgallon.fillups.posterior import weigh
from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fillups.tanks import stack, tanks_of_log
from lostgallon.fleet.discoveries import at_share, flagged, share_changed
from lostgallon.fleet.parts import COLUMNS, Part, weighed
from lostgallon.fleet.screening import Asked, screen
from lostgallon.fleet.tanks import read_fleet
from lostgallon.readers.fills import read_fills_text
from tests.fleet.made import made_fleet


def screened(path, **how):
    asked = Asked(files=(path,), price_per_l=1.0, currency="USD", **how)
    return screen(asked, clock=time.monotonic, told=lambda _done, _count: None)


@pytest.fixture(scope="module")
def fleet(tmp_path_factory):
    frame, truth = made_fleet(np.random.default_rng(31), 400, bad=0.01)
    path = tmp_path_factory.mktemp("fleet") / "fleet.parquet"
    frame.write_parquet(path)
    return path, truth


def test_flags_are_mostly_true_and_most_losses_are_flagged(fleet):
    path, truth = fleet
    found = screened(path)
    names = [each.vehicle for each in found.flagged]
    lost = {name for name, kind in truth.items() if kind == "lost"}
    assert found.vehicles == 400
    assert found.fill_ups == 400 * 60
    assert found.rejected > 0
    # rate .05 of about 20 flags is one; three would be three standard errors above it
    assert len(set(names) - lost) <= 3
    assert len(lost & set(names)) >= 0.7 * len(lost)
    assert found.expected_false <= found.false_discovery_rate * len(names)
    true_rise = [each for each in found.flagged if each.vehicle in lost]
    covered = np.mean([each.increase_pct.p05 <= 18.0 <= each.increase_pct.p95 for each in true_rise])
    assert covered >= 0.7


def test_a_cold_spell_that_all_share_flags_nobody(tmp_path):
    frame, _ = made_fleet(np.random.default_rng(32), 250, lost=0.0, moved=0.0, cold_spell=0.10)
    frame.write_parquet(tmp_path / "fleet.parquet")
    assert len(screened(tmp_path / "fleet.parquet").flagged) <= 1


def test_one_vehicle_in_a_fleet_is_weighed_like_a_log_of_its_own(tmp_path):
    frame, _ = made_fleet(np.random.default_rng(33), 3, lost=1.0)
    frame.write_parquet(tmp_path / "fleet.parquet")
    tanks = read_fleet([tmp_path / "fleet.parquet"], distance_unit=None, volume_unit=None)
    first = frame.filter(pl.col("vehicle") == "V00000").drop("vehicle").write_csv()
    alone = tanks_of_log(read_fills_text(first))
    own = slice(int(tanks.starts[0]), int(tanks.starts[1]))
    assert tanks.volume_l[own] == pytest.approx(alone.volume_l)
    assert tanks.distance_km[own] == pytest.approx(alone.distance_km)
    assert tanks.end_day[own] == pytest.approx(alone.end_day)
    row = weighed(Part((alone,), SeasonPrior()))[0]
    expected = weigh(stack([alone]), SeasonPrior())
    assert row[COLUMNS.index("vehicle_rise")] == pytest.approx(expected.vehicle_rise[0], rel=1e-12)


def test_a_resumed_run_gives_the_same_answer_and_weighs_nothing_twice(fleet, tmp_path, monkeypatch):
    path, _ = fleet
    once = screened(path, kept=tmp_path / "parts")
    assert list((tmp_path / "parts").glob("*.npy"))
    monkeypatch.setattr("lostgallon.fleet.screening.weighed", lambda _part: pytest.fail("weighed again"))
    again = screened(path, kept=tmp_path / "parts")
    assert again.flagged == once.flagged


def test_the_share_that_changed_is_estimated_from_the_fleet():
    # by hand: half the factors say "surely changed", half "surely not", so the share is a half
    factors = np.log(np.r_[np.full(50, 1e9), np.full(50, 1e-9)])
    assert share_changed(factors) == pytest.approx(0.5, abs=1e-6)
    # odds 1:9 instead of 1:1 turn .9 against .1 into .5
    assert at_share(0.1, np.array([0.1]), np.array([0.9]))[0] == pytest.approx(0.5)


def test_the_flagged_set_is_the_largest_within_the_rate():
    # by hand: chances of being false 0, .04, .10, .9; running means 0, .02, .047, .26
    chosen = flagged(np.array([0.96, 1.0, 0.1, 0.90]), 0.05)
    assert chosen.tolist() == [True, True, False, True]


def run(monkeypatch, capsys, *arguments):
    monkeypatch.setattr(sys, "argv", ["lostgallon", *map(str, arguments)])
    with pytest.raises(SystemExit) as left:
        main()
    return left.value.code, capsys.readouterr()


def test_the_command_prints_its_keys_and_writes_the_flagged(fleet, tmp_path, monkeypatch, capsys):
    path, _ = fleet
    status, told = run(
        monkeypatch, capsys, "screen", path, "--out", tmp_path / "flagged.parquet", "--json", "--workers", "1"
    )
    record = json.loads(told.out)
    assert status == 0
    assert {"vehicles", "fill_ups", "rejected", "seconds", "false_discovery_rate", "flagged"} <= record.keys()
    assert {"vehicle", "probability", "increase_pct", "money_per_year", "since", "use_changed"} <= record["flagged"][
        0
    ].keys()
    assert pl.read_parquet(tmp_path / "flagged.parquet").height == len(record["flagged"])
    status, told = run(monkeypatch, capsys, "screen", path, "--workers", "1")
    assert "a reason to look, not a fault" in told.out


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("date,odometer_mi,volume_gal\n2025-01-01,1,2", "vehicle"),
        ("vehicle,date,volume_gal\nA,2025-01-01,2", "odometer or distance"),
        ("vehicle,date,odometer,volume_gal\nA,2025-01-01,1,2", "--distance-in"),
        ("vehicle,date,odometer_mi,volume\nA,2025-01-01,1,2", "--volume-in"),
        ("", "can't be read"),
    ],
)
def test_a_bad_fleet_gets_one_clear_line(tmp_path, monkeypatch, capsys, text, said):
    (tmp_path / "fleet.csv").write_text(text)
    status, told = run(monkeypatch, capsys, "screen", tmp_path / "fleet.csv")
    assert status == 2
    assert said in told.err
    assert told.err.count("\n") == 1
