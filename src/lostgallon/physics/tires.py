"""Tires: pressure by the gas law, and rolling resistance by pressure and temperature."""

import numpy as np

from lostgallon.physics.air import STANDARD_PRESSURE_PA, ZERO_CELSIUS_K
from lostgallon.physics.coefficients import value_of
from lostgallon.shop.spread import Floats
from lostgallon.shop.trouble import OutOfRange
from lostgallon.shop.units import PA_PER_PSI

RUNNING_REFERENCE_C = 44.0  # 24 degC test cell and 20 K of running rise; from memory
DEFAULT_PLACARD_PA = 33.0 * PA_PER_PSI  # common practice, no source


def pressure_at_temperature(
    gauge_pa: float, *, from_c: float, to_c: float, atmosphere_pa: float = STANDARD_PRESSURE_PA
) -> float:
    """Gauge pressure of a closed tire brought from one temperature to another. [Pa]

    Absolute pressure is in proportion to absolute temperature; scaling the gauge pressure is wrong.

    Args:
        gauge_pa: Gauge pressure as read. [Pa]
        from_c: Temperature of the tire at the reading. [degC]
        to_c: Temperature asked for. [degC]
        atmosphere_pa: Air pressure at the place. [Pa]

    Raises:
        OutOfRange: If a temperature is outside -60 to 120 degC or the tire would hold less than nothing.

    Source: ideal gas law at constant volume.
    """
    for name, temperature_c in (("from", from_c), ("to", to_c)):
        if not -60.0 <= temperature_c <= 120.0:
            raise OutOfRange(name, found=f"{temperature_c:g} degC", expected="-60 to 120 degC")
    if gauge_pa < 0.0:
        raise OutOfRange("tire pressure", found=f"{gauge_pa:g} Pa", expected="zero or more")
    ratio = (to_c + ZERO_CELSIUS_K) / (from_c + ZERO_CELSIUS_K)
    return (gauge_pa + atmosphere_pa) * ratio - atmosphere_pa


def rolling_factor(*, pressure_pa: Floats, placard_pa: float, exponent: Floats) -> Floats:
    """Rolling resistance at a pressure over that at the placard. [-]

    Args:
        pressure_pa: Cold gauge pressure at the ambient it is used at, shape (draws,). [Pa]
        placard_pa: Placard pressure. [Pa]
        exponent: Inflation exponent, shape (draws,). [-]

    Returns:
        (p / p0)^-exponent, shape (draws,); pressures under a fifth of the placard are held there.

    Source: exponent from TRB Special Report 286 (2006), chapter 3: 1.4 % per psi between 24 and 36 psi.
    """
    share = np.maximum(pressure_pa / placard_pa, 0.2)
    factor: Floats = share ** (-exponent)
    return factor


def rolling_coefficient(
    *, mass_kg: float, truck: bool, all_wheels_driven: bool, residual_log: Floats | float = 0.0
) -> Floats:
    """Rolling coefficient of a warm tire at the placard, from what a technician knows. [-]

    Args:
        mass_kg: Curb weight and 136 kg. [kg]
        truck: Van, sport utility or pickup body.
        all_wheels_driven: Four driven wheels.
        residual_log: Natural log of this vehicle over its class, any shape. [-]

    Source: regression on road-load coefficients of the EPA test-car list 2022 (tools/fit_epa.py).
    """
    log = (
        value_of("rolling_log")
        + value_of("rolling_per_mass_log") * np.log(mass_kg / 1700.0)
        + value_of("rolling_truck_log") * truck
        + value_of("rolling_4wd_log") * all_wheels_driven
    )
    coefficient: Floats = np.exp(log + residual_log)
    return coefficient
