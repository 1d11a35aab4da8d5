"""The units a reader thinks in: theirs stand first, the other ones beside them."""

import re
from dataclasses import dataclass
from typing import Literal

from lostgallon.paper.figures import GAL, GAL_PER_100MI, MI
from lostgallon.shop.visit import Case

_US_THEN_METRIC = re.compile(
    r"(?P<us>[−-]?[\d.,]+ (?:degF|psi|mi|lbf|gal per 100 mi)) "
    r"\((?P<also>[\d.,]+ mpg, )?(?P<metric>[−-]?[\d.,]+ (?:degC|kPa|km|N|L/100 km))\)"
)
"""A figure of a sentence in both units, as records write it."""


@dataclass(frozen=True)
class Measure:
    """Units of one kind of reader.

    Attributes:
        name: US customary or metric.
        fuel: Times L/100 km gives fuel per distance in these units.
        volume: Times liters gives a volume.
        distance: Times kilometers gives a distance.
    """

    name: Literal["us", "metric"]
    fuel: float
    volume: float
    distance: float

    @property
    def other(self) -> "Measure":
        """The units that stand second."""
        return METRIC if self.name == "us" else US

    def first(self, text: str) -> str:
        """A sentence of a record with these units first: `26 degF (-3 degC)` reads `-3 degC (26 degF)` in metric."""
        return text if self.name == "us" else _US_THEN_METRIC.sub(r"\g<metric> (\g<us>)", text)


US = Measure("us", fuel=GAL_PER_100MI, volume=GAL, distance=MI)
METRIC = Measure("metric", fuel=1.0, volume=1.0, distance=1.0)


def measure_of(case: Case) -> Measure:
    """The units in which the figures of a case were told; US where they do not say."""
    typed = case.now.economy_typed or case.then.economy_typed
    return METRIC if "km" in typed.lower() else US
