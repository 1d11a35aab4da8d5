"""Logs that are broken, odd or not logs: each gives one clear line, or a right reading with what was mended named."""

import numpy as np
import pytest

from lostgallon.readers.drives import read_drive
from lostgallon.shop.trouble import BadFile

HEAD = "Time (s),Vehicle speed (km/h),Engine speed (rpm)"
ROWS = "\n".join(f"{at},{30 + at % 20},{1500 + at}" for at in range(60))


def _rows(clock):
    return "\n".join(f"{clock(at)},{30 + at % 20},{1500 + at}" for at in range(60))


REFUSED = {
    "empty": (b"", "an empty file"),
    "blank lines": (b"\n \n\n", "an empty file"),
    "a zip archive": (b"PK\x03\x04rest", "spreadsheet or zip"),
    "a gzip archive": (b"\x1f\x8b\x08\x00", "gzip"),
    "a PDF": (b"%PDF-1.7 ...", "a PDF"),
    "a picture": (b"\x89PNG\r\n", "a picture"),
    "a database": (b"SQLite format 3\x00", "a database"),
    "binary": (b"abc\x00\x01\x02" * 50, "binary data"),
    "one word": (b"hello\n", "'hello'"),
    "prose": (b"Dear sir, the car\nuses, it seems\nmuch, too much fuel\n", "no line of numbers"),
    "heading alone": (HEAD.encode() + b"\n", "no line of numbers"),
    "numbers without a heading": (ROWS.encode(), "no heading above"),
    "one column": (b"speed\n1\n2\n3\n", "'speed'"),
    "no clock": (b"Vehicle speed (km/h),Engine speed (rpm)\n" + b"50,2000\n51,2010\n" * 20, "no column that is a clock"),
    "a row count for a clock": (b"Sample,Vehicle speed (km/h)\n1,50\n2,51\n3,52\n", "no column that is a clock"),
    "a clock that stands": ((HEAD + "\n" + _rows(lambda _: 7)).encode(), "does not run forward"),
    "a clock that runs backward": ((HEAD + "\n" + _rows(lambda at: 60 - at)).encode(), "does not run forward"),
    "a clock of words": ((HEAD + "\n" + _rows(lambda _: "soon")).encode(), "clock"),
    "nothing known": (b"Time (s),Mood,Tune\n" + b"1,2,3\n2,3,4\n3,4,5\n", "Mood"),
    "fewer headings than cells": (b"Time (s),Vehicle speed (km/h)\n" + b"1,2,3\n2,3,4\n3,4,5\n", "2 headings over 3 cells"),
    "mostly lines without a time": ((HEAD + "\n" + "1,30,900\n2,31,910\n" + ",32,920\n" * 30).encode(), "can't be used"),
    "mostly cut lines": ((HEAD + "\n1,30,900\n2,31,910\n" + "5\n6\n7\n" * 9).encode(), "3 headings over 1 cells"),
    "speed of an unknown unit": (
        b"Time (s),Speed,Coolant (degF)\n" + b"".join(b"%d,%.1f,190\n" % (at, 30.3 + at % 9) for at in range(50)),
        "'Speed' without a unit",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_one_clear_line(name, tmp_path):
    content, said = REFUSED[name]
    path = tmp_path / "log.csv"
    path.write_bytes(content)
    with pytest.raises(BadFile) as caught:
        read_drive(path)
    sentence = str(caught.value)
    assert said in sentence
    assert "expected" in sentence
    assert "\n" not in sentence
    assert "log.csv" in sentence


def test_a_missing_file_and_a_folder(tmp_path):
    for path, said in ((tmp_path / "none.csv", "no such file"), (tmp_path, "a folder")):
        with pytest.raises(BadFile, match=said):
            read_drive(path)


CLOCKS = {
    "seconds": (lambda at: f"{at}", "Time (s)"),
    "milliseconds": (lambda at: f"{1000 * at}", "Time (ms)"),
    "minutes": (lambda at: f"{at / 60:.6f}", "Elapsed time (min)"),
    "time of day": (lambda at: f"23:59:{at:02d}" if at < 60 else f"00:00:{at - 60:02d}", "Time"),
    "date and time": (lambda at: f"2026-01-15T10:{at // 60:02d}:{at % 60:02d}.250", "Timestamp"),
    "date and time with am and pm": (lambda at: f"1/15/2026 12:{at // 60:02d}:{at % 60:02d} PM", "Date time"),
    "minutes and seconds": (lambda at: f"{at // 60:02d}:{at % 60:02d}.5", "Elapsed time"),
    "seconds since 1970": (lambda at: f"{1768470000 + at}", "Timestamp"),
    "milliseconds since 1970": (lambda at: f"{1768470000000 + 1000 * at}", "Timestamp"),
    "days of a spreadsheet": (lambda at: f"{46037 + at / 86400:.9f}", "Date"),
    "run time": (lambda at: f"{at}", "RUNTM"),
}


@pytest.mark.parametrize("name", CLOCKS)
def test_every_kind_of_clock(name, tmp_path):
    stamp, heading = CLOCKS[name]
    path = tmp_path / "log.csv"
    lines = [f"{heading},Vehicle speed (km/h),Engine speed (rpm)"]
    lines += [f"{stamp(at)},36,1500" for at in range(100)]
    path.write_text("\n".join(lines), "utf-8")
    log = read_drive(path)
    assert log.time_s[-1] == pytest.approx(99.0, abs=0.01)
    assert len(log.time_s) == 100
    assert log.channels["speed_m_s"] == pytest.approx(10.0)


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_every_plain_layout(separator, ending, encoding, tmp_path):
    path = tmp_path / "log.csv"
    head = separator.join(["Time (s)", "Vehicle speed (km/h)", "Coolant (°C)"])
    body = [separator.join([f"{at}.5", "36", "85"]) for at in range(30)]
    path.write_bytes(ending.join([head, *body]).encode(encoding))
    log = read_drive(path)
    assert log.time_s[-1] == pytest.approx(29.0)
    assert log.channels["coolant_c"] == pytest.approx(85.0)
    assert log.rejected == ()


def test_decimal_comma_units_in_the_second_row_and_lines_above(tmp_path):
    path = tmp_path / "log.csv"
    lines = ["Recorded in the bay;;", "", "Zeit;Geschwindigkeit;Kühlmitteltemperatur", "s;mph;°F"]
    lines += [f"{at},5;30,0;185,0" for at in range(40)]
    path.write_text("\n".join(lines), "utf-8")
    log = read_drive(path)
    # 30 mi/h = 13.4112 m/s exactly; 185 degF = 85 degC
    assert log.channels["speed_m_s"] == pytest.approx(13.4112)
    assert log.channels["coolant_c"] == pytest.approx(85.0)


def test_quoted_decimal_commas(tmp_path):
    path = tmp_path / "log.csv"
    lines = ['"Time (s)","Vehicle speed (km/h)"', *(f'"{at},5","36,0"' for at in range(30))]
    path.write_text("\n".join(lines), "utf-8")
    assert read_drive(path).channels["speed_m_s"] == pytest.approx(10.0)


def test_every_rejected_line_has_its_number_and_reason(tmp_path):
    path = tmp_path / "log.csv"
    lines = [HEAD, *(f"{at},36,1500" for at in range(50))]
    lines[10] = "9,36"  # line 11: cut short
    lines[20] = "19,36,1500,7"  # line 21: too long
    lines[30] = ",36,1500"  # line 31: no time
    lines[40] = "3,36,1500"  # line 41: out of order
    lines.insert(45, "")  # a blank line is nothing
    lines.insert(46, HEAD)  # line 47: the heading again
    lines[48] = '46,36,"1500'  # line 49: an open quotation mark
    path.write_text("\n".join(lines), "utf-8")
    log = read_drive(path)
    assert [one.line for one in log.rejected] == [11, 21, 31, 41, 47, 49]
    words = ("cut short", "too long", "no time", "out of order", "no time", "quotation mark")
    for one, word in zip(log.rejected, words, strict=True):
        assert word in one.why
    assert log.time_s[-1] == pytest.approx(49.0)


def test_text_for_a_value_is_a_missing_sample_and_not_a_zero(tmp_path):
    path = tmp_path / "log.csv"
    head = "Time (s),Vehicle speed (km/h),Engine speed (rpm),Mass air flow (g/s),Ambient air temperature (°C)"
    lines = [head, *(f"{at},36,1500,{'N/A' if at % 2 else 4.5},not supported" for at in range(40))]
    path.write_text("\n".join(lines), "utf-8")
    log = read_drive(path)
    assert np.nanmean(log.channels["air_flow_g_s"]) == pytest.approx(4.5)
    assert "ambient_c" not in log.channels
    assert any("no readings" in sentence for sentence in log.unsupported)


@pytest.mark.parametrize(
    ("heading", "value", "channel"),
    [
        ("Mass air flow (g/s)", "0", "air_flow_g_s"),
        ("Ambient air temperature (°C)", "-40", "ambient_c"),
        ("Ambient air temperature (°F)", "-40", "ambient_c"),
        ("Short term fuel trim bank 1 (%)", "-100", "short_trim_1_pct"),
        ("Barometric pressure (kPa)", "0", "barometer_pa"),
        ("Control module voltage (V)", "0", "voltage_v"),
    ],
)
def test_values_a_port_sends_for_nothing(heading, value, channel, tmp_path):
    path = tmp_path / "log.csv"
    lines = [f"{HEAD},{heading}", *(f"{at},36,1500,{value}" for at in range(40))]
    path.write_text("\n".join(lines), "utf-8")
    log = read_drive(path)
    assert channel not in log.channels
    assert len(log.unsupported) == 1


def test_trims_of_a_bank_that_is_not_there(tmp_path):
    path = tmp_path / "log.csv"
    lines = [f"{HEAD},SHRTFT1,LONGFT1,SHRTFT2,LONGFT2"]
    lines += [f"{at},36,1500,{at % 5 - 2},1.6,0,0" for at in range(40)]
    path.write_text("\n".join(lines), "utf-8")
    log = read_drive(path)
    assert "short_trim_1_pct" in log.channels
    assert "short_trim_2_pct" not in log.channels


def test_readings_that_can_not_be_are_left_out_and_said(tmp_path):
    path = tmp_path / "log.csv"
    lines = [HEAD, *(f"{at},{255 * 9 if at == 7 else 36},1500" for at in range(400))]
    path.write_text("\n".join(lines), "utf-8")
    log = read_drive(path)
    assert np.isnan(log.channels["speed_m_s"][7])
    assert any("left out" in sentence for sentence in log.notes)


def test_a_second_start_runs_on(tmp_path):
    path = tmp_path / "log.csv"
    stamps = [*range(40), *range(30)]
    path.write_text("\n".join([HEAD.replace("Time (s)", "RUNTM"), *(f"{at},36,1500" for at in stamps)]), "utf-8")
    log = read_drive(path)
    assert log.time_s[-1] == pytest.approx(69.0)
    assert any("started again" in sentence for sentence in log.notes)


@pytest.mark.parametrize(("unit", "factor"), [("mi/h", 0.44704), ("km/h", 1 / 3.6)])
def test_a_speed_without_a_unit_is_settled_by_the_recorders_distance(unit, factor, tmp_path):
    path = tmp_path / "log.csv"
    speeds = [30.3 + at % 9 for at in range(600)]
    counted = np.cumsum(speeds) * factor / 1000.0
    lines = ["Time (s),Speed,Trip distance (km),Coolant (degF)"]
    lines += [f"{at},{speed:.1f},{km:.2f},190" for at, (speed, km) in enumerate(zip(speeds, counted, strict=True))]
    path.write_text("\n".join(lines), "utf-8")
    log = read_drive(path)
    speed = next(one for one in log.columns if one.taken_as == "speed_m_s")
    assert speed.unit == unit
    assert "distance" in speed.why
    assert log.channels["speed_m_s"][0] == pytest.approx(30.3 * factor)


def test_one_reading_a_line(tmp_path):
    path = tmp_path / "log.csv"
    lines = ["Time (s);Parameter;Value;Unit"]
    for at in range(120):
        lines.append(f"{at}.00;Vehicle speed;36;km/h")
        lines.append(f"{at}.25;Engine speed;{1500 + at};rpm")
        if at % 5 == 0:
            lines.append(f"{at}.50;Coolant temperature;185;\u00b0F")
    path.write_text("\n".join(lines), "utf-8")
    log = read_drive(path)
    assert [one.taken_as for one in log.columns[1:]] == ["speed_m_s", "rpm", "coolant_c"]
    assert np.nanmean(log.channels["speed_m_s"]) == pytest.approx(10.0)
    assert np.nanmean(log.channels["coolant_c"]) == pytest.approx(85.0)
    assert log.time_s[-1] == pytest.approx(119.25)


HEADINGS_OF_OTHERS = {
    "a shaft and its unit": "elapsed,road speed (km/h),crankshaft speed (1/min),cooling water temperature (°C)",
    "units for headings": "sec,km/h,rpm,coolant °C",
    "french": "Temps (s),Vitesse véhicule (km/h),Régime moteur (tr/min),Température liquide de refroidissement (°C)",
    "spanish": "Tiempo (s),Velocidad del vehículo (km/h),Régimen del motor (rpm),Temperatura del refrigerante (°C)",
    "german": "Zeit (s),Geschwindigkeit (km/h),Motordrehzahl (U/min),Kühlmitteltemperatur (°C)",
    "words turned round": "Time [s],Speed of the vehicle [km/h],Speed of the engine [1/min],Temperature of the coolant [°C]",
}


@pytest.mark.parametrize("name", HEADINGS_OF_OTHERS)
def test_headings_by_words_and_units_of_anybody(name, tmp_path):
    path = tmp_path / "log.csv"
    rows = [f"{at},{36 + at % 3},{1500 + at},{60 + at // 8}" for at in range(200)]
    path.write_text("\n".join([HEADINGS_OF_OTHERS[name], *rows]), "utf-8")
    log = read_drive(path)
    assert {one.taken_as for one in log.columns} == {"time_s", "speed_m_s", "rpm", "coolant_c"}
    # 36, 37 and 38 km/h in turn: 10.28 m/s
    assert np.nanmean(log.channels["speed_m_s"]) == pytest.approx(37.0 / 3.6, rel=0.01)


def test_numbers_with_their_unit_in_the_cell_are_named(tmp_path):
    path = tmp_path / "log.csv"
    rows = [f"{at} s,{36 + at % 3} km/h,{1500 + at} rpm" for at in range(50)]
    path.write_text("\n".join(["Time,Vehicle speed,Engine speed", *rows]), "utf-8")
    with pytest.raises(BadFile, match=r"number and its unit together \('0 s'\)"):
        read_drive(path)
