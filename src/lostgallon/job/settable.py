"""Conditions as a person sets them: `--set tire_pressure=27psi`."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from lostgallon.physics.belt_loads import air_conditioning_w
from lostgallon.physics.coefficients import value_of
from lostgallon.physics.conditions import condition_named
from lostgallon.physics.tires import DEFAULT_PLACARD_PA
from lostgallon.physics.warm_up import RATING_C
from lostgallon.shop.trouble import BadArgument, BadInput, one_of, suggestion
from lostgallon.shop.units import EXAMPLES, read_quantity
from lostgallon.shop.visit import Vehicle

Amounts = dict[str, float]


@dataclass(frozen=True)
class Place:
    """Where a condition is set: the vehicle and the ambient. [degC]"""

    vehicle: Vehicle
    ambient_c: float


@dataclass(frozen=True)
class Settable:
    """One name that a person may set.

    `kind` is a key of shop.units.BASE_UNITS, or empty where one of `words` is expected; each stands for a coefficient,
    or for nothing.
    """

    kind: str
    help: str
    amounts: Callable[[float, Place], Amounts]
    words: Mapping[str, str] | None = None


def _as(condition: str, factor: float = 1.0) -> Callable[[float, Place], Amounts]:
    return lambda number, _place: {condition: number * factor}


def _share(condition: str) -> Callable[[float, Place], Amounts]:
    return _as(condition, 0.01)


def _tire_pressure(number: float, place: Place) -> Amounts:
    return {"tire_pressure_pa": (place.vehicle.tire_placard_pa or DEFAULT_PLACARD_PA) - number}


def _elevation(number: float, place: Place) -> Amounts:
    return {"elevation_m": number - place.vehicle.elevation_m}


def _air_conditioning(number: float, place: Place) -> Amounts:
    return {"mechanical_w": number / 100.0 * air_conditioning_w(place.ambient_c)}


def _trailer(number: float, _place: Place) -> Amounts:
    return {"mass_kg": number, "drag_area_m2": value_of("trailer_drag_area")}


SETTABLE: Mapping[str, Settable] = {
    "tire_pressure": Settable("pressure", "mean of the four, cold, at the ambient", _tire_pressure),
    "rolling_resistance": Settable("share", "rolling resistance more", _share("rolling_resistance")),
    "drag_area": Settable("area", "air drag area added", _as("drag_area_m2")),
    "drag_force": Settable("force", "brake or bearing drag at the tread", _as("drag_force_n")),
    "load": Settable("mass", "mass carried beyond one driver", _as("mass_kg")),
    "trailer": Settable("mass", "closed trailer of this mass", _trailer),
    "roof_box": Settable("", "box on the roof", _as("drag_area_m2"), {"no": "", "yes": "roof_box_drag_area"}),
    "misfire": Settable("share", "share of firings that fail", _share("misfire_share")),
    "mixture": Settable("share", "richer than needed after trim", _share("mixture")),
    "efficiency_lost": Settable("share", "indicated efficiency lost", _share("efficiency")),
    "friction": Settable("share", "engine friction more", _share("friction")),
    "coolant": Settable("temperature", "warm plateau of the coolant", lambda c, _: {"coolant_drop_k": RATING_C - c}),
    "cold_reading": Settable("share", "how far the module takes warm for cold", _share("cold_reading")),
    "electrical_load": Settable("power", "electrical load added", _as("electrical_w")),
    "belt_load": Settable("power", "load added on the belt", _as("mechanical_w")),
    "air_conditioning": Settable("share", "share of the time that it is on", _air_conditioning),
    "converter_slip": Settable("share", "slip where it should be locked", _share("converter_slip")),
    "driveline_loss": Settable("share", "power lost beyond the usual", _share("driveline")),
    "idle": Settable("time", "standing at the start of a short trip", _as("idle_s_per_trip")),
    "cruise_speed": Settable("speed", "faster on the highway by", _as("cruise_speed_m_s")),
    "aggression": Settable("share", "harder speed changes", _share("aggression")),
    "road": Settable(
        "",
        "road surface",
        _as("road_state"),
        {"dry": "", "wet": "road_wet", "snow": "road_snow", "loose snow": "road_loose_snow"},
    ),
    "wind": Settable("speed", "wind from all sides in turn", _as("wind_m_s")),
    "headwind": Settable("speed", "wind from ahead", _as("headwind_m_s")),
    "grade": Settable("share", "steady rise of the road", _share("grade")),
    "elevation": Settable("length", "height above the sea", _elevation),
    "start_warmer": Settable(
        "temperature step", "engine over ambient at the start: block heater, garage", _as("start_warmer_k")
    ),
    "block_heater": Settable("", "engine block heater", _as("start_warmer_k"), {"no": "", "yes": "block_heater_rise"}),
    "garage": Settable("", "parked in a garage", _as("start_warmer_k"), {"no": "", "yes": "garage_rise"}),
    "remote_start": Settable("time", "running before the owner is in", _as("idle_s_per_trip")),
    "ethanol": Settable(
        "share", "ethanol by volume", lambda share, _: {"energy_per_liter": share / 100.0 * value_of("ethanol_energy")}
    ),
    "fuel_energy": Settable("share", "energy a liter has less", _share("energy_per_liter")),
    "odometer": Settable("share", "distance under-read", _share("odometer_scale")),
}


def amounts_from(typed: tuple[str, ...], place: Place) -> Amounts:
    """Amounts of conditions from what a person typed.

    Args:
        typed: Each "name=value"; the last of one name counts, different names add up.
        place: The vehicle and the ambient.

    Raises:
        BadArgument: If a name is unknown, a value can't be read, or an amount is not credible.
    """
    by_name = dict(_name_and_value(text) for text in typed)
    amounts: Amounts = {}
    for name, value in by_name.items():
        for condition, amount in _amounts(name, value, place).items():
            amounts[condition] = amounts.get(condition, 0.0) + amount
            _require_credible(name, value, condition, amounts[condition])
    return amounts


def _name_and_value(text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    name = name.strip().lower().replace("-", "_")
    if not equals or not value.strip():
        raise BadArgument("--set", found=repr(text), expected="name=value, like tire_pressure=27psi")
    if name not in SETTABLE:
        near = suggestion(name, SETTABLE)
        raise BadArgument("--set", found=f"the unknown condition {name!r}{near}", expected=one_of(SETTABLE))
    return name, value.strip()


def _amounts(name: str, value: str, place: Place) -> Amounts:
    settable = SETTABLE[name]
    if settable.words is not None:
        word = value.lower().replace("_", " ")
        if word not in settable.words:
            near = suggestion(word, settable.words)
            raise BadArgument(f"--set {name}", found=f"{value!r}{near}", expected=one_of(settable.words))
        coefficient = settable.words[word]
        return settable.amounts(value_of(coefficient) if coefficient else 0.0, place)
    try:
        number = read_quantity(value, settable.kind).number
    except BadInput as trouble:
        raise BadArgument(f"--set {name}", found=trouble.found, expected=trouble.expected) from None
    return settable.amounts(number, place)


def _require_credible(name: str, value: str, condition: str, amount: float) -> None:
    known = condition_named(condition)
    if not known.low <= amount <= known.high:
        raise BadArgument(
            f"--set {name}",
            found=f"{value}, which makes {known.meaning} {amount:g} {known.unit}",
            expected=f"{known.low:g} to {known.high:g} {known.unit}, for example {EXAMPLES[SETTABLE[name].kind]}",
        )
