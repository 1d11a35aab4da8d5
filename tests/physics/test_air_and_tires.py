"""Air and tires against exact arithmetic and an independent library."""

import pytest
from CoolProp.CoolProp import PropsSI

from lostgallon.physics.air import density_kg_m3, pressure_at_elevation_pa
from lostgallon.physics.tires import pressure_at_temperature
from lostgallon.shop.trouble import OutOfRange
from lostgallon.shop.units import PA_PER_PSI


def test_a_tire_from_68_to_20_degrees_fahrenheit():
    # Ideal gas law by hand: (32 + 14.696) x 479.67 / 527.67 - 14.696 = 27.75; scaling the gauge reading gives 29.09.
    found = pressure_at_temperature(32.0 * PA_PER_PSI, from_c=20.0, to_c=-6.6667) / PA_PER_PSI
    assert found == pytest.approx(27.75, abs=0.02)
    assert found != pytest.approx(29.09, abs=1.0)


def test_a_tire_from_summer_to_winter():
    # Common practice, no source: a 70 degF summer to a 40 degF winter loses 2 to 4 psi.
    for placard in (30.0, 35.0, 50.0):
        found = pressure_at_temperature(placard * PA_PER_PSI, from_c=21.1, to_c=4.4) / PA_PER_PSI
        assert 2.0 <= placard - found <= 4.0


def test_a_tire_too_hot_or_empty_is_refused():
    with pytest.raises(OutOfRange, match="-60 to 120 degC"):
        pressure_at_temperature(2e5, from_c=20.0, to_c=300.0)
    with pytest.raises(OutOfRange, match="zero or more"):
        pressure_at_temperature(-1.0, from_c=20.0, to_c=30.0)


def test_air_of_20_over_77_degrees_fahrenheit():
    # Ideal gas law by hand: 298.15 / 266.48 = 1.1188.
    cold, mild = (density_kg_m3(pressure_pa=101_325.0, temperature_c=c) for c in (-6.6667, 25.0))
    assert cold / mild == pytest.approx(1.1188, abs=0.0005)


def test_air_against_a_reference_library():
    # CoolProp, dry air at 101 325 Pa: ratio of -7 over 20 degC 1.1018.
    cold, mild = (density_kg_m3(pressure_pa=101_325.0, temperature_c=c) for c in (-7.0, 20.0))
    reference = PropsSI("D", "T", 266.15, "P", 101_325, "Air") / PropsSI("D", "T", 293.15, "P", 101_325, "Air")
    assert cold / mild == pytest.approx(1.1018, abs=0.0005)
    assert cold / mild == pytest.approx(reference, abs=0.0006)
    assert cold == pytest.approx(PropsSI("D", "T", 266.15, "P", 101_325, "Air"), rel=0.002)


def test_the_standard_atmosphere_at_5000_feet():
    # US Standard Atmosphere 1976: pressure ratio 0.8320, density ratio 0.8617 (at 5.094 degC over 15 degC).
    pressure = pressure_at_elevation_pa(1524.0)
    assert pressure / 101_325.0 == pytest.approx(0.8320, abs=0.0003)
    high = density_kg_m3(pressure_pa=pressure, temperature_c=15.0 - 6.5 * 1.524)
    assert high / density_kg_m3(pressure_pa=101_325.0, temperature_c=15.0) == pytest.approx(0.8617, abs=0.0003)
