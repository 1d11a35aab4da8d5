"""What a drive has to be told about the vehicle, and the road load a sound one of its kind would have."""

import math
from dataclasses import dataclass

from lostgallon.shop.visit import Vehicle

STANDARD_GRAVITY_M_S2 = 9.80665
DRIVER_AND_THINGS_KG = 136.0
"""300 lb beyond curb weight, as EPA road loads count it (40 CFR 86.129)."""
ROTATING_SHARE = 0.03
"""Wheels and half the driveline turn with the vehicle: 3 % of its mass where nobody measured it (SAE J2263, J1263)."""


@dataclass(frozen=True)
class RoadLoad:
    """Force to keep rolling on a level road in still air: f0_n + f2_n_s2_m2 * speed^2, its uncertainty, and whence."""

    f0_n: float
    f2_n_s2_m2: float
    relative_sd: float
    source: str

    def force_n(self, speed_m_s: float) -> float:
        """The force at a speed. [N]."""
        return self.f0_n + self.f2_n_s2_m2 * speed_m_s**2


@dataclass(frozen=True)
class Subject:
    """The vehicle a log was taken from, as far as it is known; every field may be missing."""

    displacement_l: float | None = None
    induction: str = "natural"
    mass_kg: float | None = None
    transmission: str | None = None
    road_load: RoadLoad | None = None
    ethanol_share: float | None = None
    ambient_c: float | None = None


def subject_of(vehicle: Vehicle, *, ethanol_share: float | None = None, ambient_c: float | None = None) -> Subject:
    """What the case says about the vehicle, with the road load of a sound one of its kind.

    Args:
        vehicle: The vehicle of the case.
        ethanol_share: Share of ethanol in the fuel now, 0 to 1, where the case says it.
        ambient_c: Outside temperature of the time the log is from, where the case says it. [degC]
    """
    mass_kg = vehicle.curb_weight_kg + DRIVER_AND_THINGS_KG
    truck = vehicle.body in {"suv", "pickup", "van"}
    return Subject(
        displacement_l=vehicle.displacement_l,
        induction=vehicle.induction,
        mass_kg=mass_kg,
        transmission=vehicle.transmission,
        road_load=typical_road_load(mass_kg, truck=truck, all_wheels=vehicle.drive == "4wd"),
        ethanol_share=ethanol_share,
        ambient_c=ambient_c,
    )


def typical_road_load(mass_kg: float, *, truck: bool, all_wheels: bool) -> RoadLoad:
    """Road load of a sound vehicle by its mass and kind, at the density of EPA coefficients (1.167 kg/m3).

    Args:
        mass_kg: With driver. [kg]
        truck: Pickup, van or sport utility.
        all_wheels: Drives all wheels.

    Source: regression on 663 cars of the EPA test-car list, model year 2022 (docs/physics.md); on 150 cars held out its
    error at 50 mph had an sd of 7.3 %.
    """
    size = math.log(mass_kg / 1700.0)
    rolling = math.exp(-4.534 - 0.082 * size - 0.152 * truck + 0.143 * all_wheels)
    drag_area_m2 = math.exp(-0.205 + 0.777 * size + 0.128 * truck)
    return RoadLoad(
        f0_n=mass_kg * STANDARD_GRAVITY_M_S2 * rolling,
        f2_n_s2_m2=0.5 * 1.167 * drag_area_m2,
        relative_sd=0.073,
        source="vehicles of this mass and kind (EPA test-car list)",
    )
