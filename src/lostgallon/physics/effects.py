"""What each condition does to the fuel of one owner's own driving, as curves through zero, member by member.

Season and fuel blend between the good days and now come from the same members, with the tires held at the placard at
each ambient: what the cold takes from the pressure is tire_pressure_pa's, and is never counted here.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lostgallon.physics.conditions import CONDITIONS, condition_named
from lostgallon.physics.multipliers import blend_energy, exact_log
from lostgallon.physics.owner_use import Setup, owner_l_per_100km
from lostgallon.physics.setting import Surroundings
from lostgallon.physics.vehicle import Members
from lostgallon.shop.spread import Floats
from lostgallon.shop.visit import Period, Use, Vehicle

Index = NDArray[np.intp]
DAYS_PER_YEAR = 365.25
COLD_TEST_SPAN_K = 31.0  # from 24 to -7 degC: the cold residual is its scatter there
NOBODY = np.empty(0, dtype=np.intp)
BENT = tuple(condition.id for condition in CONDITIONS if not condition.exact)


@dataclass(frozen=True)
class Effects:
    """Natural logs of fuel ratios for one owner, at the ambient of now.

    `season_log` and `blend_log`, shape (members,), are now over then with nothing wrong. `curves` holds slope and
    bend of each condition that needs the time loop, shape (2, members). `sound_l_per_100km`, shape (members,), is the
    run of now with nothing wrong.
    """

    members: Members
    use: Use
    surroundings: Surroundings
    good_l_per_100km: float
    season_log: Floats
    blend_log: Floats
    curves: Mapping[str, Floats]
    sound_l_per_100km: Floats

    def log_effect(self, condition: str, amount: Floats, member: Index) -> Floats:
        """Natural log of the fuel ratio that an amount of one condition makes by itself.

        Args:
            condition: Its id.
            amount: In the condition's unit, shape (draws,).
            member: Which member each draw is, shape (draws,).

        Returns:
            Shape (draws,). Beyond the farther probe the curve goes on straight.

        Raises:
            BadInput: If there is no such condition.
        """
        known = condition_named(condition)
        if known.exact:
            return exact_log(condition, amount, self._waste_and_sound[:, member])
        slope, bend = self.curves[condition]
        slope, bend = np.take(slope, member), np.take(bend, member)
        far = known.probes[1]
        held = np.minimum(np.maximum(amount, -far), far)
        curve: Floats = held * (slope + bend * held)
        beyond = np.flatnonzero(held != amount)
        curve[beyond] += (amount - held)[beyond] * (slope + 2.0 * bend * held)[beyond]
        return curve

    def total_log(self, amounts: Mapping[str, Floats], member: Index) -> Floats:
        """Natural log of the fuel ratio that all conditions make together, by a run of the physics.

        Args:
            amounts: Amounts by condition id, each of shape (draws,).
            member: Which member each draw is, shape (draws,).

        Returns:
            Shape (draws,): what the single effects leave out is how the conditions act on each other.
        """
        bent = {name: np.asarray(amounts[name]) for name in amounts if name in BENT and name != "trip_km_log"}
        driven = np.flatnonzero(np.any([amount != 0.0 for amount in bent.values()], axis=0)) if bent else NOBODY
        longer_log = np.broadcast_to(amounts.get("trip_km_log", 0.0), member.shape)
        longer = np.flatnonzero(longer_log)
        trips, trip_of = np.unique(np.stack([member[longer], longer_log[longer]]), axis=1, return_inverse=True)
        with_amounts, on_longer_trips = owner_l_per_100km(
            self.use,
            [
                Setup(self.members.taken(member[driven]), self.surroundings, {n: a[driven] for n, a in bent.items()}),
                Setup(self.members.taken(trips[0].astype(np.intp)), self.surroundings, {}, trips[1]),
            ],
        )
        with_all, sound = self.sound_l_per_100km[member], self.sound_l_per_100km[member]
        with_all[driven], sound[longer] = with_amounts, on_longer_trips[trip_of]
        total: Floats = np.log(with_all / sound)
        for name in amounts:
            if condition_named(name).exact:
                total = total + self.log_effect(name, amounts[name], member)
        return total

    @cached_property
    def _waste_and_sound(self) -> Floats:
        """Fuel beyond the lost power per share of misfires [-], and what a sound vehicle burns [L/d]: (2, members)."""
        now = self.good_l_per_100km * np.exp(self.season_log + self.blend_log)
        sound_l_per_day = now / 100.0 * self.use.distance_per_year_km / DAYS_PER_YEAR
        return np.stack([self.members.of("misfire_waste"), sound_l_per_day])


def effects_for(vehicle: Vehicle, use: Use, then: Period, now: Period, *, members: Members) -> Effects:
    """Effects of every condition for one owner.

    Args:
        vehicle: The vehicle.
        use: Its owner's driving.
        then: The good days: ambient, blend and fuel per distance.
        now: The period of the complaint.
        members: Members that fit the vehicle, best 100 to 300.

    Source: docs/physics.md, section on effects.
    """
    here = Surroundings(now.ambient_c, vehicle.elevation_m)
    there = Surroundings(then.ambient_c, vehicle.elevation_m)
    probes = [(name, amount) for name in BENT for amount in condition_named(name).probes]
    setups = [_probe(members, here, name, amount) for name, amount in probes]
    sound, good, *probed = owner_l_per_100km(use, [Setup(members, here, {}), Setup(members, there, {}), *setups])
    cold = members.of("cold_residual") * (then.ambient_c - now.ambient_c) / COLD_TEST_SPAN_K
    logs = {probe: np.log(fuel / sound) for probe, fuel in zip(probes, probed, strict=True)}
    return Effects(
        members=members,
        use=use,
        surroundings=here,
        good_l_per_100km=then.economy_l_per_100km,
        season_log=np.log(sound / good) + cold,
        blend_log=np.log(blend_energy(members, then) / blend_energy(members, now)),
        curves={name: _curve(name, logs) for name in BENT},
        sound_l_per_100km=sound,
    )


def _probe(members: Members, here: Surroundings, name: str, amount: float) -> Setup:
    if name == "trip_km_log":
        return Setup(members, here, {}, longer_log=amount)
    return Setup(members, here, {name: amount})


def _curve(name: str, logs: Mapping[tuple[str, float], Floats]) -> Floats:
    near, far = condition_named(name).probes
    sign = -1.0 if name == "trip_km_log" else 1.0  # the probe ran the longer trips of the good days
    at_near, at_far = sign * logs[name, near] / near, sign * logs[name, far] / far
    bend = (at_far - at_near) / (far - near)
    return np.stack([at_near - bend * near, bend])
