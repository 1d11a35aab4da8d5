"""The one table of coefficients (data/coefficients.csv) and draws from it. Change a number there, not in code."""

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Literal

import numpy as np

from lostgallon.shop.spread import Floats


@dataclass(frozen=True)
class Coefficient:
    """One number of the physics with its unit, spread, credible limits and source.

    `spread_kind` "log" means a standard deviation of the natural log, "abs" one in the coefficient's own unit.
    """

    name: str
    value: float
    unit: str
    spread: float
    spread_kind: Literal["log", "abs"]
    low: float
    high: float
    applies_to: str
    source_class: str
    source: str


@cache
def coefficients() -> Mapping[str, Coefficient]:
    """All coefficients by name, in the order of the table."""
    text = resources.files("lostgallon.data").joinpath("coefficients.csv").read_text("utf-8")
    rows = csv.DictReader(io.StringIO(text))
    return MappingProxyType({row["name"]: _coefficient(row) for row in rows})


def _coefficient(row: Mapping[str, str]) -> Coefficient:
    return Coefficient(
        name=row["name"],
        value=float(row["value"]),
        unit=row["unit"],
        spread=float(row["spread"]),
        spread_kind="abs" if row["spread_kind"] == "abs" else "log",
        low=float(row["low"]),
        high=float(row["high"]),
        applies_to=row["applies_to"],
        source_class=row["class"],
        source=row["source"],
    )


def value_of(name: str) -> float:
    """The value of one coefficient, in the unit of the table."""
    return coefficients()[name].value


def at_deviate(name: str, deviate: Floats) -> Floats:
    """A coefficient at standard normal deviates, held inside its credible limits.

    Args:
        name: Name in the table.
        deviate: Standard normal deviates, shape (draws,). [-]

    Returns:
        The coefficient, shape (draws,), in the unit of the table.
    """
    coefficient = coefficients()[name]
    if coefficient.spread_kind == "log":
        drawn = coefficient.value * np.exp(coefficient.spread * deviate)
    else:
        drawn = coefficient.value + coefficient.spread * deviate
    return np.clip(drawn, coefficient.low, coefficient.high)
