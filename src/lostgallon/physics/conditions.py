"""The conditions: physical quantities that move fuel use. They know no cause.

An amount of zero is the sound vehicle, driven as the case says. A cause moves one or more conditions; a check
observes one. The whole list is here, and nothing outside it reaches the physics.
"""

from dataclasses import dataclass

from lostgallon.shop.trouble import BadInput, OutOfRange, suggestion


@dataclass(frozen=True)
class Condition:
    """One condition: its unit, what an amount means, and the amounts the physics is trusted for.

    `probes` are the two amounts at which effects are computed to fit a curve through zero. `exact` conditions
    multiply or add fuel outside the time loop.
    """

    id: str
    unit: str
    meaning: str
    low: float
    high: float
    probes: tuple[float, float]
    exact: bool = False


CONDITIONS: tuple[Condition, ...] = (
    Condition(
        "tire_pressure_pa",
        "Pa",
        "cold pressure below the placard, at the ambient the tires are used at, mean of four",
        -100_000.0,
        150_000.0,
        (35_000.0, 90_000.0),
    ),
    Condition("rolling_resistance", "1", "rolling resistance more, as a fraction", -0.5, 1.5, (0.15, 0.5)),
    Condition("drag_area_m2", "m2", "air drag area added (drag coefficient times area)", -0.5, 3.0, (0.15, 0.6)),
    Condition("drag_force_n", "N", "steady drag at the tread: brakes, bearings, toe", 0.0, 800.0, (25.0, 120.0)),
    Condition(
        "mass_kg",
        "kg",
        "mass carried or towed beyond curb weight and one driver with his things",
        -136.0,
        4000.0,
        (60.0, 400.0),
    ),
    Condition(
        "misfire_share",
        "1",
        "share of combustion events that do not burn",
        0.0,
        0.5,
        (0.01, 0.08),
        exact=True,
    ),
    Condition(
        "mixture",
        "1",
        "fuel richer than needed after trim, as a fraction; lean is negative",
        -0.3,
        0.5,
        (0.05, 0.2),
        exact=True,
    ),
    Condition("efficiency", "1", "indicated efficiency lost, as a fraction", -0.1, 0.4, (0.02, 0.1)),
    Condition("friction", "1", "engine friction and pumping more, as a fraction", -0.3, 1.0, (0.05, 0.3)),
    Condition("coolant_drop_k", "K", "warm plateau below the thermostat's rating", 0.0, 60.0, (20.0, 45.0)),
    Condition(
        "cold_reading",
        "1",
        "how far the module takes a warm engine for a cold one: 1 is as cold as the ambient",
        0.0,
        1.0,
        (0.3, 0.9),
    ),
    Condition("electrical_w", "W", "electrical load added", -200.0, 3000.0, (150.0, 600.0)),
    Condition("mechanical_w", "W", "load added on the belt", -500.0, 6000.0, (300.0, 1500.0)),
    Condition("converter_slip", "1", "slip at cruise where the converter should be locked", 0.0, 0.3, (0.03, 0.08)),
    Condition(
        "driveline",
        "1",
        "power lost in the driveline beyond the usual, as a fraction",
        0.0,
        0.3,
        (0.01, 0.05),
    ),
    Condition(
        "idle_s_per_trip",
        "s",
        "standing with the engine running, added to each trip at its start",
        0.0,
        3600.0,
        (120.0, 600.0),
    ),
    Condition(
        "trip_km_log",
        "1",
        "natural log of the typical trip of the good days over the one now: positive, trips became shorter",
        -2.5,
        2.5,
        (0.5, 1.2),
    ),
    Condition("cruise_speed_m_s", "m/s", "faster on the highway", -10.0, 15.0, (2.0, 6.0)),
    Condition("aggression", "1", "harder speed changes, as a fraction of those in the trace", -0.5, 2.0, (0.15, 0.5)),
    Condition(
        "road_state",
        "1",
        "rolling resistance of a wet, snowy or soft road more, as a fraction",
        0.0,
        2.0,
        (0.15, 0.5),
    ),
    Condition("wind_m_s", "m/s", "wind from all sides in turn", 0.0, 20.0, (4.0, 9.0)),
    Condition("headwind_m_s", "m/s", "wind from ahead; from behind is negative", -15.0, 20.0, (3.0, 8.0)),
    Condition("grade", "1", "steady rise of the road; downhill is negative", -0.08, 0.10, (0.005, 0.02)),
    Condition("elevation_m", "m", "road higher than the case says", -3000.0, 4500.0, (500.0, 1500.0)),
    Condition(
        "start_warmer_k",
        "K",
        "engine warmer at the start than the air: block heater, garage",
        0.0,
        60.0,
        (10.0, 30.0),
    ),
    Condition(
        "energy_per_liter",
        "1",
        "energy in a liter of fuel less, as a fraction",
        -0.1,
        0.4,
        (0.02, 0.06),
        exact=True,
    ),
    Condition("odometer_scale", "1", "distance under-read, as a fraction", -0.2, 0.2, (0.02, 0.06), exact=True),
    Condition(
        "fuel_lost_l_per_day",
        "L/d",
        "fuel that leaves the vehicle unburned",
        0.0,
        5.0,
        (0.1, 0.5),
        exact=True,
    ),
)

BY_ID = {condition.id: condition for condition in CONDITIONS}


def condition_named(name: str) -> Condition:
    """The condition of an id.

    Raises:
        BadInput: If there is none; the nearest id is suggested.
    """
    if name not in BY_ID:
        raise BadInput(
            "condition", found=f"{name!r}{suggestion(name, BY_ID)}", expected="an id of physics/conditions.py"
        )
    return BY_ID[name]


def require_credible(name: str, amount: float) -> None:
    """Refuse an amount outside what the physics is trusted for.

    Raises:
        OutOfRange: With the limits in the condition's own unit.
    """
    condition = condition_named(name)
    if not condition.low <= amount <= condition.high:
        raise OutOfRange(
            name,
            found=f"{amount:g} {condition.unit}",
            expected=f"{condition.low:g} to {condition.high:g} {condition.unit} ({condition.meaning})",
        )
