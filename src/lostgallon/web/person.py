"""What the person at this device chose: name, units, light in the bay, language. Kept in cookies, one device each."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, cast, get_args

from lostgallon.paper.words import Language
from lostgallon.web.words import LANGUAGES

Units = Literal["us", "si"]
Bay = Literal["auto", "bright", "dim"]

SHOWN_UNITS: dict[str, dict[Units, tuple[str, ...]]] = {
    "pressure": {"us": ("psi", "bar", "kPa"), "si": ("bar", "kPa", "psi")},
    "temperature": {"us": ("degF", "degC"), "si": ("degC", "degF")},
    "temperature step": {"us": ("K",), "si": ("K",)},
    "length": {"us": ("in", "mm"), "si": ("mm", "in")},
    "distance": {"us": ("mi", "km"), "si": ("km", "mi")},
    "mass": {"us": ("lb", "kg"), "si": ("kg", "lb")},
    "volume": {"us": ("L",), "si": ("L",)},
    "fuel": {"us": ("gal", "L"), "si": ("L", "gal")},
    "economy": {"us": ("mpg", "L/100km"), "si": ("L/100km", "mpg")},
    "force": {"us": ("lbf", "N"), "si": ("N", "lbf")},
    "torque": {"us": ("lbf ft", "Nm"), "si": ("Nm", "lbf ft")},
    "time": {"us": ("min",), "si": ("min",)},
    "voltage": {"us": ("V",), "si": ("V",)},
    "current": {"us": ("A", "mA"), "si": ("A", "mA")},
    "angle": {"us": ("deg",), "si": ("deg",)},
    "rotation": {"us": ("rpm",), "si": ("rpm",)},
    "share": {"us": ("%",), "si": ("%",)},
    "mass flow": {"us": ("g/s",), "si": ("g/s",)},
    "speed": {"us": ("mph", "km/h"), "si": ("km/h", "mph")},
}
"""Units a field offers for a kind of quantity, the person's own first."""


@dataclass(frozen=True)
class Person:
    """The choices of a device."""

    name: str = ""
    units: Units = "us"
    bay: Bay = "auto"
    language: Language = "en"

    def units_of(self, kind: str) -> tuple[str, ...]:
        """The units a field of a kind offers this person."""
        return SHOWN_UNITS[kind][self.units]


def person_of(cookies: Mapping[str, str]) -> Person:
    """The person of a request; a cookie that says anything else counts as not there."""
    units, bay, language = cookies.get("units"), cookies.get("bay"), cookies.get("language")
    return Person(
        name=cookies.get("name", "")[:60],
        units=cast("Units", units) if units in get_args(Units) else "us",
        bay=cast("Bay", bay) if bay in get_args(Bay) else "auto",
        language=language if language in LANGUAGES else "en",
    )
