"""The yardsticks themselves, on the worked examples of their sources (rows of docs/validation.md)."""

import pytest
from tools.published import (
    carbon_balance_mpg,
    carbon_balance_mpg_fixed_fuel,
    cold_distance_share,
    cold_fuel_factor,
    standard_atmosphere,
)

from lostgallon.shop.units import MPG_TIMES_L_PER_100KM

EXHAUST = {"hydrocarbons_g_per_mi": 0.139, "carbon_monoxide_g_per_mi": 1.59, "carbon_dioxide_g_per_mi": 317.0}


APPENDIX_II = "40 CFR part 600, appendix II"


def test_row_1_carbon_balance_energy_form(published):
    # 40 CFR part 600, appendix II(b), worked example: 27.9 mpg
    fuel = {"specific_gravity": 0.745, "carbon_weight_fraction": 0.868, "net_heating_value_btu_per_lb": 18478.0}
    mpg = carbon_balance_mpg(**EXHAUST, **fuel)
    published(1, "carbon balance, energy form, mpg", mpg, expected=27.90, within=0.01, source=APPENDIX_II)


def test_row_2_carbon_balance_older_form(published):
    # 40 CFR 600.113 with the same exhaust
    mpg = carbon_balance_mpg_fixed_fuel(**EXHAUST)
    published(2, "carbon balance, older form, mpg", mpg, expected=27.72, within=0.01, source="40 CFR 600.113")


def test_row_3_economy_is_averaged_as_fuel_per_distance(published):
    # 40 CFR part 600, appendix II: 55 % of 27.7 mpg and 45 % of 36.9 mpg is 31.2; the plain mean, 31.84, is wrong
    city, highway = (MPG_TIMES_L_PER_100KM / mpg for mpg in (27.7, 36.9))
    combined = MPG_TIMES_L_PER_100KM / (0.55 * city + 0.45 * highway)
    published(3, "55/45 combined economy, mpg", combined, expected=31.20, within=0.01, source=APPENDIX_II)
    assert combined != pytest.approx(0.55 * 27.7 + 0.45 * 36.9, abs=0.3)


@pytest.mark.parametrize(
    ("row", "trip_km", "ambient_c", "factor", "tolerance"),
    [
        (6, 12, 25, 1.0524, 2e-4),
        (6, 12, -20 / 3, 1.1994, 2e-4),
        (7, 5.633, 25, 1.0771, 3e-4),
        (7, 5.633, -20 / 3, 1.2939, 3e-4),
    ],
)
def test_rows_6_and_7_cold_start_factor(published, row, trip_km, ambient_c, factor, tolerance):
    what = f"cold-start factor, {trip_km} km at {ambient_c:.1f} °C"
    computed = cold_fuel_factor(trip_km=trip_km, ambient_c=ambient_c)
    published(row, what, computed, expected=factor, within=tolerance, source="EMEP/EEA guidebook 1.A.3.b, by hand")


def test_row_8_the_cold_share_ends(published):
    start = cold_distance_share(trip_km=0, ambient_c=0)
    published(8, "share driven cold, 0 km at 0 °C", start, expected=0.6474, within=1e-12, source="the same")
    end = cold_distance_share(trip_km=25.44, ambient_c=0)
    published(8, "share driven cold, 25.44 km at 0 °C", end, expected=0, within=1e-4, source="the same")
    assert cold_distance_share(trip_km=40, ambient_c=0) == 0


def test_row_26_standard_atmosphere(published):
    source = "US Standard Atmosphere 1976"
    pressure, density = standard_atmosphere(5000 * 0.3048)
    published(26, "pressure at 5000 ft over sea level", pressure, expected=0.8320, within=3e-4, source=source)
    published(26, "density at 5000 ft over sea level", density, expected=0.8617, within=3e-4, source=source)
