"""The quick ways through a log say what the careful ways say, over layouts, block sizes, clocks and rates."""

import re

import numpy as np
import pytest

from drives import synthetic
from lostgallon.drives import samples as samples_module
from lostgallon.drives.samples import _even_window, _window, thinned
from lostgallon.drives.vehicle import RoadLoad, Subject
from lostgallon.drives.verdict import drive_verdict
from lostgallon.readers import drive_blocks
from lostgallon.readers.drives import read_drive
from lostgallon.shop.driven import DriveLog
from lostgallon.shop.merging import merged

SUBJECT = Subject(displacement_l=2.0, mass_kg=1500.0, road_load=RoadLoad(150.0, 0.5, 0.05, "any"))
FAULTS = ({}, {"thermostat_open": True}, {"slip_rpm": 150.0}, {"leak_share_of_idle": 0.08}, {"drag_n": 60.0})


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    """A drive at four rows a second with its own missing samples, as a plain CSV of numbers with decimal points."""
    rng = np.random.default_rng(19)
    vehicle = synthetic.faulty(synthetic.make(rng), slip_rpm=150.0, leak_share_of_idle=0.08)
    signals = synthetic.drive(vehicle, rng, ambient_c=4.0)
    return synthetic.write_log(tmp_path_factory.mktemp("plain") / "drive.csv", signals, rng, style=0, rate_hz=4.0)


def _clocked(lines, clock, heading):
    rows = [line.split(",", 1) for line in lines[1:]]
    head = lines[0].split(",", 1)[1]
    return [f"{heading},{head}", *(f"{clock(float(at))},{rest}" for at, rest in rows)]


def _of_day(seconds):
    milli = round(1000.0 * seconds)
    return f"{8 + milli // 3_600_000:02d}:{milli // 60_000 % 60:02d}:{milli // 1000 % 60:02d}.{milli % 1000:03d}"


def _quoted_comma(lines):
    return [",".join(f'"{cell.replace(".", ",") if cell[:1].isdigit() or cell[:1] == "-" else cell}"'
                     for cell in line.split(",")) for line in lines]  # fmt: skip


def _units_below(lines):
    heads = [re.fullmatch(r"(.*?)(?: \((.*)\))?", cell) for cell in lines[0].split(",")]
    return [",".join(one[1] for one in heads), ",".join(one[2] or "" for one in heads), *lines[1:]]


LAYOUTS = {
    "semicolons and decimal commas": lambda lines: [line.replace(",", ";").replace(".", ",") for line in lines],
    "tabs": lambda lines: [line.replace(",", "\t") for line in lines],
    "a spare comma": lambda lines: [f"{line}," for line in lines],
    "every cell quoted": lambda lines: [",".join(f'"{cell}"' for cell in line.split(",")) for line in lines],
    "a few cells quoted": lambda lines: [lines[0], *(re.sub(r"^([^,]*),", r'"\1",', line) for line in lines[1:])],
    "decimal commas in quotes": _quoted_comma,
    "units in a second row": _units_below,
    "blank lines between": lambda lines: [one for line in lines for one in (line, "")],
    "time of day": lambda lines: _clocked(lines, _of_day, "Clock"),
    "date and time": lambda lines: _clocked(lines, lambda at: f"2026-02-03T{_of_day(at)}", "Timestamp"),
    "milliseconds": lambda lines: _clocked(lines, lambda at: f"{1000.0 * at:.0f}", "Time (ms)"),
    "every line twice": lambda lines: [lines[0], *(line for line in lines[1:] for _ in range(2))],
}


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_the_same_drive_in_any_layout(plain, layout, ending, tmp_path):
    path = tmp_path / "log.csv"
    written = LAYOUTS[layout](plain.read_text("utf-8").splitlines())
    path.write_bytes(ending.join([*written, ""]).encode())
    one, other = read_drive(plain), read_drive(path)
    assert other.time_s == pytest.approx(one.time_s, abs=1e-3)
    assert other.channels.keys() == one.channels.keys()
    for name, values in one.channels.items():
        assert other.channels[name] == pytest.approx(values, nan_ok=True, rel=1e-9), name
    _same(drive_verdict(one, SUBJECT), drive_verdict(other, SUBJECT))


def _same(one, other):
    assert other.sentence == one.sentence
    assert [(each.cause, pytest.approx(each.likelihood_ratio, rel=1e-3)) for each in one.pattern] == [
        (each.cause, each.likelihood_ratio) for each in other.pattern
    ]
    assert other.fuel_l.p50 == pytest.approx(one.fuel_l.p50, rel=1e-4)
    assert other.distance_km == pytest.approx(one.distance_km, rel=1e-4)
    assert [each.says for each in other.coast_downs] == [each.says for each in one.coast_downs]
    assert (other.trims_say, other.warm_up.says) == (one.trims_say, one.warm_up.says)


@pytest.mark.parametrize("block_bytes", [1, 777, 1 << 12, 1 << 16])
def test_blocks_of_any_size_give_the_same_log_and_the_same_rejected_lines(plain, block_bytes, tmp_path, monkeypatch):
    lines = plain.read_text("utf-8").splitlines()[:600]
    lines[50], lines[90], lines[300], lines[301] = "1,2,3", "", lines[300] + ",5", "," + lines[301].split(",", 1)[1]
    lines[420] += '"'
    path = tmp_path / "log.csv"
    path.write_text("\n".join(lines), "utf-8")
    whole = read_drive(path)
    assert [one.line for one in whole.rejected] == [51, 301, 302, 421]
    monkeypatch.setattr(drive_blocks, "BLOCK_BYTES", block_bytes)
    pieces = read_drive(path)
    assert pieces.rejected == whole.rejected
    assert pieces.sha256 == whole.sha256
    assert pieces.time_s == pytest.approx(whole.time_s)
    for name, values in whole.channels.items():
        assert pieces.channels[name] == pytest.approx(values, nan_ok=True)


def test_a_line_with_more_cells_than_a_byte_counts(tmp_path):
    # 256 cells too many come to 0 in a byte; the line is still too long.
    path = tmp_path / "log.csv"
    rows = [f"{at},36,1500" for at in range(40)]
    rows[7] += "," * 256
    path.write_text("\n".join(["Time (s),Vehicle speed (km/h),Engine speed (rpm)", *rows]), "utf-8")
    rejected = read_drive(path).rejected
    assert [one.line for one in rejected] == [9]
    assert "259 cells" in rejected[0].why


@pytest.mark.parametrize("step_s", [0.05, 0.1, 1.0 / 3.0, 1.0, 2.0])
@pytest.mark.parametrize("window_s", [2.0, 2.5, 3.0, 4.0, 40.0, 90.0])
def test_windows_of_an_even_log_need_no_search(step_s, window_s):
    time = np.round(np.arange(2000) * step_s, 3)
    quick = _even_window(time, 0.5 * window_s + samples_module.STAMP_S)
    careful = _window(time, 0.5 * window_s + samples_module.STAMP_S)
    assert quick is not None
    assert all(np.array_equal(one, other) for one, other in zip(quick, careful, strict=True))


def test_windows_of_an_uneven_log_are_searched():
    time = np.sort(np.random.default_rng(4).uniform(0.0, 100.0, 300))
    assert _even_window(time, 1.0) is None


def test_merged_lines_against_a_loop():
    rng = np.random.default_rng(8)
    values = np.where(rng.random(60) < 0.4, np.nan, rng.normal(size=60))
    starts = np.flatnonzero(np.append(True, rng.random(59) < 0.3))
    runs = np.split(values, starts[1:])
    by_hand = [np.mean(run[np.isfinite(run)]) if np.isfinite(run).any() else np.nan for run in runs]
    assert merged(values, starts, kind="speed") == pytest.approx(by_hand, nan_ok=True)
    assert merged(values, starts, kind="status") == pytest.approx([run[-1] for run in runs], nan_ok=True)


def test_a_slow_log_is_left_as_it_is():
    log = DriveLog("made", np.arange(0.0, 60.0, 0.25), {"rpm": np.full(240, 900.0)}, (), (), ())
    assert thinned(log) is log


@pytest.mark.parametrize("fault", range(len(FAULTS)))
def test_two_lines_a_second_say_what_ten_say(fault, tmp_path, monkeypatch):
    rng = np.random.default_rng([31, fault])
    signals = synthetic.drive(synthetic.faulty(synthetic.make(rng), **FAULTS[fault]), rng, ambient_c=3.0)
    log = read_drive(synthetic.write_log(tmp_path / "log.csv", signals, rng, rate_hz=10.0))
    quick = drive_verdict(log, SUBJECT)
    monkeypatch.setattr(samples_module, "thinned", lambda whole: whole)
    careful = drive_verdict(log, SUBJECT)
    assert _ratios(quick) == pytest.approx(_ratios(careful), rel=0.1)
    assert quick.distance_km == pytest.approx(careful.distance_km, rel=1e-3)
    assert quick.fuel_l.p50 == pytest.approx(careful.fuel_l.p50, rel=5e-3)
    assert quick.warm_up.plateau_c == pytest.approx(careful.warm_up.plateau_c, abs=0.2)
    # The mean of five readings of whole km/h is finer than one of them, so slip comes nearer to what was put in.
    put_in = FAULTS[fault].get("slip_rpm")
    nearer = abs(quick.lock_up.slip_rpm - put_in) <= abs(careful.lock_up.slip_rpm - put_in) if put_in else True
    assert nearer
    assert put_in or quick.lock_up.slip_rpm == pytest.approx(careful.lock_up.slip_rpm, abs=5.0)
    assert [trim.total_pct for trim in quick.trims] == pytest.approx(
        [trim.total_pct for trim in careful.trims], abs=0.5
    )
    assert len(quick.coast_downs) == len(careful.coast_downs)
    for one, other in zip(quick.coast_downs, careful.coast_downs, strict=True):
        assert one.extra_drag_n.p50 == pytest.approx(other.extra_drag_n.p50, abs=5.0)


def _ratios(verdict):
    """Ratios by cause; those of the converter rest on the slip, which is compared by itself."""
    return {one.cause: one.likelihood_ratio for one in verdict.pattern if "tcc_road" not in one.checks}
