"""`lostgallon tires` against the gas law worked by hand."""

import pytest

USUAL = ("--placard", "33psi", "--bay", "68degF", "--street", "25degF")


def test_a_tire_set_warm_reads_low_in_the_cold(published, run):
    # Ideal gas law on absolute values; scaling the gauge pressure instead would give 29.09.
    said = run(
        "tires", "--placard", "32psi", "--bay", "68degF", "--street", "20degF", "--readings", "32 psi", "--json"
    ).json
    what = "32 psig at 68 °F, psig at 20 °F"
    published(13, what, said["at_street_psi"], expected=27.75, within=0.02, source="ideal gas law")
    assert said["readings"][0]["equivalent_cold_psi"] == pytest.approx(27.75, abs=0.02)
    assert said["readings"][0]["short_by_psi"] == pytest.approx(32 - 27.75, abs=0.02)


def test_the_pressure_to_set_comes_back_as_the_placard(run):
    # By hand: (33 + 14.696) x 527.67 / 484.67 - 14.696 = 37.23 psi
    said = run("tires", *USUAL, "--json").json
    assert said["schema"] == "lostgallon/1"
    assert said["set_psi"] == pytest.approx(37.23, abs=0.01)
    assert said["at_street_psi"] == pytest.approx(33, abs=1e-9)


def test_thinner_air_changes_the_sum(run):
    # US Standard Atmosphere 1976 at 1600 m: 83.52 kPa = 12.11 psi; (33 + 12.11) x 527.67 / 484.67 - 12.11 = 37.00 psi
    assert run("tires", *USUAL, "--elevation", "1600m", "--json").json["set_psi"] == pytest.approx(37.00, abs=0.01)


@pytest.mark.parametrize("limit_psi", [35, 36.5, 44])
def test_never_above_the_sidewall_maximum(run, limit_psi):
    said = run("tires", *USUAL, "--sidewall-max", f"{limit_psi}psi", "--json").json
    assert said["set_psi"] <= limit_psi + 1e-9
    warned = any("above the sidewall maximum" in caution for caution in said["cautions"])
    assert warned == (limit_psi < 37.23)


def test_summer_to_winter_costs_2_to_4_psi(published, run):
    for placard_psi in (32, 35, 44, 50):
        said = run("tires", "--placard", f"{placard_psi}psi", "--bay", "70degF", "--street", "40degF",
                   "--readings", f"{placard_psi}psi", "--json").json  # fmt: skip
        short_psi = said["readings"][0]["short_by_psi"]
        what = f"{placard_psi} psi at 70 °F, psi short at 40 °F"
        published(14, what, short_psi, ends=(2, 4), source="common practice, no source")


def test_fuel_for_pressure_stays_in_the_published_band(run):
    # 8 psi short on all four costs 3 +- 1 % mpg (EPA-AA-SDSB-80-9, 1980)
    said = run(
        "tires", "--placard", "28psi", "--bay", "68degF", "--street", "68degF", "--readings", "20psi,20psi", "--json"
    ).json
    assert 2 <= said["fuel_pct"]["p50"] <= 4
    assert said["fuel_pct"]["p05"] < said["fuel_pct"]["p50"] < said["fuel_pct"]["p95"]


def test_readings_take_commas_and_either_unit(run):
    said = run("tires", *USUAL, "--readings", "1,9 bar, 27psi,190 kPa", "--json").json
    assert [round(reading["psi"], 1) for reading in said["readings"]] == [27.6, 27.0, 27.6]


def test_readings_taken_elsewhere_are_brought_to_the_street(run):
    said = run("tires", *USUAL, "--readings", "33psi", "--readings-at", "25degF", "--json").json
    assert said["readings"][0]["equivalent_cold_psi"] == pytest.approx(33)


def test_the_arithmetic_and_the_cautions_are_shown(run):
    ran = run("tires", *USUAL, "--readings", "27psi,28psi")
    assert "527.7 / 484.7" in ran.out
    assert "Set 37.2 psi" in ran.out
    assert "CAUTION" in ran.out
    assert "sidewall" in ran.out
    assert "Recheck" in ran.out


@pytest.mark.parametrize(
    ("option", "typed", "said"),
    [
        ("--placard", "33", "'33' without a unit"),
        ("--placard", "330psi", "7.252 to 145 psi"),
        ("--placard", "33 mi", "found the unit 'mi'"),
        ("--bay", "68", "'68' without a unit"),
        ("--bay", "280 K", "found the unit 'K'"),
        ("--street", "250degF", "-67 to 140 degF"),
        ("--street", "cold", "found 'cold'"),
        ("--elevation", "9000m", "-450 to 5500 m"),
        ("--sidewall-max", "44", "'44' without a unit"),
        ("--readings", "27,28", "--readings, number 1"),
        ("--readings", "27psi,x", "--readings, number 2"),
        ("--readings", "-3psi", "0 to 145 psi"),
        ("--readings-at", "68degC", "degF"),
    ],
)
def test_a_slip_gets_one_line(run, option, typed, said):
    arguments = dict(zip(USUAL[::2], USUAL[1::2], strict=True)) | {option: typed}
    ran = run("tires", *(part for pair in arguments.items() for part in pair))
    assert ran.status == 2
    assert said in ran.line
    assert option in ran.line
