"""Published figures on diagnostic data, air and fuel.

Provenance: SAE J1979 / ISO 15031-5 service 01 (as quoted in published tables); 13 CCR 1968.2(e)(10); US DOE Fact 861
(23 Feb 2015, Argonne); US Standard Atmosphere 1976; CoolProp as an independent library for air; arithmetic shown.
"""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from lostgallon.drives.decoding import decode
from lostgallon.drives.fuel import air_per_liter_g, economy_mpg, filling
from lostgallon.drives.idle import IDLE_L_PER_H_PER_L
from lostgallon.drives.warm_up import below_fault_line
from lostgallon.physics.air import density_kg_m3
from lostgallon.shop.trouble import BadInput


@pytest.mark.parametrize(
    ("channel", "raw", "reading"),
    [
        # SAE J1979: trim 0 is -100 %, 128 is 0, 255 is +99.2 %.
        ("short_trim_1_pct", b"\x00", -100.0),
        ("short_trim_1_pct", b"\x80", 0.0),
        ("long_trim_2_pct", b"\xff", 99.22),
        ("air_flow_g_s", b"\xff\xff", 655.35),
        ("rpm", b"\xff\xff", 16383.75),
        ("coolant_c", b"\x00", -40.0),
        # fuel rate (256 A + B) / 20 L/h: (256 * 1 + 44) / 20 = 15
        ("fuel_rate_l_h", b"\x01\x2c", 15.0),
        ("speed_m_s", b"\x55", 85.0),
    ],
)
def test_bytes_read_as_the_standard_says(published, channel, raw, reading):
    what = f"{channel} of the bytes {raw.hex()}"
    published(29, what, decode(channel, raw), expected=reading, within=0.005, source="SAE J1979 / ISO 15031-5")


@pytest.mark.parametrize(("channel", "raw"), [("rpm", b"\x01"), ("rmp", b"\x01\x02"), ("distance_km", b"\x01")])
def test_bytes_that_can_not_be_read_are_refused(channel, raw):
    with pytest.raises(BadInput, match="expected"):
        decode(channel, raw)


@pytest.mark.parametrize(("speed", "flow"), [(100.0, 15.0), (40.0, 5.5), (120.0, 30.0)])
def test_economy_from_air_flow(published, speed, flow):
    expected = 7.107 * speed / flow
    published(
        30,
        f"mpg at {speed:g} km/h and {flow:g} g/s of air",
        economy_mpg(speed, flow),
        expected=expected,
        within=0.005 * expected,
        source="arithmetic at 14.7 : 1 and 6.17 lb/gal",
    )


def test_ethanol_needs_less_air():
    # By hand: 10 % by volume: 0.9 x 739.3 x 14.7 + 0.1 x 789 x 9.0 = 9780.9 + 710.1 = 10491 g/L
    assert air_per_liter_g(0.10) == pytest.approx(10491.0, abs=1.0)


def test_thermostat_fault_line(published):
    # 20 degF are 11.11 K; an 88 degC thermostat is at fault below 76.89 degC
    line = next(c for c in np.arange(80.0, 70.0, -0.01) if below_fault_line(c, 88.0))
    published(
        31,
        "an 88 °C thermostat is at fault below, °C",
        line,
        expected=88.0 - 20.0 / 1.8,
        within=0.02,
        source="13 CCR 1968.2(e)(10)",
    )
    assert not below_fault_line(76.9, 88.0)
    assert below_fault_line(76.8, 88.0)


def test_idle_of_two_engines():
    # US DOE Fact 861: 0.16 gal/h at 2.0 L and 0.39 gal/h at 4.6 L; a gallon is 3.785 L (0.1 % short of exact)
    for gallons, liters in ((0.16, 2.0), (0.39, 4.6)):
        per_liter = gallons * 3.785 / liters
        assert IDLE_L_PER_H_PER_L[0] <= round(per_liter, 2) <= IDLE_L_PER_H_PER_L[1] + 0.001


@pytest.mark.parametrize(("pressure", "temperature"), [(101325.0, 20.0), (101325.0, -7.0), (35000.0, 35.0)])
def test_air_density_against_an_independent_library(pressure, temperature):
    expected = PropsSI("D", "P", pressure, "T", temperature + 273.15, "Air")
    assert density_kg_m3(pressure_pa=pressure, temperature_c=temperature) == pytest.approx(expected, rel=0.002)


@pytest.mark.parametrize(
    ("row", "cold_c", "warm_c", "expected", "source"),
    [
        (25, (20 - 32) / 1.8, 25.0, 1.1188, "ideal gas law: 298.15 / 266.48"),
        (37, -7.0, 20.0, 1.1018, "CoolProp 8"),
    ],
)
def test_cold_air_is_denser(published, row, cold_c, warm_c, expected, source):
    cold, warm = (density_kg_m3(pressure_pa=101325.0, temperature_c=c) for c in (cold_c, warm_c))
    what = f"air density, {cold_c:.1f} over {warm_c:g} °C"
    published(row, what, cold / warm, expected=expected, within=0.0005, source=source)


def test_filling_by_the_ideal_cycle():
    # Heywood 1988 eq. 6.2 at r 10, gamma 1.35, exhaust over manifold 3:
    # 10/9 - (3 + 0.35) / (1.35 x 9) = 1.11111 - 0.27572 = 0.83539; times 0.90 = 0.75185. At ratio 1 it is 1.
    found = filling(np.array([101325.0 / 3.0, 101325.0]), 101325.0)
    assert found == pytest.approx([0.75185, 0.90], abs=1e-4)
