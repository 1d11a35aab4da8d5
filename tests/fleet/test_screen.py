"""Many vehicles at once: false discoveries at the stated rate, shared months, resume, one line for bad input."""

import json
import multiprocessing
import os
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from lostgallon.cli import main
from lostgallon.fillups.posterior import weigh
from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fillups.tanks import stack, tanks_of_log
from lostgallon.fleet.columns import recognized
from lostgallon.fleet.discoveries import at_share, chance_beside_falls, flagged, share_changed
from lostgallon.fleet.parts import COLUMNS, part_of, weighed
from lostgallon.fleet.screening import Asked, screen
from lostgallon.fleet.shared import Shared
from lostgallon.fleet.tanks import tanks_of
from lostgallon.readers.fills import read_fills_text
from lostgallon.shop.filled import FillHints
from tests.fleet.made import made_fleet


def screened(path, **how):
    asked = Asked(files=(path,), price_per_l=1.0, currency="USD", **how)
    return screen(asked, clock=time.monotonic, told=lambda _what, _done, _total: None).record


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
    lost = {name for name, kind in truth.items() if kind == "step"}
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


def test_a_cold_week_that_all_share_flags_nobody(tmp_path):
    spell = {"cold_spell": 0.15, "cold_days": (580, 588)}
    frame, _ = made_fleet(np.random.default_rng(36), 300, lost=0.0, moved=0.0, **spell)
    frame.write_parquet(tmp_path / "fleet.parquet")
    assert len(screened(tmp_path / "fleet.parquet").flagged) <= 1


def test_the_winter_of_one_region_or_one_body_flags_nobody(tmp_path):
    frame, _ = made_fleet(np.random.default_rng(35), 300, lost=0.0, moved=0.0, north=0.12, body=0.06)
    frame.write_parquet(tmp_path / "fleet.parquet")
    known = screened(tmp_path / "fleet.parquet")
    frame.drop("region", "body").write_parquet(tmp_path / "blind.parquet")
    blind = screened(tmp_path / "blind.parquet")
    assert len(known.flagged) <= 1
    assert len(known.taken_out) == 3
    assert len(blind.taken_out) == 1


def test_one_vehicle_in_a_fleet_is_weighed_like_a_log_of_its_own(tmp_path):
    frame, _ = made_fleet(np.random.default_rng(33), 3, lost=1.0)
    frame.write_parquet(tmp_path / "fleet.parquet")
    tanks = tanks_of(recognized(tmp_path / "fleet.parquet", FillHints()).rows.collect())
    first = frame.filter(pl.col("vehicle") == "V00000").drop("vehicle").write_csv()
    alone = tanks_of_log(read_fills_text(first))
    own = slice(int(tanks.starts[0]), int(tanks.starts[1]))
    assert tanks.volume_l[own] == pytest.approx(alone.volume_l)
    assert tanks.distance_km[own] == pytest.approx(alone.distance_km)
    assert tanks.end_day[own] == pytest.approx(alone.end_day)
    part = part_of(tanks, Shared({}, {}, {}))
    expected = weigh(stack([alone]), SeasonPrior())
    row = weighed(part)[0]
    assert row[COLUMNS.index("vehicle_rise")] == pytest.approx(expected.vehicle_rise[0], rel=1e-9)
    assert row[COLUMNS.index("l_per_100km")] == pytest.approx(100 * alone.volume_l.sum() / alone.distance_km.sum())


def test_a_resumed_run_gives_the_same_answer_and_weighs_nothing_twice(fleet, tmp_path, monkeypatch):
    path, _ = fleet
    once = screened(path, kept=tmp_path / "parts")
    assert list((tmp_path / "parts").glob("*.npy"))
    monkeypatch.setattr("lostgallon.fleet.parts.weighed", lambda _part: pytest.fail("weighed again"))
    again = screened(path, kept=tmp_path / "parts")
    assert again.flagged == once.flagged


def test_the_share_that_changed_is_estimated_from_the_fleet():
    # by hand: half the factors say "surely changed", half "surely not", so the share is a half
    factors = np.log(np.r_[np.full(50, 1e9), np.full(50, 1e-9)])
    assert share_changed(factors) == pytest.approx(0.5, abs=1e-6)
    # odds 1:9 instead of 1:1 turn .9 against .1 into .5
    assert at_share(0.1, np.array([0.1]), np.array([0.9]))[0] == pytest.approx(0.5)


def test_rises_are_judged_by_falls_that_look_as_sure():
    # by hand, from the surest down: one fall is put on top of all; three rises; a fall; a rise; a fall
    rise, fall = np.array([0.99, 0.98, 0.97, 0.0, 0.90, 0.0, 0.4]), np.array([0.0, 0.0, 0.0, 0.95, 0.0, 0.85, 0.1])
    chance = chance_beside_falls(rise, fall)
    # top block 1 fall to 3 rises; then 1 to 1; the last fall has a block of its own; under one half nothing is said
    assert chance == pytest.approx([2 / 3, 2 / 3, 2 / 3, 0.0, 0.0, 0.0, 0.0])


def test_a_lone_rise_never_vouches_for_itself():
    assert chance_beside_falls(np.array([0.999]), np.array([0.0]))[0] == 0.0
    assert chance_beside_falls(np.zeros(0), np.zeros(0)).shape == (0,)


@pytest.mark.parametrize("changed", [0, 20, 200])
def test_flags_by_falls_are_false_at_the_stated_rate(changed):
    # scores of either sign for the sound ones, high ones for the changed; the rate is the mean share of false flags
    rng = np.random.default_rng(37)
    shares = []
    for _ in range(200):
        score, up = rng.beta(1, 2, 1000), rng.random(1000) < 0.5
        up[:changed], score[:changed] = True, rng.beta(9, 1, changed)
        chosen = flagged(chance_beside_falls(np.where(up, score, 0.0), np.where(up, 0.0, score)), 0.1)
        shares.append(chosen[changed:].sum() / max(chosen.sum(), 1))
    assert np.mean(shares) <= 0.1 + 3 * np.std(shares) / np.sqrt(200)


def test_a_tenth_more_is_found_in_a_fleet_as_in_one_log(tmp_path):
    frame, truth = made_fleet(np.random.default_rng(38), 500, lost=0.08, rise=0.10, moved=0.0)
    frame.write_parquet(tmp_path / "fleet.parquet")
    names = {each.vehicle for each in screened(tmp_path / "fleet.parquet").flagged}
    lost = {name for name, kind in truth.items() if kind == "step"}
    # one log alone finds 96 in 100 of these at even odds (docs/fleet.md)
    assert len(names & lost) >= 0.7 * len(lost)
    assert len(names - lost) <= 3


def test_the_flagged_set_is_the_largest_within_the_rate():
    # by hand: chances of being false 0, .04, .10, .9; running means 0, .02, .047, .26
    chosen = flagged(np.array([0.96, 1.0, 0.1, 0.90]), 0.05)
    assert chosen.tolist() == [True, True, False, True]
    # a vehicle under .70 is never flagged, however sure the others are
    assert flagged(np.array([*[1.0] * 40, 0.6]), 0.05).sum() == 40


def test_a_fleet_in_pieces_gives_the_same_answer_as_in_memory(fleet, tmp_path):
    path, _ = fleet
    whole, pieces = screened(path), screened(path, rows_at_once=5000, kept=tmp_path / "kept")
    assert len(list((tmp_path / "kept" / "pieces").glob("*/vehicles.arrow"))) == 5
    by_name = {each.vehicle: each for each in whole.flagged}
    assert {each.vehicle for each in pieces.flagged} == by_name.keys()
    for each in pieces.flagged:  # batches are cut in other places: the last digits differ
        assert each.probability == pytest.approx(by_name[each.vehicle].probability, rel=1e-9)
        assert each.increase_pct.p50 == pytest.approx(by_name[each.vehicle].increase_pct.p50, rel=1e-9)
    assert (pieces.fill_ups, pieces.rejected) == (whole.fill_ups, whole.rejected)


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
    status, told = run(
        monkeypatch,
        capsys,
        "screen",
        path,
        "--workers",
        "1",
        "--every-vehicle",
        "--out",
        tmp_path / "all.csv",
        "--out",
        tmp_path / "page.html",
    )
    every = pl.read_csv(tmp_path / "all.csv")
    assert every.height == 400
    assert every["flagged"].sum() == len(record["flagged"])
    page = (tmp_path / "page.html").read_text("utf-8")
    assert page.count('role="img"') == page.count("<figure") == len(record["flagged"])
    assert "http" not in page.replace("http://www.w3.org", "")
    assert "a reason to look, not a fault" in told.out


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("date,odometer_mi,volume_gal\n2025-01-01,1,2", "vehicle"),
        ("vehicle,date,volume_gal\nA,2025-01-01,2", "odometer or distance"),
        ("vehicle,date,odometer,volume_gal\nA,2025-01-01,1,2", "--distance-in"),
        ("vehicle,date,odometer_mi,volume\nA,2025-01-01,1,2", "--volume-in"),
        ("", "no rows"),
        ("vehicle,date,odometer_mi,volume_gal\nA,03/04/2025,1,2\nA,05/06/2025,300,12", "--dates"),
    ],
)
def test_a_bad_fleet_gets_one_clear_line(tmp_path, monkeypatch, capsys, text, said):
    (tmp_path / "fleet.csv").write_text(text)
    status, told = run(monkeypatch, capsys, "screen", tmp_path / "fleet.csv")
    assert status == 2
    assert said in told.err
    assert told.err.count("\n") == 1


def test_two_workers_give_the_same_digits_and_one_that_dies_loses_nothing(fleet, tmp_path, monkeypatch):
    path, _ = fleet
    monkeypatch.setattr("lostgallon.fleet.screening.LEAST_FOR_WORKERS", 1)
    alone = screened(path, rows_at_once=5000)
    killed = []

    def told(what, _done, _total):
        if what == "weighing" and not killed:
            worker = multiprocessing.active_children()[0]
            worker.kill()
            killed.append(worker)

    asked = Asked((path,), price_per_l=1.0, currency="USD", rows_at_once=5000, workers=2)
    both = screen(asked, clock=time.monotonic, told=told).record
    assert killed
    assert replace(both, seconds=0.0) == replace(alone, seconds=0.0)


STARTED = """
from lostgallon.fleet.engines import _Processes
from os import getpid
from time import sleep

if __name__ == "__main__":
    print(_Processes(1).submit(getpid).result(), flush=True)
    sleep(60)
"""


def test_workers_end_with_the_program_that_started_them(tmp_path):
    (tmp_path / "started.py").write_text(STARTED, "utf-8")
    environment = os.environ | {"PYTHONPATH": "src"}
    command = [sys.executable, tmp_path / "started.py"]
    running = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
    worker = int(running.stdout.readline())
    os.kill(worker, 0)
    running.kill()
    running.communicate()
    for _ in range(100):
        if not Path(f"/proc/{worker}").exists():
            return
        time.sleep(0.1)
    pytest.fail("the worker is still there")
