"""Members that fit a vehicle's ratings: an ensemble smoother with several passes over the same data."""

from dataclasses import dataclass

import numpy as np

from lostgallon.physics.labels import Laboratory, laboratory
from lostgallon.physics.laboratory import laboratory_log
from lostgallon.physics.vehicle import Members, prior_members
from lostgallon.shop.spread import Floats
from lostgallon.shop.visit import Vehicle

PASSES = 3
SURPRISE_WARNED = 3.0  # distance of the ratings from the class in standard deviations; chosen


@dataclass(frozen=True)
class Calibrated:
    """Members of a vehicle, what was known of it, and what does not fit."""

    members: Members
    known: Laboratory
    warnings: tuple[str, ...]


def calibrated(vehicle: Vehicle, count: int, *, rng: np.random.Generator) -> Calibrated:
    """Members that fit the ratings of a vehicle; without ratings, those of its class.

    Args:
        vehicle: What is known of it.
        count: How many members; from 200 on the result is steady.
        rng: Source of the draws.

    Returns:
        The members, and a warning where the ratings lie outside what the class allows.

    Source: ensemble smoother with multiple data assimilation (Emerick and Reynolds, Computers and Geosciences 55,
    2013, equations 7 to 9) on the natural log of laboratory fuel.
    """
    known = laboratory(vehicle)
    members = prior_members(vehicle, count, rng=rng)
    if not known.schedules:
        return Calibrated(members, known, ())
    warnings: tuple[str, ...] = ()
    for turn in range(PASSES):
        said = np.stack([laboratory_log(members, name) for name in known.schedules])
        if turn == 0:
            warnings = _surprise(said, known)
        members = Members(vehicle, _moved(members.deviates, said, known, rng=rng))
    return Calibrated(members, known, warnings)


def _moved(deviates: Floats, said: Floats, known: Laboratory, *, rng: np.random.Generator) -> Floats:
    sd = np.sqrt(PASSES) * np.array(known.sd_log)[:, None]
    heard = np.array(known.log_l_per_100km)[:, None] + sd * rng.standard_normal(said.shape)
    off_state = deviates - deviates.mean(axis=1, keepdims=True)
    off_said = said - said.mean(axis=1, keepdims=True)
    count = said.shape[1] - 1
    across, within = off_state @ off_said.T / count, off_said @ off_said.T / count
    moved: Floats = deviates + across @ np.linalg.solve(within + np.diag(sd[:, 0] ** 2), heard - said)
    return moved


def _surprise(said: Floats, known: Laboratory) -> tuple[str, ...]:
    spread = np.cov(said).reshape(len(said), len(said)) + np.diag(np.square(known.sd_log))
    off = np.array(known.log_l_per_100km) - said.mean(axis=1)
    distance = float(np.sqrt(off @ np.linalg.solve(spread, off)))
    if distance < SURPRISE_WARNED:
        return ()
    direction = "more" if off.sum() > 0 else "less"
    amount = f"{abs(off.mean()) * 100:.0f} % {direction} fuel than a vehicle of this weight and engine would use"
    return (f"The ratings say {amount} ({distance:.1f} spreads away): they may belong to another vehicle.",)
