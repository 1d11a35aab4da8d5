"""From ratings on a label to the laboratory fuel they were computed from."""

from dataclasses import dataclass

import numpy as np

from lostgallon.shop.trouble import BadCase
from lostgallon.shop.units import MPG_TIMES_L_PER_100KM
from lostgallon.shop.visit import Vehicle

RATING_STEP_MPG_SD = 1.0 / np.sqrt(12.0)  # labels are whole mpg: a uniform rounding error of one
LABORATORY_SD_LOG = 0.015  # what a laboratory figure of one vehicle says of another of its kind; chosen
RESTATED_YEAR, REVISED_YEAR = 2008, 2017


@dataclass(frozen=True)
class Laboratory:
    """Laboratory fuel as natural logs of L/100 km, city first, with the standard deviation of each. [-]"""

    log_l_per_100km: tuple[float, ...]
    sd_log: tuple[float, ...]
    schedules: tuple[str, ...]


def laboratory_mpg(rated_mpg: float, *, highway: bool, model_year: int, restated: bool) -> float:
    """The laboratory mpg behind a rating. [mpg]

    Args:
        rated_mpg: As on the label. [mpg]
        highway: Which of the two ratings.
        model_year: Model year of the vehicle.
        restated: Before 2008: the rating was restated later in the form used from 2008 on.

    Raises:
        BadCase: If no laboratory figure could give such a rating.

    Source: 40 CFR 600.210-08 and 600.210-12 (mpg-based equations), 40 CFR 600.209-85 for the older factors.
    """
    if model_year < RESTATED_YEAR and not restated:
        return rated_mpg / (0.78 if highway else 0.90)
    if model_year < REVISED_YEAR:
        slope, intercept = (1.3466, 0.001376) if highway else (1.1805, 0.003259)
    else:
        slope, intercept = (1.2945, 0.003191) if highway else (1.1601, 0.004091)
    rest = 1.0 / rated_mpg - intercept
    if rest <= 0.0:
        kind = "rated_highway" if highway else "rated_city"
        raise BadCase(f"[vehicle] {kind}", found=f"{rated_mpg:g} mpg", expected="a rating of a gasoline vehicle")
    return slope / rest


def laboratory(vehicle: Vehicle) -> Laboratory:
    """Laboratory fuel behind the ratings that are known.

    Ratings before model year 2008 whose kind is not said are taken as restated, with a wider spread.

    Raises:
        BadCase: If the two ratings can't belong to one vehicle.
    """
    ratings = {"city": vehicle.rated_city_l_per_100km, "highway": vehicle.rated_highway_l_per_100km}
    known = {name: MPG_TIMES_L_PER_100KM / rating for name, rating in ratings.items() if rating}
    _require_order(known)
    old = vehicle.model_year < RESTATED_YEAR
    restated = old and vehicle.ratings_from != "sticker"
    unsaid = 0.04 if old and vehicle.ratings_from is None else 0.0  # half the gap between the two forms
    logs, spreads = [], []
    for name, rated in known.items():
        mpg = laboratory_mpg(rated, highway=name == "highway", model_year=vehicle.model_year, restated=restated)
        logs.append(float(np.log(MPG_TIMES_L_PER_100KM / mpg)))
        rounding = RATING_STEP_MPG_SD / rated * mpg / rated
        spreads.append(float(np.sqrt(LABORATORY_SD_LOG**2 + rounding**2 + unsaid**2)))
    return Laboratory(tuple(logs), tuple(spreads), tuple(known))


def remarks(vehicle: Vehicle) -> tuple[str, ...]:
    """What should be known about the ratings of a vehicle and is not, as sentences for a person.

    Source: docs/physics.md, section on ratings.
    """
    ratings = (vehicle.rated_city_l_per_100km, vehicle.rated_highway_l_per_100km)
    if not any(ratings):
        return ("No ratings are known: vehicles of this kind speak for it, so the range is wide.",)
    said = []
    if not all(ratings):
        said.append("One of the two ratings is missing: the range is wider for it.")
    if vehicle.model_year < RESTATED_YEAR and vehicle.ratings_from is None:
        said.append(
            "Ratings before model year 2008 are taken as restated; say ratings_from if they are from the sticker."
        )
    return tuple(said)


def _require_order(known: dict[str, float]) -> None:
    if len(known) == 2 and known["highway"] < 0.97 * known["city"]:
        raise BadCase(
            "[vehicle] rated_highway",
            found=f"{known['highway']:.0f} mpg, under the city rating of {known['city']:.0f} mpg",
            expected="a highway rating at least as high as the city rating of a gasoline vehicle",
        )
