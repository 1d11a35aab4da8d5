"""What a drive has to be told about the vehicle, and the road load a sound one of its kind would have."""

import math
from dataclasses import dataclass

import numpy as np

from lostgallon.physics.air import REFERENCE_DENSITY_KG_M3, STANDARD_PRESSURE_PA, pressure_at_elevation_pa
from lostgallon.physics.coefficients import value_of
from lostgallon.physics.vehicle import is_truck, loaded_mass_kg
from lostgallon.shop.visit import CertifiedRoadLoad, Vehicle

STANDARD_GRAVITY_M_S2 = 9.80665
ROAD_LOAD_SD = 0.073
"""Error of a road load from mass and kind alone at 50 mph, on 150 cars held out (docs/physics.md)."""
CERTIFIED_SD = 0.03
"""How far a sound vehicle is from the road load its model was certified with. From memory."""
COASTING_M_S = (40.0 / 3.6, 110.0 / 3.6)


@dataclass(frozen=True)
class RoadLoad:
    """Force to keep rolling on a level road in still air: f0_n + f2_n_s2_m2 * speed^2, its uncertainty, and whence.

    `own` is one that the same vehicle showed at the same assumed mass, so that an error of the mass cancels.
    """

    f0_n: float
    f2_n_s2_m2: float
    relative_sd: float
    source: str
    own: bool = False

    def force_n(self, speed_m_s: float) -> float:
        """The force at a speed. [N]."""
        return self.f0_n + self.f2_n_s2_m2 * speed_m_s**2


@dataclass(frozen=True)
class Subject:
    """The vehicle a log was taken from and where, as far as it is known; every field may be missing."""

    displacement_l: float | None = None
    induction: str = "natural"
    mass_kg: float | None = None
    transmission: str | None = None
    road_load: RoadLoad | None = None
    ethanol_share: float | None = None
    ambient_c: float | None = None
    outside_pa: float = STANDARD_PRESSURE_PA


def subject_of(vehicle: Vehicle, *, ethanol_share: float | None = None, ambient_c: float | None = None) -> Subject:
    """What the case says about the vehicle, with its certified road load or that of a sound one of its kind.

    Args:
        vehicle: The vehicle of the case.
        ethanol_share: Share of ethanol in the fuel now, 0 to 1, where the case says it.
        ambient_c: Outside temperature of the time the log is from, where the case says it. [degC]
    """
    return Subject(
        displacement_l=vehicle.displacement_l,
        induction=vehicle.induction,
        mass_kg=loaded_mass_kg(vehicle),
        transmission=vehicle.transmission,
        road_load=certified_road_load(vehicle.certified) if vehicle.certified else typical_road_load(vehicle),
        ethanol_share=ethanol_share,
        ambient_c=ambient_c,
        outside_pa=float(pressure_at_elevation_pa(vehicle.elevation_m)),
    )


def certified_road_load(certified: CertifiedRoadLoad) -> RoadLoad:
    """The certified road load in two terms: least squares over the speeds of a coast-down.

    Args:
        certified: Its three terms, at the air density that certificates refer to.
    """
    speed_m_s = np.linspace(*COASTING_M_S, 30)
    force_n = certified.f0_n + certified.f1_n_s_m * speed_m_s + certified.f2_n_s2_m2 * speed_m_s**2
    terms = np.column_stack([np.ones(len(speed_m_s)), speed_m_s**2])
    f0_n, f2 = map(float, np.linalg.lstsq(terms, force_n, rcond=None)[0])
    return RoadLoad(f0_n, f2, CERTIFIED_SD, "its certified road load")


def typical_road_load(vehicle: Vehicle) -> RoadLoad:
    """Road load of a sound vehicle by its mass and kind, at the air density of EPA coefficients.

    Args:
        vehicle: The vehicle of the case.

    Source: regression on 663 cars of the EPA test-car list, model year 2022 (docs/physics.md).
    """
    mass_kg = loaded_mass_kg(vehicle)
    size = math.log(mass_kg / 1700.0)
    truck, four = float(is_truck(vehicle)), float(vehicle.drive == "4wd")
    rolling = math.exp(
        value_of("rolling_log")
        + value_of("rolling_per_mass_log") * size
        + value_of("rolling_truck_log") * truck
        + value_of("rolling_4wd_log") * four
    )
    drag_area_m2 = math.exp(
        value_of("drag_area_log") + value_of("drag_area_per_mass_log") * size + value_of("drag_area_truck_log") * truck
    )
    return RoadLoad(
        f0_n=mass_kg * STANDARD_GRAVITY_M_S2 * rolling,
        f2_n_s2_m2=0.5 * REFERENCE_DENSITY_KG_M3 * drag_area_m2,
        relative_sd=ROAD_LOAD_SD,
        source="vehicles of this mass and kind",
    )
