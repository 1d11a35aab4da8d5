"""Published formulas and worked examples that the program is checked against. The package does not use them.

Each is written out from its source and first proven on the source's own worked example (tests/reference); only then
does it serve as a yardstick for the program.
"""


def carbon_balance_mpg(
    *,
    hydrocarbons_g_per_mi: float,
    carbon_monoxide_g_per_mi: float,
    carbon_dioxide_g_per_mi: float,
    specific_gravity: float,
    carbon_weight_fraction: float,
    net_heating_value_btu_per_lb: float,
) -> float:
    """Fuel economy from exhaust carbon, corrected to the energy of the certification fuel. [mi/gal]

    Source: 40 CFR part 600, appendix II(b).
    """
    carbon = (
        carbon_weight_fraction * hydrocarbons_g_per_mi
        + 0.429 * carbon_monoxide_g_per_mi
        + 0.273 * carbon_dioxide_g_per_mi
    )
    energy = 0.6 * specific_gravity * net_heating_value_btu_per_lb + 5471.0
    return 5174e4 * carbon_weight_fraction * specific_gravity / (carbon * energy)


def carbon_balance_mpg_fixed_fuel(
    *, hydrocarbons_g_per_mi: float, carbon_monoxide_g_per_mi: float, carbon_dioxide_g_per_mi: float
) -> float:
    """The older form, for one certification fuel. [mi/gal]

    Source: 40 CFR 600.113 (the form before energy correction).
    """
    carbon = 0.866 * hydrocarbons_g_per_mi + 0.429 * carbon_monoxide_g_per_mi + 0.273 * carbon_dioxide_g_per_mi
    return 2421.0 / carbon


def cold_distance_share(*, trip_km: float, ambient_c: float) -> float:
    """Share of the distance driven with a cold engine. [-]

    Source: EMEP/EEA air pollutant emission inventory guidebook, chapter 1.A.3.b, cold-start method: beta.
    """
    beta = 0.6474 - 0.02545 * trip_km - (0.00974 - 0.000385 * trip_km) * ambient_c
    return max(beta, 0.0)


def cold_fuel_factor(*, trip_km: float, ambient_c: float) -> float:
    """Fuel of a trip from cold over the same trip warm. [-]

    Source: EMEP/EEA guidebook, chapter 1.A.3.b: 1 + beta (e - 1) with e = 1.47 - 0.009 t for gasoline fuel use.
    """
    return 1.0 + cold_distance_share(trip_km=trip_km, ambient_c=ambient_c) * (0.47 - 0.009 * ambient_c)


def standard_atmosphere(elevation_m: float) -> tuple[float, float]:
    """Pressure and density over their sea-level values. [-], [-]

    Source: US Standard Atmosphere, 1976, troposphere.
    """
    base = 1.0 - elevation_m / 44_329.0
    return base**5.255876, base**4.255876
