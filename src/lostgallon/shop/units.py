"""Quantities as people type them, and the exact factors. The one place that knows pint.

A person types "27 psi", "1.9 bar", "0.044 in", "1,1 mm", "3/64 in", "16.5 mpg" or "14.2 L/100km". The number that
the program computes with is in the base unit of its kind (BASE_UNITS). Miles per gallon and liters per 100 km are
reciprocal, so fuel economy never passes through an average here.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import resources
from tokenize import TokenError
from typing import TYPE_CHECKING

from lostgallon.shop.trouble import BadQuantity, one_of
from lostgallon.shop.visit import Quantity

if TYPE_CHECKING:
    from pint import UnitRegistry

KM_PER_MILE = 1.609344
L_PER_US_GALLON = 3.785411784
L_PER_IMPERIAL_GALLON = 4.54609
PA_PER_INHG = 3386.389
KG_PER_LB = 0.45359237
N_PER_LBF = 4.4482216152605
M_PER_FT = 0.3048
PA_PER_PSI = N_PER_LBF / 0.0254**2
MPG_TIMES_L_PER_100KM = 100.0 * L_PER_US_GALLON / KM_PER_MILE

BASE_UNITS = {
    "pressure": "Pa",
    "temperature": "degC",
    "temperature step": "K",
    "length": "m",
    "distance": "km",
    "mass": "kg",
    "volume": "L",
    "economy": "L/100km",
    "time": "s",
    "speed": "m/s",
    "force": "N",
    "torque": "Nm",
    "power": "W",
    "voltage": "V",
    "current": "A",
    "angle": "deg",
    "rotation": "rpm",
    "mass flow": "g/s",
    "share": "%",
    "area": "m^2",
}
"""The unit a number is kept in, for each kind of quantity. A share is typed in per cent and kept in per cent."""

EXAMPLES = {
    "pressure": "33 psi",
    "temperature": "25 degF",
    "temperature step": "20 K",
    "length": "0.044 in",
    "distance": "131000 mi",
    "mass": "3650 lb",
    "volume": "2.3 L",
    "economy": "20 mpg",
    "time": "4 min",
    "speed": "60 mi/h",
    "force": "12 N",
    "torque": "20 Nm",
    "power": "100 W",
    "voltage": "14.2 V",
    "current": "5 A",
    "angle": "0.2 deg",
    "rotation": "50 rpm",
    "mass flow": "3.1 g/s",
    "share": "12 %",
    "area": "0.3 m^2",
}


def fahrenheit_of(celsius: float) -> float:
    """A temperature in degrees Fahrenheit. [degF]"""
    return celsius * 1.8 + 32.0


def celsius_of(fahrenheit: float) -> float:
    """A temperature in degrees Celsius. [degC]"""
    return (fahrenheit - 32.0) / 1.8


_ALSO_SAID: dict[str, tuple[str, Callable[[float], float]]] = {
    "pressure": ("psi", lambda pascals: pascals / PA_PER_PSI),
    "temperature": ("degF", fahrenheit_of),
    "distance": ("mi", lambda kilometers: kilometers / KM_PER_MILE),
    "mass": ("lb", lambda kilograms: kilograms / KG_PER_LB),
    "length": ("ft", lambda meters: meters / M_PER_FT),
    "economy": ("mpg", lambda l_per_100km: MPG_TIMES_L_PER_100KM / l_per_100km),
}

_ECONOMY: dict[str, Callable[[float], float]] = {
    "mpg": lambda number: MPG_TIMES_L_PER_100KM / number,
    "mpgus": lambda number: MPG_TIMES_L_PER_100KM / number,
    "mi/gal": lambda number: MPG_TIMES_L_PER_100KM / number,
    "mpgimp": lambda number: 100.0 * L_PER_IMPERIAL_GALLON / KM_PER_MILE / number,
    "km/l": lambda number: 100.0 / number,
    "l/100km": lambda number: number,
    "gal/100mi": lambda number: number * MPG_TIMES_L_PER_100KM / 100.0,
}

_USUAL: dict[tuple[str, str], float] = {
    ("pressure", "psi"): PA_PER_PSI,
    ("pressure", "bar"): 1e5,
    ("pressure", "kPa"): 1e3,
    ("length", "in"): 0.0254,
    ("length", "mm"): 1e-3,
    ("length", "m"): 1.0,
    ("length", "ft"): M_PER_FT,
    ("distance", "mi"): KM_PER_MILE,
    ("distance", "km"): 1.0,
    ("mass", "lb"): KG_PER_LB,
    ("mass", "kg"): 1.0,
    ("volume", "gal"): L_PER_US_GALLON,
    ("volume", "L"): 1.0,
    ("time", "min"): 60.0,
    ("time", "h"): 3600.0,
    ("time", "s"): 1.0,
    ("time", "ms"): 1e-3,
    ("pressure", "Pa"): 1.0,
    ("pressure", "hPa"): 100.0,
    ("pressure", "inHg"): PA_PER_INHG,
    ("distance", "m"): 1e-3,
    ("speed", "m/s"): 1.0,
    ("speed", "km/h"): 1.0 / 3.6,
    ("speed", "mi/h"): KM_PER_MILE / 3.6,
    ("mass flow", "g/s"): 1.0,
    ("mass flow", "kg/h"): 1.0 / 3.6,
    ("mass flow", "lb/min"): 1000.0 * KG_PER_LB / 60.0,
    ("rotation", "rpm"): 1.0,
    ("voltage", "V"): 1.0,
    ("voltage", "mV"): 1e-3,
    ("angle", "deg"): 1.0,
}
"""What nearly everybody types, and logs are written in, so that most programs never wait for pint.

tests/shop/test_units.py holds both equal.
"""

_NUMBER = re.compile(r"[+-]?\d[\d.,  ]*(?:/\d+)?|[+-]?[.,]\d+")
_MIXED = re.compile(r"(?P<whole>\d+)\s+(?P<top>\d{1,2})/(?P<bottom>[1-9]\d{0,2})")
_GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?")
_UNIT = re.compile(r"[A-Za-z°][A-Za-z0-9°/*^ ]*")
_MONEY = re.compile(r"(?P<number>.+?)\s*(?P<currency>[A-Z]{3})(?:\s*/\s*(?P<per>\w+))?")


@dataclass(frozen=True)
class Money:
    """An amount in a currency."""

    amount: float
    currency: str


@cache
def _registry() -> "UnitRegistry[float]":
    # Our own short list loads ten times faster than a full registry and holds no unit nobody types.
    from pint import UnitRegistry  # noqa: PLC0415 - pint takes 0.2 s to import; --help must not wait for it

    lines = resources.files("lostgallon.data").joinpath("units.txt").read_text("utf-8").splitlines()
    registry: UnitRegistry[float] = UnitRegistry(None, cache_folder=None)
    registry.load_definitions(lines)
    return registry


def mpg_us(l_per_100km: float) -> float:
    """Miles per US gallon of a fuel use in L/100 km."""
    return MPG_TIMES_L_PER_100KM / l_per_100km


def gal_per_100mi(l_per_100km: float) -> float:
    """US gallons per 100 miles of a fuel use in L/100 km."""
    return l_per_100km * 100.0 / MPG_TIMES_L_PER_100KM


def range_in_words(kind: str, low: float, high: float) -> str:
    """Limits of a kind in its base unit and, where the trade reads another, in that too."""
    said = f"{low:g} to {high:g} {BASE_UNITS[kind]}"
    if kind not in _ALSO_SAID:
        return said
    unit, convert = _ALSO_SAID[kind]
    ends = sorted((convert(low), convert(high)))
    return f"{ends[0]:.4g} to {ends[1]:.4g} {unit} ({said})"


def read_number(text: str) -> float:
    """A number as people write it: 28, 1.9, 1,1 (a comma of ours is a point), 131,000, 3/64 and 1 3/64.

    A comma before exactly three digits groups thousands unless the number starts with 0.

    Raises:
        BadQuantity: If the text is not one number.
    """
    plain = text.strip()
    mixed = _MIXED.fullmatch(plain)
    if mixed:
        return int(mixed["whole"]) + int(mixed["top"]) / int(mixed["bottom"])
    if not _NUMBER.fullmatch(plain):
        raise BadQuantity("", found=repr(text), expected="a number like 28, 1.9 or 1,1")
    plain = re.sub(r"[  ]", "", plain)
    plain = plain.replace(",", "") if _GROUPED.fullmatch(plain) else plain.replace(",", ".")
    top, _, bottom = plain.partition("/")
    try:
        return float(top) / float(bottom or "1")
    except (ValueError, ZeroDivisionError):
        raise BadQuantity("", found=repr(text), expected="a number like 28, 1.9 or 1,1") from None


def split_quantity(text: str) -> tuple[float, str]:
    """The number and the unit of a typed quantity: `"27 psi"` is 27.0 and `psi`.

    Raises:
        BadQuantity: If there is no number at its start.
    """
    match = _NUMBER.match(text.strip())
    if not match:
        raise BadQuantity("", found=repr(text), expected="a number and a unit")
    return read_number(match.group().strip()), text.strip()[match.end() :].strip()


def read_quantity(text: object, kind: str) -> Quantity:
    """One typed quantity of a known kind, in the base unit of the kind.

    Args:
        text: As typed, for example "27 psi".
        kind: A key of BASE_UNITS.

    Raises:
        BadQuantity: If the unit is missing, unknown or of another kind; it suggests the unit.
    """
    example = f'{kind} with its unit, like "{EXAMPLES[kind]}"'
    article = "an" if kind[0] in "aeiou" else "a"
    expected = f"{article} {example}"
    if not isinstance(text, str):
        raise BadQuantity("", found=f"the bare number {text}" if _is_number(text) else repr(text), expected=expected)
    try:
        number, unit = split_quantity(text)
    except BadQuantity:
        raise BadQuantity("", found=repr(text), expected=expected) from None
    if not unit:
        raise BadQuantity("", found=f"{text!r} without a unit", expected=expected)
    return Quantity(typed=text, number=_to_base(number, unit, kind, expected), unit=BASE_UNITS[kind])


def read_any_quantity(text: object) -> tuple[str, Quantity]:
    """One typed quantity whose unit tells its kind; a length of a mile or a kilometer is a distance.

    Raises:
        BadQuantity: If no kind has such a unit.
    """
    for kind in BASE_UNITS:
        try:
            found = read_quantity(text, kind)
        except BadQuantity:
            continue
        if kind == "length" and isinstance(text, str) and text.rstrip().endswith(("mi", "km")):
            continue
        return kind, found
    raise BadQuantity("", found=repr(text), expected=f"a number with a unit ({one_of(BASE_UNITS.values())}, ...)")


def _to_base(number: float, unit: str, kind: str, expected: str) -> float:
    if kind == "economy":
        squeezed = re.sub(r"[\s()_]", "", unit).lower()
        if squeezed not in _ECONOMY:
            raise BadQuantity("", found=f"the unit {unit!r}", expected=expected)
        if number <= 0:
            raise BadQuantity("", found=f"{number:g} {unit}", expected="a fuel economy above zero")
        return _ECONOMY[squeezed](number)
    if kind == "share":
        if unit not in {"%", "percent"}:
            raise BadQuantity("", found=f"the unit {unit!r}", expected=expected)
        return number
    return _convert(number, unit, kind, expected)


def _convert(number: float, unit: str, kind: str, expected: str) -> float:
    if (kind, unit) in _USUAL:
        return number * _USUAL[kind, unit]
    if kind == "temperature" and unit in {"degF", "degC"}:
        return number if unit == "degC" else celsius_of(number)
    return _convert_by_registry(number, unit, kind, expected)


def _convert_by_registry(number: float, unit: str, kind: str, expected: str) -> float:
    from pint import DimensionalityError, PintError  # noqa: PLC0415 - see _registry

    registry = _registry()
    if not _UNIT.fullmatch(unit):
        raise BadQuantity("", found=f"the unknown unit {unit!r}", expected=expected)
    if unit == "K" and kind == "temperature":
        # Nobody reads a thermometer in kelvin; a kelvin is a difference here.
        raise BadQuantity("", found="the unit 'K'", expected=expected)
    spelled = unit.replace("°", "deg").replace("mph", "mi/h")
    try:
        return float(registry.Quantity(number, registry.parse_units(spelled)).to(BASE_UNITS[kind]).magnitude)
    except DimensionalityError:
        raise BadQuantity("", found=f"the unit {unit!r}", expected=expected) from None
    except (
        PintError,
        TokenError,
        ValueError,
        TypeError,
        AttributeError,
        AssertionError,
        SyntaxError,
        KeyError,
    ):
        raise BadQuantity("", found=f"the unknown unit {unit!r}", expected=expected) from None


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def read_money(text: object, *, per: str | None = None) -> Money:
    """An amount with its currency: "60 USD", "3.35 USD/gal", "140 USD/h".

    Args:
        text: As typed.
        per: None for a plain amount, "volume" (the amount becomes one per liter) or "hour".

    Raises:
        BadQuantity: If the currency or the unit after the stroke is missing.
    """
    example = {None: "60 USD", "volume": "3.35 USD/gal", "hour": "140 USD/h"}[per]
    expected = f'an amount with its currency, like "{example}"'
    match = _MONEY.fullmatch(text.strip()) if isinstance(text, str) else None
    if not match or (match["per"] is None) != (per is None):
        raise BadQuantity("", found=repr(text), expected=expected)
    try:
        amount = read_number(match["number"])
    except BadQuantity:
        raise BadQuantity("", found=repr(text), expected=expected) from None
    if amount < 0:
        raise BadQuantity("", found=repr(text), expected="an amount of zero or more")
    if per == "volume":
        amount /= _convert(1.0, match["per"], "volume", expected)
    elif per == "hour":
        amount /= _convert(1.0, match["per"], "time", expected) / 3600.0
    return Money(amount=amount, currency=match["currency"])
