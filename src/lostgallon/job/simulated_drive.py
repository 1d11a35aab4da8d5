"""A drive for the simulated vehicle: the physics, second by second, measured as the modules would measure it.

Only for the demo and the tests. Nothing that judges a recorded drive is used here but the physics itself.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from lostgallon.physics.lanes import Lanes
from lostgallon.physics.schedules import speeds_m_s, trace_from_speeds
from lostgallon.physics.setting import Surroundings, lanes_for
from lostgallon.physics.trip import Leg, drive
from lostgallon.physics.vehicle import central_member
from lostgallon.physics.warm_up import cold_soaked
from lostgallon.port.simulated import Memory, SimulatedDrive
from lostgallon.shop.recorded import Misfires
from lostgallon.shop.spread import Bools, Floats
from lostgallon.shop.visit import Vehicle

START_S, CITY_S, END_S = 40, 505, 150
AIR_G_PER_L = 14.7 * 739.3
"""Air that a liter of gasoline needs, as in docs/drives.md."""
FULL_G_PER_L = 1.184
"""Air in a liter of displacement at 25 degC and one atmosphere (SAE J1979, absolute load)."""
FULLEST = 0.86
"""Most that the cylinders fill with; from memory."""
CLOSED_FROM_C, LEARNED_SHARE = 30.0, 0.8
CELLS = (0.35, 0.65)


@dataclass(frozen=True)
class Fault:
    """What is wrong: amounts of conditions, and air that enters behind the meter, a liter of displacement. [g/s]"""

    amounts: Mapping[str, float]
    leak_g_s_per_l: float = 0.0


FAULTS: Mapping[str, Fault] = {
    "demo": Fault({"coolant_drop_k": 28.0}),
    "demo-leak": Fault({}, leak_g_s_per_l=0.11),
    "demo-sound": Fault({}),
}
"""Channels that are no adapter but a simulated vehicle, and what it has."""


def simulated_drive(vehicle: Vehicle, fault: Fault, *, ambient_c: float) -> SimulatedDrive:
    """A cold start, the first 505 s of the city schedule, the highway schedule, and a warm idle.

    Args:
        vehicle: The vehicle.
        fault: What it has.
        ambient_c: The air. [degC]

    Source: docs/physics.md for fuel, engine speed and temperatures; docs/port.md for what the sensors make of it.
    """
    lanes = lanes_for(central_member(vehicle), Surroundings(ambient_c), fault.amounts)
    speed_m_s = np.concatenate([np.zeros(START_S), speeds_m_s("city")[:CITY_S], speeds_m_s("highway"), np.zeros(END_S)])
    fuel_l_s, engine_c, rpm = _by_second(lanes, speed_m_s)
    air_g_s = np.maximum(fuel_l_s * AIR_G_PER_L, 0.3)
    filling = air_g_s / (FULL_G_PER_L * vehicle.displacement_l * rpm / 120.0)
    leak_g_s = fault.leak_g_s_per_l * vehicle.displacement_l
    closed = engine_c >= CLOSED_FROM_C
    short, long, metered = _trims(leak_g_s, air_g_s, filling=filling, closed=closed, speed_m_s=speed_m_s)
    still = np.ones_like(speed_m_s)
    return SimulatedDrive(
        time_s=np.arange(speed_m_s.size, dtype=np.float64),
        channels={
            "speed_m_s": 3.6 * speed_m_s,
            "rpm": rpm,
            "air_flow_g_s": metered,
            "load_pct": np.clip(100.0 * filling / FULLEST, 4.0, 100.0),
            "short_trim_1_pct": short,
            "long_trim_1_pct": long,
            "pedal_pct": np.clip(14.0 + 60.0 * (filling - 0.15), 14.0, 95.0),
            "fuel_status": np.where(engine_c < CLOSED_FROM_C, 1.0, 2.0),
            "coolant_c": engine_c,
            "intake_air_c": ambient_c + 8.0 * np.minimum(np.arange(speed_m_s.size) / 300.0, 1.0),
            "ambient_c": ambient_c * still,
            "voltage_v": 14.1 * still,
            "barometer_pa": 101.0 * still,
            "fuel_level_pct": 55.0 * still,
            "run_time_s": np.arange(speed_m_s.size, dtype=np.float64),
            "warm_ups": 41.0 * still,
            "distance_since_clear_km": 590.0 * still,
        },
    )


def _by_second(lanes: Lanes, speed_m_s: Floats) -> tuple[Floats, Floats, Floats]:
    """Fuel [L/s], engine temperature [degC] and engine speed [rpm] at every second, each of shape (seconds,)."""
    count = speed_m_s.size
    fuel_j, engine_c = np.zeros(count), np.zeros(count)
    now = cold_soaked(lanes)
    for second, (here, there) in enumerate(zip(speed_m_s, [*speed_m_s[1:], speed_m_s[-1]], strict=True)):
        step = trace_from_speeds("second", np.array([here, there]), block_s=1)
        outcome = drive(lanes, [Leg(step)], now, starting=second == 0)
        fuel_j[second], engine_c[second] = outcome.fuel_j[0], now.engine_c[0]
        now = outcome.temperatures
    geared = np.maximum(np.minimum(lanes.lug_rpm, lanes.low_rpm_s_m * speed_m_s), lanes.top_rpm_s_m * speed_m_s)
    idle_rpm = lanes.idle_rpm * (1.0 + 0.4 * np.clip((60.0 - engine_c) / 80.0, 0.0, 1.0))
    return fuel_j / lanes.energy_j_per_l, engine_c, np.maximum(geared, idle_rpm)


def _trims(
    leak_g_s: float, air_g_s: Floats, *, filling: Floats, closed: Bools, speed_m_s: Floats
) -> tuple[Floats, Floats, Floats]:
    """Short and long trim [%] and the air that the meter sees [g/s], each of shape (seconds,).

    The module learns what it has to add in cells of idle, cruise and load; the short trim does the rest.
    """
    metered = np.maximum(air_g_s - leak_g_s, 0.2)
    needed = np.clip(100.0 * (air_g_s / metered - 1.0), -25.0, 35.0)
    cell = np.where(speed_m_s < 0.5, 0, 1 + np.searchsorted(CELLS, filling))
    long = np.zeros_like(needed)
    for number in range(4):
        here = (cell == number) & closed
        long[cell == number] = LEARNED_SHARE * float(np.median(needed[here])) if here.any() else 0.0
    return np.where(closed, needed - long, 0.0), long, metered


VIN = "1" * 17
"""Invented, and its check digit fits."""


def simulated_memory(fault: Fault, cylinders: int) -> Memory:
    """What the engine's module remembers of its fault: P0128 for a cold engine, P0171 for a lean one."""
    codes = ((b"\x01\x28",) if fault.amounts else ()) + ((b"\x01\x71",) if fault.leak_g_s_per_l else ())
    lamp = bytes([0x80 * bool(codes) | len(codes)])
    misfires = tuple(Misfires(number, float(number % 3), 0.0) for number in range(1, cylinders + 1))
    return Memory(stored=codes, permanent=codes, misfires=misfires, status=lamp + b"\x07\x65\x00", vin=VIN)
