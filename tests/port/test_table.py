"""The decoding table against published end values and against the standard's formulas written a second time."""

import numpy as np
import pytest

from lostgallon.port.log_files import LogFiles
from lostgallon.port.parameters import parameters, rescaled
from lostgallon.port.simulated import encoded
from lostgallon.readers.drives import read_drive

# Published end values of service 01 (ISO 15031-5, quoted second hand): trim 0, 128, 255; air flow FFFF; engine speed FFFF;
# coolant 0; fuel rate (256 A + B) / 20 L/h.
PUBLISHED = [
    (0x06, "00", -100.0), (0x06, "80", 0.0), (0x06, "ff", 99.21875), (0x07, "80", 0.0),
    (0x10, "ffff", 655.35), (0x0C, "ffff", 16383.75), (0x05, "00", -40.0), (0x5E, "0101", 257 / 20),
]  # fmt: skip


@pytest.mark.parametrize(("pid", "raw", "value"), PUBLISHED)
def test_published_end_values(pid, raw, value):
    assert parameters()[pid].value(bytes.fromhex(raw)) == pytest.approx(value, abs=1e-9)


# The formulas of ISO 15031-5 / SAE J1979 as they are written there (from memory), A to D being the answer's bytes.
WRITTEN = """
    04 A*100/255; 05 A-40; 06 (A-128)*100/128; 0B A; 0C (256*A+B)/4; 0D A; 0E A/2-64; 0F A-40; 10 (256*A+B)/100
    11 A*100/255; 14 A/200; 1F 256*A+B; 21 256*A+B; 24 2/65536*(256*A+B); 2E A*100/255; 2F A*100/255; 30 A; 31 256*A+B
    33 A; 34 2/65536*(256*A+B); 42 (256*A+B)/1000; 43 (256*A+B)*100/255; 44 2/65536*(256*A+B); 46 A-40; 49 A*100/255
    4D 256*A+B; 4E 256*A+B; 52 A*100/255; 5C A-40; 5E (256*A+B)/20; 66 (256*B+C)/32; 67 B-40; 68 B-40
    A6 (A*2**24+B*2**16+C*2**8+D)/10; 03 A; 07 (A-128)*100/128; 08 (A-128)*100/128; 09 (A-128)*100/128
"""
FORMULAS = {int(one.split()[0], 16): one.split()[1] for one in WRITTEN.replace("\n", ";").split(";") if one.strip()}


@pytest.mark.parametrize("pid", sorted(FORMULAS))
def test_formulas_of_the_standard(pid):
    rng = np.random.default_rng(1)
    for data in rng.integers(0, 256, (200, 8), dtype=np.uint8):
        expected = eval(FORMULAS[pid], dict(zip("ABCD", map(int, data[:4]), strict=True)))  # noqa: S307 - the lines above
        assert parameters()[pid].value(data.tobytes()) == pytest.approx(expected, rel=1e-5, abs=1e-4)


def test_every_number_of_the_table_has_a_formula_here():
    assert {pid for pid, one in parameters().items() if one.size} == set(FORMULAS)


def test_a_module_that_states_its_own_scale():
    # SAE J1979, 4F and 50: ranges stated as 5 (ratio) and 510 kPa (51 tens), air flow up to 1000 g/s (100 tens).
    scaled = rescaled(parameters(), {0x4F: bytes([5, 0, 0, 51]), 0x50: bytes([100, 0, 0, 0])})
    assert scaled[0x44].value(b"\xff\xff") == pytest.approx(5.0)
    assert scaled[0x0B].value(b"\xff") == pytest.approx(510.0)
    assert scaled[0x10].value(b"\xff\xff") == pytest.approx(1000.0)
    as_usual = rescaled(parameters(), {0x4F: bytes(4), 0x50: bytes(4)})
    assert as_usual[0x10].value(b"\xff\xff") == pytest.approx(655.35)


LIKELY = {
    "speed_m_s": 60.0, "rpm": 1500.0, "air_flow_g_s": 8.0, "manifold_pa": 40.0, "load_pct": 30.0, "pedal_pct": 20.0,
    "equivalence_commanded": 1.0, "fuel_rate_l_h": 3.0, "lambda_1": 1.0, "absolute_load_pct": 25.0, "fuel_status": 2.0,
    "coolant_c": 88.0, "intake_air_c": 20.0, "ambient_c": 12.0, "voltage_v": 14.1, "throttle_pct": 17.0, "timing_deg": 20.0,
    "barometer_pa": 99.0, "purge_pct": 10.0, "upstream_v": 0.5, "fuel_level_pct": 50.0, "run_time_s": 5.0, "oil_c": 90.0,
    "ethanol_pct": 10.0, "warm_ups": 30.0, "distance_since_clear_km": 700.0, "odometer_km": 150_000.0,
    "short_trim_1_pct": 2.0, "short_trim_2_pct": 3.0, "long_trim_1_pct": 4.0, "long_trim_2_pct": 5.0,
}  # fmt: skip


def test_the_drive_reader_takes_every_column_as_what_it_is(tmp_path):
    """A table of our own is read back by headings and units alone; nothing is left open and nothing is guessed."""
    wanted = {one.channel for one in parameters().values() if one.channel}
    assert wanted == set(LIKELY)
    files = LogFiles(tmp_path / "drive.csv", tmp_path / "raw.csv", channel_ids=sorted(LIKELY), codes=("P0128",))
    rng = np.random.default_rng(2)
    for second in range(120):
        drift = 1.0 + 0.05 * rng.random()
        files.row(
            float(second),
            {name: value * drift for name, value in LIKELY.items()} | {"fuel_status": 2.0, "run_time_s": 5.0 + second},
        )
    files.close()
    log = read_drive(tmp_path / "drive.csv")
    assert set(log.channels) | {"run_time_s"} == set(LIKELY) | {"run_time_s"}
    assert log.codes == ("P0128",)
    assert not log.unsupported
    assert not log.rejected
    assert not [note for note in log.notes if "not used" in note]
    assert not [one for one in log.columns if "no unit stated; only" in one.why]


def test_values_survive_the_way_to_the_port_and_back():
    # Half a step is what whole steps can cost.
    for parameter in parameters().values():
        if parameter.size and parameter.channel:
            value = LIKELY[parameter.channel]
            assert parameter.value(encoded(value, parameter)) == pytest.approx(value, abs=0.51 * parameter.scale)
