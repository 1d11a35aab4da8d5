"""One lane is one vehicle in one set of conditions, as the numbers the time loop reads."""

from dataclasses import dataclass, fields

import numpy as np

from lostgallon.shop.spread import Floats


@dataclass(frozen=True)
class Lanes:
    """Lanes side by side; every field has shape (lanes,).

    Road force is `tire_n` x (1 - `tire_per_k` (T_tire - reference)) + `steady_n` + `linear` v + `square` v^2. While the
    engine is colder than `lock_from_c`, `unlocked` multiplies engine speed and power at cruise. Beyond `strain_from_w`
    each watt costs more by the share `strain`.
    """

    tire_n: Floats
    tire_per_k: Floats
    steady_n: Floats
    linear_n_s_m: Floats
    square_n_s2_m2: Floats
    inertia_kg: Floats
    speed_added_m_s: Floats
    spin_n: Floats
    gain_open: Floats
    gain_locked: Floats
    lock_speed_m_s: Floats
    lock_from_c: Floats
    unlocked: Floats
    idle_rpm: Floats
    idle_cold: Floats
    top_rpm_s_m: Floats
    low_rpm_s_m: Floats
    lug_rpm: Floats
    shift_rpm_per_w: Floats
    friction_a_w_per_rpm: Floats
    friction_b_w_per_rpm2: Floats
    cold_linear: Floats
    cold_cubic: Floats
    strain_from_w: Floats
    strain: Floats
    load_w: Floats
    idle_load_w: Floats
    fuel_per_w: Floats
    enrichment: Floats
    cold_reading: Floats
    overrun_cut: Floats
    start_j_per_x: Floats
    heat_share: Floats
    heat_capacity_j_per_k: Floats
    loss_w_per_k: Floats
    loss_per_speed: Floats
    plateau_c: Floats
    ambient_c: Floats
    driveline_s: Floats
    driveline_share: Floats
    tire_s: Floats
    tire_rise_k_s_m: Floats
    start_warmer_k: Floats
    energy_j_per_l: Floats

    @property
    def count(self) -> int:
        """Number of lanes."""
        return int(self.tire_n.size)

    def part(self, start: int, stop: int) -> "Lanes":
        """The lanes from `start` up to `stop`."""
        return Lanes(*(getattr(self, name)[start:stop] for name in LANE_FIELDS))

    def stacked(self) -> Floats:
        """All fields as one array of shape (fields, lanes), in the order of the record."""
        return np.stack([getattr(self, name) for name in LANE_FIELDS])


LANE_FIELDS = tuple(field.name for field in fields(Lanes))


def joined(parts: "list[Lanes]") -> Lanes:
    """Several sets of lanes side by side."""
    return Lanes(*(np.concatenate([getattr(part, name) for part in parts]) for name in LANE_FIELDS))
