"""From members, surroundings and amounts of conditions to lanes."""

from dataclasses import dataclass, replace

import numpy as np

from lostgallon.physics.air import density_kg_m3, pressure_at_elevation_pa
from lostgallon.physics.coefficients import value_of
from lostgallon.physics.conditions import condition_named
from lostgallon.physics.lanes import Lanes
from lostgallon.physics.schedules import M_S_PER_MPH
from lostgallon.physics.tires import DEFAULT_PLACARD_PA, rolling_coefficient, rolling_factor
from lostgallon.physics.vehicle import (
    GASOLINE_J_PER_L,
    OLDER_BEFORE,
    Amounts,
    Members,
    gears_of,
    has_converter,
    is_truck,
    loaded_mass_kg,
    ratio_spread_of,
)
from lostgallon.physics.warm_up import RATING_C
from lostgallon.shop.spread import Floats

STANDARD_GRAVITY = 9.80665
STUCK_REFERENCE_M_S = 15.0


@dataclass(frozen=True)
class Surroundings:
    """Air and fuel of a way of driving.

    `energy_per_liter` is over the gasoline that EPA fuel economy refers to. [-]
    """

    ambient_c: float
    elevation_m: float = 0.0
    energy_per_liter: float = 1.0


def lanes_for(members: Members, surroundings: Surroundings, amounts: Amounts) -> Lanes:
    """One lane for each member, in the surroundings and with the conditions given.

    Args:
        members: The vehicle's members.
        surroundings: Air and fuel.
        amounts: Amounts of conditions by id; those not named are zero.

    Returns:
        Lanes, as many as members.

    Raises:
        BadInput: If a condition is not in the list.

    Source: docs/physics.md, equations 1 to 6.
    """
    have = {condition_named(name).id: np.broadcast_to(amount, members.count) for name, amount in amounts.items()}
    setting = _Setting(members, surroundings, have)
    lanes = Lanes(**_road(setting), **_gears(setting), **_engine(setting), **_heat(setting))
    if not setting.amount("coolant_drop_k").any():
        return lanes
    return _with_open_thermostat(setting, lanes)


class _Setting:
    """The three inputs together, with every condition readable as an array."""

    def __init__(self, members: Members, surroundings: Surroundings, have: dict[str, Floats]) -> None:
        self.members, self.surroundings, self.vehicle = members, surroundings, members.vehicle
        self._have, self._none = have, np.zeros(members.count)

    def amount(self, name: str) -> Floats:
        return self._have.get(name, self._none)

    def of(self, name: str) -> Floats:
        return self.members.of(name)

    def every(self, value: float) -> Floats:
        return np.full(self.members.count, value)


def _road(at: _Setting) -> dict[str, Floats]:
    vehicle, amount = at.vehicle, at.amount
    base_kg = loaded_mass_kg(vehicle)
    weight_n = (base_kg + amount("mass_kg")) * STANDARD_GRAVITY
    coefficient = rolling_coefficient(
        mass_kg=base_kg,
        truck=is_truck(vehicle),
        all_wheels_driven=vehicle.drive == "4wd",
        residual_log=at.of("rolling_log") - value_of("rolling_log"),
    )
    placard_pa = vehicle.tire_placard_pa or DEFAULT_PLACARD_PA
    pressure = rolling_factor(
        pressure_pa=placard_pa - amount("tire_pressure_pa"),
        placard_pa=placard_pa,
        exponent=at.of("inflation_exponent"),
    )
    tires = pressure * (1.0 + amount("rolling_resistance")) * (1.0 + amount("road_state"))
    pressure_pa = pressure_at_elevation_pa(at.surroundings.elevation_m + amount("elevation_m"))
    air = density_kg_m3(pressure_pa=pressure_pa, temperature_c=at.surroundings.ambient_c)
    half_area = 0.5 * air * (_drag_area_m2(at) + amount("drag_area_m2"))
    ahead, around = amount("headwind_m_s"), amount("wind_m_s")
    return {
        "tire_n": weight_n * coefficient * (tires * at.of("tire_share") + 1.0 - at.of("tire_share")),
        "tire_per_k": at.of("tire_temperature"),
        # Wind from all sides in turn adds half its square to the mean square of the air speed.
        "steady_n": amount("drag_force_n")
        + weight_n * amount("grade")
        + half_area * (ahead * np.abs(ahead) + 0.5 * around * around),
        "linear_n_s_m": 2.0 * half_area * ahead,
        "square_n_s2_m2": half_area,
        "inertia_kg": weight_n / STANDARD_GRAVITY * at.of("rotating_mass") * (1.0 + amount("aggression")),
        "speed_added_m_s": amount("cruise_speed_m_s") + 0.0,
        "spin_n": base_kg * STANDARD_GRAVITY * at.of("driveline_drag"),
    }


def _drag_area_m2(at: _Setting) -> Floats:
    log = (
        at.of("drag_area_log")
        + value_of("drag_area_per_mass_log") * np.log(loaded_mass_kg(at.vehicle) / 1700.0)
        + value_of("drag_area_truck_log") * is_truck(at.vehicle)
    )
    area: Floats = np.exp(log)
    return area


def _gears(at: _Setting) -> dict[str, Floats]:
    vehicle = at.vehicle
    log = (
        at.of("top_gear_log")
        + value_of("top_gear_per_liter_log") * np.log(vehicle.displacement_l / 2.5)
        + value_of("top_gear_per_gears_log") * np.log(gears_of(vehicle) / 8.0)
    )
    top = np.exp(log) / M_S_PER_MPH
    slip_open = at.of("converter_slip_open") * has_converter(vehicle)
    slip = at.amount("converter_slip") * has_converter(vehicle)
    lug_factor = value_of("lug_cvt") if vehicle.transmission == "cvt" else 1.0
    lug_factor = lug_factor if has_converter(vehicle) else value_of("lug_no_converter")
    belt = value_of("cvt_efficiency") if vehicle.transmission == "cvt" else 1.0
    boost = value_of("turbo_shift") if vehicle.induction == "turbo" else 1.0
    gain = 1.0 / (at.of("driveline_efficiency") * belt * (1.0 - at.amount("driveline")))
    displacement_m3 = vehicle.displacement_l * 1e-3
    return {
        "gain_open": gain / (1.0 - np.maximum(slip_open, slip)),
        "gain_locked": gain / (1.0 - slip),
        "lock_speed_m_s": at.of("lock_speed"),
        "lock_from_c": at.of("lock_from"),
        "unlocked": 1.0 / (1.0 - at.of("cold_slip") * has_converter(vehicle)),
        "idle_rpm": at.of("idle_speed"),
        "idle_cold": at.of("idle_cold"),
        "top_rpm_s_m": top / (1.0 - slip),
        "low_rpm_s_m": 0.75 * ratio_spread_of(vehicle) * top,
        "lug_rpm": at.of("lug_speed") * lug_factor,
        "shift_rpm_per_w": 120.0 / (at.of("shift_pressure") * boost * 1e3 * displacement_m3),
    }


def _engine(at: _Setting) -> dict[str, Floats]:
    vehicle, amount = at.vehicle, at.amount
    turbo, older = vehicle.induction == "turbo", vehicle.model_year < OLDER_BEFORE
    friction = at.of("friction_scale") * (1.0 + amount("friction"))
    friction = (
        friction * (value_of("turbo_friction") if turbo else 1.0) * (value_of("older_friction") if older else 1.0)
    )
    efficiency = at.of("indicated_efficiency") * (1.0 - amount("efficiency"))
    efficiency = efficiency * (value_of("turbo_efficiency") if turbo else 1.0)
    efficiency = efficiency * (value_of("older_efficiency") if older else 1.0)
    friction = friction * value_of("friction_per_doubling") ** np.log2(vehicle.displacement_l / 2.5)
    per_rpm = friction * vehicle.displacement_l * 1e-3 / 120.0
    return {
        "friction_a_w_per_rpm": per_rpm * at.of("friction_a"),
        "friction_b_w_per_rpm2": per_rpm * at.of("friction_b"),
        "cold_linear": at.of("friction_cold_linear"),
        "cold_cubic": at.of("friction_cold_cubic"),
        "strain_from_w": at.of("strain_from")
        * 1e3
        * vehicle.displacement_l
        * (value_of("strain_turbo") if turbo else 1.0),
        "strain": at.of("strain"),
        "load_w": at.of("accessory_power")
        + amount("electrical_w") / at.of("alternator_efficiency")
        + amount("mechanical_w"),
        "idle_load_w": at.of("idle_drag") * vehicle.displacement_l * has_converter(vehicle),
        "fuel_per_w": 1.0 / efficiency,
        "enrichment": at.of("enrichment_cold"),
        "cold_reading": amount("cold_reading") + 0.0,
        "overrun_cut": at.of("overrun_cut"),
        "start_j_per_x": at.of("start_energy") * 1e3 * vehicle.displacement_l,
        "energy_j_per_l": at.every(GASOLINE_J_PER_L * at.surroundings.energy_per_liter),
    }


def _heat(at: _Setting) -> dict[str, Floats]:
    ambient_c, liters, amount = at.surroundings.ambient_c, at.vehicle.displacement_l, at.amount
    capacity = value_of("heat_capacity_base") + value_of("heat_capacity_per_liter") * liters
    spread = at.of("heat_capacity_base") / value_of("heat_capacity_base")
    loss = at.of("loss_base")
    heater = at.of("heater_conductance") * np.clip(
        (value_of("heater_from") - ambient_c) / value_of("heater_span"), 0.0, 1.5
    )
    return {
        "heat_share": at.of("heat_share"),
        "heat_capacity_j_per_k": 1e3 * capacity * spread,
        "loss_w_per_k": loss + heater,
        "loss_per_speed": value_of("loss_per_speed") * loss / value_of("loss_base"),
        "plateau_c": np.maximum(RATING_C - amount("coolant_drop_k"), ambient_c + 5.0),
        "ambient_c": at.every(ambient_c),
        "driveline_s": at.of("driveline_time"),
        "driveline_share": at.of("driveline_share"),
        "tire_s": at.of("tire_time"),
        "tire_rise_k_s_m": at.of("tire_rise"),
        "start_warmer_k": amount("start_warmer_k") + 0.0,
    }


def _with_open_thermostat(at: _Setting, lanes: Lanes) -> Lanes:
    """The lanes with the radiator in the coolant's way from the start.

    A drop of up to 5 K is a thermostat that regulates low; from 20 K on one that does not close. The leak acts on the
    coolant, which runs ahead of the oil by `coolant_lead` for each watt that warms the engine: solved for that watt,
    the leak also slows the warm-up like so much more heat capacity.

    Source: docs/physics.md, equation 7 and the section on the open thermostat; the two limits from memory.
    """
    share = np.clip((at.amount("coolant_drop_k") - 5.0) / 15.0, 0.0, 1.0)
    leak = share * at.of("open_leak") * _leak_w_per_k(lanes)
    capacity = lanes.heat_capacity_j_per_k + share * 1e3 * value_of("radiator_capacity")
    return replace(
        lanes,
        loss_w_per_k=lanes.loss_w_per_k + leak,
        heat_capacity_j_per_k=capacity * (1.0 + 1e-3 * at.of("coolant_lead") * leak),
        lock_from_c=np.where(lanes.plateau_c < value_of("lock_coolant"), RATING_C, lanes.lock_from_c),
    )


def _leak_w_per_k(lanes: Lanes) -> Floats:
    """What an open thermostat lets out, from a steady 15 m/s. [W/K]

    A coolant whose rise over the air is the share r of a sound one's leaves the oil the same share of its rise: the
    sound engine's is to its rating, or in deep cold to where its heat balances.

    Source: heat balance of equation 7 in docs/physics.md at rest.
    """
    speed = STUCK_REFERENCE_M_S
    road_n = lanes.tire_n + lanes.steady_n + speed * (lanes.linear_n_s_m + lanes.square_n_s2_m2 * speed)
    rpm = np.maximum(lanes.lug_rpm, lanes.top_rpm_s_m * speed)
    friction_w = rpm * (lanes.friction_a_w_per_rpm + lanes.friction_b_w_per_rpm2 * rpm)
    fuel_w = lanes.fuel_per_w * (np.maximum(road_n, 0.0) * speed * lanes.gain_locked + lanes.load_w + friction_w)
    closed = lanes.loss_w_per_k + lanes.loss_per_speed * speed
    sound_k = np.minimum(RATING_C - lanes.ambient_c, lanes.heat_share * fuel_w / closed)
    share = (lanes.plateau_c - lanes.ambient_c) / (RATING_C - lanes.ambient_c)
    return np.maximum(lanes.heat_share * fuel_w / (share * sound_k) - closed, 0.0)
