"""Conditions that multiply or add fuel outside the time loop: exact, and free of it."""

from collections.abc import Callable, Mapping

import numpy as np

from lostgallon.physics.coefficients import value_of
from lostgallon.physics.vehicle import Members
from lostgallon.shop.spread import Floats
from lostgallon.shop.visit import Period


def misfire_log(share: Floats, *, waste: Floats) -> Floats:
    """Natural log of the fuel ratio where a share of combustion events does not burn, shape (draws,). [-]

    Args:
        share: Share of events, shape (draws,). [-]
        waste: Fuel beyond the lost power per share, shape (draws,). [-]

    Source: the work lost is made up by the other events: (1 + waste share) / (1 - share); waste from memory.
    """
    log: Floats = np.log1p(waste * share) - np.log1p(-share)
    return log


def mixture_log(error: Floats) -> Floats:
    """Natural log of the fuel ratio of a mixture off by a fraction, rich positive, shape (draws,). [-]

    Source: excess fuel finds no air and leaves unburned; the lean side from memory.
    """
    log: Floats = np.log1p(np.maximum(error, 0.0) + value_of("lean_saves") * np.minimum(error, 0.0))
    return log


def less_log(fraction: Floats) -> Floats:
    """Natural log of the ratio that makes up for a fraction missing (energy, distance), shape (draws,). [-]

    Source: definition, 1 / (1 - fraction).
    """
    log: Floats = -np.log1p(-fraction)
    return log


def exact_log(condition: str, amount: Floats, waste_and_sound: Floats) -> Floats:
    """Natural log of the fuel ratio of one exact condition, shape (draws,). [-]

    Args:
        condition: Its id, one of those marked exact.
        amount: In its unit, shape (draws,).
        waste_and_sound: Fuel beyond the lost power per share of misfires [-], and what the sound vehicle burns a day
            [L/d], shape (2, draws).

    Source: the functions of this module.
    """
    waste, sound_l_per_day = waste_and_sound
    ways: Mapping[str, Callable[[Floats], Floats]] = {
        "misfire_share": lambda share: misfire_log(share, waste=waste),
        "mixture": mixture_log,
        "energy_per_liter": less_log,
        "odometer_scale": less_log,
        "fuel_lost_l_per_day": lambda lost: np.asarray(np.log1p(lost / sound_l_per_day)),
    }
    return ways[condition](amount)


def blend_energy(members: Members, period: Period) -> Floats:
    """Energy in a liter of the fuel of a period over that of plain summer gasoline, shape (members,). [-]

    Where no ethanol share is given both periods are taken alike, at none.

    Source: US DOE 115 000 and 76 000 Btu/gal for ethanol by volume; winter blend in the table of coefficients.
    """
    ethanol = period.ethanol_share or 0.0
    winter = members.of("winter_energy") * (period.fuel_blend == "winter")
    energy: Floats = (1.0 - winter) * (1.0 - value_of("ethanol_energy") * ethanol)
    return energy
