"""Members: parameter sets that fit what is known of one vehicle, drawn from the one table of coefficients."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np

from lostgallon.physics.coefficients import at_deviate, coefficients, value_of
from lostgallon.shop.spread import Floats
from lostgallon.shop.visit import Vehicle

DRIVER_KG = 136.0  # 300 lb over curb weight: 40 CFR 86.129
GASOLINE_J_PER_L = 31.81e6  # 114 132 Btu/gal, the gasoline to which EPA fuel economy refers
RATIO_SPREAD = {3: 2.8, 4: 4.0, 5: 4.8, 6: 6.0, 7: 6.5, 8: 7.2, 9: 8.5, 10: 7.4}  # first over top gear; from memory
CVT_SPREAD, CVT_AS_GEARS = 6.5, 8  # from memory
USUAL_GEARS = ((2000, 4), (2008, 5), (2015, 6), (9999, 8))  # model year up to, gears; from memory
OLDER_BEFORE = 2010  # model year; from memory
TRUCKS = ("van", "suv", "pickup")


@cache
def uncertain() -> tuple[str, ...]:
    """The coefficients that have a spread, in the order of the table: the rows of `Members.deviates`."""
    return tuple(name for name, coefficient in coefficients().items() if coefficient.spread > 0.0)


@dataclass(frozen=True)
class Members:
    """Parameter sets of one vehicle.

    `deviates` are standard normal deviates of the coefficients of `uncertain()`, shape (coefficients, members);
    before a calibration they are independent draws, after it they fit the vehicle's ratings together.
    """

    vehicle: Vehicle
    deviates: Floats

    @property
    def count(self) -> int:
        """Number of members."""
        return int(self.deviates.shape[1])

    def of(self, name: str) -> Floats:
        """A coefficient for each member, shape (members,), in the unit of the table."""
        if name not in uncertain():
            return np.full(self.count, value_of(name))
        return at_deviate(name, self.deviates[uncertain().index(name)])

    def taken(self, index: np.ndarray) -> "Members":
        """The members of an index array, in its order, with repeats."""
        return Members(self.vehicle, self.deviates[:, index])


def prior_members(vehicle: Vehicle, count: int, *, rng: np.random.Generator) -> Members:
    """Members before any rating is known: what the class of the vehicle allows.

    Args:
        vehicle: What is known of it.
        count: How many members.
        rng: Source of the draws.
    """
    return Members(vehicle, rng.standard_normal((len(uncertain()), count)))


def central_member(vehicle: Vehicle) -> Members:
    """One member with every coefficient at its table value."""
    return Members(vehicle, np.zeros((len(uncertain()), 1)))


def loaded_mass_kg(vehicle: Vehicle) -> float:
    """Curb weight and what a test carries besides. [kg]"""
    return vehicle.curb_weight_kg + DRIVER_KG


def gears_of(vehicle: Vehicle) -> int:
    """Number of forward gears, the usual number of its time where it is not known. [-]"""
    if vehicle.transmission == "cvt":
        return CVT_AS_GEARS
    if vehicle.gears is not None:
        return vehicle.gears
    return next(gears for until, gears in USUAL_GEARS if vehicle.model_year <= until)


def ratio_spread_of(vehicle: Vehicle) -> float:
    """Ratio of first gear over top gear. [-]"""
    if vehicle.transmission == "cvt":
        return CVT_SPREAD
    gears = min(max(gears_of(vehicle), min(RATIO_SPREAD)), max(RATIO_SPREAD))
    return RATIO_SPREAD[gears]


def is_truck(vehicle: Vehicle) -> bool:
    """Whether the body is one of those the list counts as trucks."""
    return vehicle.body in TRUCKS


def has_converter(vehicle: Vehicle) -> bool:
    """Whether a torque converter slips below the lock-up speed."""
    return vehicle.transmission in ("automatic", "cvt")


Amounts = Mapping[str, Floats | float]
"""Amounts of conditions by id, each a number or of shape (members,)."""
