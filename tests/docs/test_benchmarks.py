"""The benchmark page: one row shape for all rooms, a failed room in its place, the page as the kept run says."""

import json
import sys

import pytest
from benchmarks import __main__ as runner
from benchmarks.page import page, rows_of
from benchmarks.rooms import BARS, ROOMS, YARDSTICKS, Room, met

KEYS = {"figure", "measured", "bar", "met", "yardstick"}


def test_figures_of_every_shape_become_rows():
    told = {"times_polars": 3.5, "rows": [{"name": "a", "s": 1.0}, {"no": "name"}], "summary": {"most_s": 2}}
    rows = rows_of("drive", told)
    assert [(row["figure"], row["measured"]) for row in rows] == [("times_polars", 3.5), ("a.s", 1.0), ("most_s", 2)]
    assert all(set(row) == KEYS for row in rows)
    assert rows[0]["met"] is False
    assert rows[0]["yardstick"] == "polars reading the same file alone"


@pytest.mark.parametrize(("value", "bar", "kept"), [(2.0, "≤ 2", True), (2.1, "≤ 2", False), (99.0, "≥ 100", False)])
def test_a_bar_is_read_with_its_sign(value, bar, kept):
    assert met(value, bar) is kept


def test_bars_and_yardsticks_belong_to_rooms():
    names = {room.name for room in ROOMS}
    assert {path.partition(".")[0] for path in (*BARS, *YARDSTICKS)} <= names
    assert names == {path.partition(".")[0] for path in YARDSTICKS}, "a room without a yardstick"


@pytest.mark.parametrize(
    ("program", "says"),
    [
        ("raise SystemExit('no disk')", "no disk"),
        ("print('not JSON')", "not JSON"),
        ("import time; time.sleep(30)", "given up after 2 s"),
    ],
)
def test_a_room_that_fails_says_so_and_the_page_is_written(monkeypatch, tmp_path, program, says):
    (tmp_path / "benchmarks").mkdir()
    (tmp_path / "benchmarks" / "bad.py").write_text(program, "utf-8")
    monkeypatch.setattr(runner, "ROOT", tmp_path)
    told = runner.run(Room("bad", 2.0), [])
    assert told["failed"] == says
    text = page({"machine": "here.", "rooms": {"bad": told}})
    assert f"## bad\n\n{says}" in text
    assert "Not measured, as their run ended early: bad." in text


def test_the_page_is_what_the_kept_run_says():
    if not runner.FOUND.exists():
        pytest.skip("no full run is kept: python -m benchmarks on an idle machine makes one")
    assert runner.PAGE.read_text("utf-8") == page(json.loads(runner.FOUND.read_text("utf-8")))


def test_an_unknown_room_is_one_line(monkeypatch, capsys):
    monkeypatch.setattr(sys, "argv", ["benchmarks", "gearbox"])
    with pytest.raises(SystemExit):
        runner.main()
    assert "found gearbox; expected some of commands, physics" in capsys.readouterr().err
