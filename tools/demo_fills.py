"""Writes the invented fill-up logs of the demo cases: python -m tools.demo_fills.

Each log has a known truth, written in its recipe below: season by the month's mean temperature, scatter from tank to
tank, a fill-level error at each pump, and for one vehicle a lasting rise from a date on.
"""

import csv
import math
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from lostgallon.shop.units import KM_PER_MILE, L_PER_US_GALLON

FOLDER = Path(__file__).resolve().parent.parent / "src" / "lostgallon" / "data" / "demo"
MONTH_MEAN_C = (-5.5, -3.5, 3.0, 9.5, 15.5, 20.5, 23.0, 22.0, 17.5, 11.0, 4.0, -2.5)
"""An invented inland town."""


@dataclass(frozen=True)
class Recipe:
    """The truth behind one log."""

    file: str
    first: date
    last: date
    odometer_mi: float
    warm_l_per_100km: float
    per_kelvin: float
    mi_per_day: float
    tank_mi: float
    rise_from: date | None = None
    rise: float = 0.0
    scatter: float = 0.045
    level_error_l: float = 0.6
    seed: int = 1


RECIPES = (
    Recipe("winter-fills.csv", date(2024, 11, 9), date(2026, 1, 18), 49_500, 8.05, 0.0068, 26.0, 300, seed=11),
    Recipe(
        "wagon-fills.csv", date(2024, 9, 7), date(2026, 1, 13), 116_200, 10.1, 0.0062, 30.0, 290,
        rise_from=date(2025, 11, 5), rise=0.125, seed=12,
    ),
)  # fmt: skip


def write_log(recipe: Recipe) -> None:
    """Write one log as CSV with date, odometer and volume."""
    rng = np.random.default_rng(recipe.seed)
    day, odometer_mi, level_l = recipe.first, recipe.odometer_mi, 0.0
    rows = [(day.isoformat(), f"{odometer_mi:.0f}", "11.50")]
    while True:
        distance_mi = recipe.tank_mi * rng.uniform(0.85, 1.12)
        middle = day + timedelta(days=round(distance_mi / recipe.mi_per_day / 2))
        log = recipe.per_kelvin * max(20.0 - MONTH_MEAN_C[middle.month - 1], 0.0) + rng.normal(0.0, recipe.scatter)
        if recipe.rise_from and middle >= recipe.rise_from:
            log += math.log1p(recipe.rise)
        day += timedelta(days=max(1, round(distance_mi / recipe.mi_per_day * rng.uniform(0.85, 1.15))))
        if day > recipe.last:
            break
        odometer_mi += distance_mi
        error_l = rng.normal(0.0, recipe.level_error_l)
        liters = distance_mi * KM_PER_MILE * recipe.warm_l_per_100km / 100.0 * math.exp(log) + error_l - level_l
        level_l = error_l
        rows.append((day.isoformat(), f"{odometer_mi:.0f}", f"{liters / L_PER_US_GALLON:.2f}"))
    with (FOLDER / recipe.file).open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("date", "odometer (mi)", "volume (gal)"))
        writer.writerows(rows)


if __name__ == "__main__":
    for each in RECIPES:
        write_log(each)
        print(FOLDER / each.file)
