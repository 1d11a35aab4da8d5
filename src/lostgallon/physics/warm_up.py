"""Temperatures of engine (as oil), driveline and tires over a block, and over a soak."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lostgallon.physics.coefficients import value_of
from lostgallon.physics.lanes import Lanes
from lostgallon.shop.spread import Floats

RATING_C = 90.0  # thermostat rating to which warm friction refers; from memory
DRIVELINE_WARM_C = 80.0  # driveline temperature to which its warm losses refer; from memory


@dataclass(frozen=True)
class Temperatures:
    """Engine, driveline and tire temperatures, each of shape (lanes,). [degC]

    `engine_drift_k` is the engine's change over the last block, used to look half a block ahead.
    """

    engine_c: Floats
    driveline_c: Floats
    tire_c: Floats
    engine_drift_k: Floats

    def part(self, start: int, stop: int) -> "Temperatures":
        """The temperatures of the lanes from `start` up to `stop`."""
        which = slice(start, stop)
        return Temperatures(
            self.engine_c[which], self.driveline_c[which], self.tire_c[which], self.engine_drift_k[which]
        )


def joined_temperatures(parts: Sequence[Temperatures]) -> Temperatures:
    """The temperatures of several sets of lanes side by side."""
    return Temperatures(
        np.concatenate([part.engine_c for part in parts]),
        np.concatenate([part.driveline_c for part in parts]),
        np.concatenate([part.tire_c for part in parts]),
        np.concatenate([part.engine_drift_k for part in parts]),
    )


def cold_soaked(lanes: Lanes) -> Temperatures:
    """Everything at ambient, after a night; a block heater or a garage warms the engine alone."""
    zero = np.zeros(lanes.count)
    engine_c = np.minimum(lanes.ambient_c + lanes.start_warmer_k, lanes.plateau_c)
    return Temperatures(engine_c, lanes.ambient_c + zero, lanes.ambient_c + zero, zero)


def warm(lanes: Lanes, *, speed_m_s: float = 11.0) -> Temperatures:
    """Everything as after a long drive at a speed. [m/s]"""
    return Temperatures(
        engine_c=lanes.plateau_c,
        driveline_c=lanes.ambient_c + lanes.driveline_share * (lanes.plateau_c - lanes.ambient_c) + 0.5 * speed_m_s,
        tire_c=lanes.ambient_c + lanes.tire_rise_k_s_m * speed_m_s,
        engine_drift_k=np.zeros(lanes.count),
    )


def soaked(lanes: Lanes, before: Temperatures, *, soak_s: float) -> Temperatures:
    """After standing with the engine off.

    Args:
        lanes: The lanes.
        before: Temperatures when the engine stopped.
        soak_s: How long it stood. [s]

    Source: time constants in the one table, from memory.
    """
    engine, tire = np.exp(-soak_s / value_of("soak_engine")), np.exp(-soak_s / value_of("soak_tire"))
    ambient = lanes.ambient_c
    return Temperatures(
        engine_c=ambient + (before.engine_c - ambient) * engine,
        driveline_c=ambient + (before.driveline_c - ambient) * engine,
        tire_c=ambient + (before.tire_c - ambient) * tire,
        engine_drift_k=np.zeros(lanes.count),
    )


def after_block(
    lanes: Lanes, before: Temperatures, *, fuel_w: Floats, speed_m_s: Floats | float, length_s: Floats | float
) -> Temperatures:
    """Temperatures one block later; each relaxes to what the block would lead to.

    Args:
        lanes: The lanes.
        before: Temperatures at the start of the block.
        fuel_w: Mean fuel power over the block, shape (lanes,). [W]
        speed_m_s: Mean speed over the block. [m/s]
        length_s: How long the block acts, a scalar or shape (lanes,). [s]

    Source: lumped capacity with losses, docs/physics.md; coefficients in the one table.
    """
    rise = before.engine_c - lanes.ambient_c
    heat_w = lanes.heat_share * fuel_w
    loss = lanes.loss_w_per_k + lanes.loss_per_speed * speed_m_s
    decay = length_s * loss / lanes.heat_capacity_j_per_k
    engine = before.engine_c + (heat_w / loss - rise) * decay / (1.0 + 0.5 * decay)
    engine = np.minimum(engine, lanes.plateau_c)
    driveline_end = lanes.ambient_c + lanes.driveline_share * rise + 0.5 * speed_m_s
    tire_end = lanes.ambient_c + lanes.tire_rise_k_s_m * speed_m_s
    return Temperatures(
        engine_c=engine,
        driveline_c=_relaxed(before.driveline_c, driveline_end, length_s / lanes.driveline_s),
        tire_c=_relaxed(before.tire_c, tire_end, length_s / lanes.tire_s),
        engine_drift_k=engine - before.engine_c,
    )


def _relaxed(now: Floats, end: Floats, turns: Floats) -> Floats:
    return now + (end - now) * turns / (1.0 + 0.5 * turns)
