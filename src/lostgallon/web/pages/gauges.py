"""The gauges of the shop as a page lists them: by name, how far each reads off, when it was compared."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from lostgallon.shop.units import read_any_quantity, split_quantity
from lostgallon.web.say import Say

KINDS: Mapping[str, str] = {
    "psi": "pressure", "bar": "pressure", "kPa": "pressure", "°F": "temperature", "°C": "temperature",
    "in": "length", "mm": "length", "V": "voltage", "A": "current", "N": "force", "lbf": "force",
}  # fmt: skip
"""What a gauge reads, by the unit its offset is told in."""

FIRST_UNITS: Mapping[str, tuple[str, ...]] = {
    "us": ("psi", "°F", "in", "V", "A", "lbf", "kPa", "bar", "°C", "mm", "N"),
    "si": ("bar", "kPa", "°C", "mm", "V", "A", "N", "psi", "°F", "in", "lbf"),
}
K_PER_F = 5.0 / 9.0

Told = Mapping[str, Any]


@dataclass(frozen=True)
class GaugeRow:
    """One gauge in words."""

    name: str
    says: str
    compared: str


@dataclass(frozen=True)
class GaugesPage:
    """The page: the gauges, the units an offset may be told in, and the way back to the check one came from."""

    rows: tuple[GaugeRow, ...]
    units: tuple[str, ...]
    back: str


def gauges_page(gauges: Iterable[Told], say: Say, *, back: str) -> GaugesPage:
    """The gauges of the shop as they are told now."""
    return GaugesPage(rows=tuple(_row(told, say) for told in gauges), units=FIRST_UNITS[say.person.units], back=back)


def _row(told: Told, say: Say) -> GaugeRow:
    day = str(told.get("compared") or "")
    compared = say("gauges.compared", day=say.day(dt.date.fromisoformat(day))) if day else ""
    return GaugeRow(name=told["name"], says=offset_says(told, say), compared=compared)


def offset_says(told: Told, say: Say) -> str:
    """`reads 1.5 psi too high`; a thermometer's in the reader's degrees."""
    number, unit = split_quantity(str(told["reads_high"]))
    if unit == "K":
        number, unit = (number / K_PER_F, "°F") if say.us else (number, "°C")
    key = "gauges.reads_high" if number >= 0 else "gauges.reads_low"
    return say(key, size=f"{abs(number):.3g} {unit}")


def offset_typed(number: str, unit: str, *, low: bool) -> str:
    """An offset as a gauge keeps it: with its sign, a thermometer's in kelvin."""
    sign = "-" if low else ""
    if KINDS[unit] != "temperature":
        return f"{sign}{number} {unit}"
    return f"{sign}{float(number) * (K_PER_F if unit == '°F' else 1.0):.3g} K"


def gauges_for(kind: str, gauges: Iterable[Told], say: Say) -> tuple[tuple[str, str], ...]:
    """Name and words of the gauges that read a kind of quantity."""
    own = {"temperature": "temperature step"}.get(kind, kind)
    return tuple(
        (told["name"], f"{told['name']}, {offset_says(told, say)}")
        for told in gauges
        if read_any_quantity(told["reads_high"])[0] == own
    )
