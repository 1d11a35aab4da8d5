"""Fuel flow from what a log gives: fuel rate, else air flow, else manifold pressure and displacement.

Every way carries its own relative uncertainty; docs/drives.md has the equations and the classes of source.
"""

import math
from dataclasses import dataclass

import numpy as np

from lostgallon.drives.samples import Samples
from lostgallon.drives.vehicle import Subject
from lostgallon.physics.air import density_kg_m3
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Floats, Spread
from lostgallon.shop.units import mpg_us

AIR_FUEL_GASOLINE = 14.7
AIR_FUEL_ETHANOL = 9.0
DENSITY_GASOLINE_G_L = 739.3
"""6.17 lb a US gallon, the figure behind mpg = 7.107 x km/h / (g/s)."""
DENSITY_ETHANOL_G_L = 789.0
ETHANOL_SHARE_UNKNOWN = (0.07, 0.04)
"""Mean and sd of the ethanol share of pump gasoline where nobody says it (trade knowledge, from memory)."""
STANDARD_DENSITY_G_L = 1.184
"""Air at 25 degC and 101.3 kPa: absolute load is air a stroke over this times displacement (SAE J1979, PID 43)."""
BREATHING = 0.90
"""Filling of a warm engine at open throttle against manifold density (75 to 95 % in trade practice)."""
COMPRESSION_RATIO = 10.0
GAMMA = 1.35

RELATIVE_SD = {"fuel rate": 0.04, "air flow": 0.045, "absolute load": 0.05, "manifold pressure": 0.08}
"""From memory: what each way may be off on one vehicle, mixture and trims included, ethanol apart."""


@dataclass(frozen=True)
class FuelFlow:
    """Fuel flow at every sample, shape (samples,); its common relative uncertainty; the way it was had."""

    flow_l_s: Floats
    relative_sd: float
    source: str


def air_per_liter_g(ethanol_share: float) -> float:
    """Air that one liter of fuel needs to burn without a rest. [g/L].

    Args:
        ethanol_share: Share of ethanol by volume, 0 to 1.

    Source: 14.7 : 1 and 6.17 lb/gal for gasoline, 9.0 : 1 and 789 g/L for ethanol (handbook values, from memory).
    """
    gasoline = (1.0 - ethanol_share) * DENSITY_GASOLINE_G_L * AIR_FUEL_GASOLINE
    return gasoline + ethanol_share * DENSITY_ETHANOL_G_L * AIR_FUEL_ETHANOL


def filling(manifold_pa: Floats, exhaust_pa: float) -> Floats:
    """Share of the displacement that fills with air at manifold density, residual gas counted. [-], shape (samples,).

    Args:
        manifold_pa: Absolute manifold pressure. [Pa]
        exhaust_pa: Absolute exhaust pressure, near the outside pressure. [Pa]

    Source: Heywood, Internal Combustion Engine Fundamentals, 1988, eq. 6.2 (ideal cycle), times BREATHING.
    """
    ratio = exhaust_pa / np.maximum(manifold_pa, 10_000.0)
    r, g = COMPRESSION_RATIO, GAMMA
    ideal = r / (r - 1.0) - (ratio + g - 1.0) / (g * (r - 1.0))
    return np.asarray(BREATHING * np.maximum(ideal, 0.2))


def speed_density_air_g_s(samples: Samples, subject: Subject) -> Floats | None:
    """Air flow from manifold pressure, intake temperature and engine speed; None where one is missing. [g/s]."""
    manifold, rpm = samples.get("manifold_pa"), samples.get("rpm")
    if manifold is None or rpm is None or subject.displacement_l is None:
        return None
    intake = samples.get("intake_air_c")
    temperature = intake if intake is not None else np.full(len(rpm), 30.0)
    density_g_l = density_kg_m3(pressure_pa=manifold, temperature_c=np.nan_to_num(temperature, nan=30.0))
    strokes_s = rpm / 120.0
    return np.asarray(
        density_g_l * filling(manifold, outside_pa(samples, subject)) * subject.displacement_l * strokes_s
    )


def outside_pa(samples: Samples, subject: Subject) -> float:
    """Outside pressure by the barometer of the module, else by the elevation of the case. [Pa]."""
    barometer = samples.get("barometer_pa")
    return subject.outside_pa if barometer is None else float(np.nanmedian(barometer))


def fuel_flow(samples: Samples, subject: Subject) -> FuelFlow | NotEnough:
    """The fuel flow by the best way the log allows.

    Args:
        samples: The drive.
        subject: What is known of the vehicle.
    """
    direct = samples.get("fuel_rate_l_h")
    if direct is not None and np.nanmax(direct) > 0.0:
        return FuelFlow(np.nan_to_num(direct) / 3600.0, RELATIVE_SD["fuel rate"], "fuel rate")
    air, source = _air(samples, subject)
    if air is None:
        return NotEnough(
            "fuel_used",
            source or "no fuel rate, air flow, or manifold pressure with the displacement",
            "log fuel rate or air flow, or give the displacement with --vehicle CASE.toml",
        )
    share, share_sd = _ethanol(samples, subject)
    mixture, mixture_sd = _mixture(samples)
    flow = air * mixture / air_per_liter_g(share)
    per_share = abs(math.log(air_per_liter_g(share + 0.01) / air_per_liter_g(share))) / 0.01
    sd = math.hypot(RELATIVE_SD[source], per_share * share_sd, mixture_sd)
    return FuelFlow(np.nan_to_num(flow), sd, source)


def _air(samples: Samples, subject: Subject) -> tuple[Floats | None, str]:
    measured = samples.get("air_flow_g_s")
    if measured is not None:
        return measured, "air flow"
    rpm, load = samples.get("rpm"), samples.get("absolute_load_pct")
    if subject.displacement_l is None:
        has_pressure = samples.get("manifold_pa") is not None or load is not None
        return None, "the displacement, to turn manifold pressure into air flow" if has_pressure else ""
    if load is not None and rpm is not None:
        stroke_g = load / 100.0 * STANDARD_DENSITY_G_L * subject.displacement_l
        return np.asarray(stroke_g * rpm / 120.0), "absolute load"
    air = speed_density_air_g_s(samples, subject)
    return air, "manifold pressure" if air is not None else ""


def _ethanol(samples: Samples, subject: Subject) -> tuple[float, float]:
    logged = samples.get("ethanol_pct")
    if logged is not None and np.isfinite(logged).any():
        return float(np.nanmedian(logged)) / 100.0, 0.03
    if subject.ethanol_share is not None:
        return subject.ethanol_share, 0.02
    return ETHANOL_SHARE_UNKNOWN


def _mixture(samples: Samples) -> tuple[Floats, float]:
    """Fuel over what the air reading asks for: commanded lambda, and trims, which add the air the meter did not see."""
    factor = np.ones(len(samples.time_s))
    commanded = samples.get("equivalence_commanded")
    if commanded is not None:
        factor = factor / np.clip(np.nan_to_num(commanded, nan=1.0), 0.6, 2.0)
    for kind in ("short", "long"):
        banks = [trim for bank in (1, 2) if (trim := samples.get(f"{kind}_trim_{bank}_pct")) is not None]
        if banks:
            factor = factor * (1.0 + np.nan_to_num(np.mean(banks, axis=0)) / 100.0)
    return factor, 0.01 if commanded is not None else 0.025


def economy_mpg(speed_km_h: float, air_flow_g_s: float) -> float:
    """Miles a US gallon at a steady speed and air flow, gasoline without ethanol at lambda 1. [mi/gal].

    Args:
        speed_km_h: [km/h]
        air_flow_g_s: [g/s]

    Source: arithmetic on 14.7 : 1 and 6.17 lb/gal: mpg = 7.107 x km/h / (g/s).
    """
    liters_an_hour = air_flow_g_s * 3600.0 / air_per_liter_g(0.0)
    return mpg_us(100.0 * liters_an_hour / speed_km_h)


def spread_about(value: float, relative_sd: float) -> Spread:
    """A positive quantity with a lognormal uncertainty: mean, and the 5th, 50th and 95th percentile."""
    low, high = value * math.exp(-1.645 * relative_sd), value * math.exp(1.645 * relative_sd)
    return Spread(mean=value * math.exp(0.5 * relative_sd**2), p05=low, p50=value, p95=high)
