"""Air: pressure by elevation and density by temperature."""

import numpy as np

from lostgallon.shop.spread import Floats

STANDARD_PRESSURE_PA = 101_325.0
DRY_AIR_J_PER_KG_K = 287.05
ZERO_CELSIUS_K = 273.15
REFERENCE_DENSITY_KG_M3 = 1.167  # test-cell air to which EPA road-load coefficients refer; from memory


def pressure_at_elevation_pa(elevation_m: Floats | float) -> Floats | float:
    """Pressure of the standard atmosphere. [Pa]

    Args:
        elevation_m: Height above the sea, good from -400 to 11 000. [m]

    Source: US Standard Atmosphere, 1976: (1 - h / 44 329)^5.255876.
    """
    return STANDARD_PRESSURE_PA * (1.0 - np.asarray(elevation_m) / 44_329.0) ** 5.255876


def density_kg_m3(*, pressure_pa: Floats | float, temperature_c: Floats | float) -> Floats | float:
    """Density of dry air as an ideal gas. [kg/m3]

    Args:
        pressure_pa: Absolute pressure. [Pa]
        temperature_c: Air temperature. [degC]

    Source: ideal gas law with R = 287.05 J/(kg K), US Standard Atmosphere, 1976.
    """
    return np.asarray(pressure_pa) / (DRY_AIR_J_PER_KG_K * (np.asarray(temperature_c) + ZERO_CELSIUS_K))
