"""Predict what no rating tells, from a technician's inputs alone, and compare with the EPA test-car list.

    python -m tools.check_epa WHEEL odd         used while coefficients and widths were chosen
    python -m tools.check_epa WHEEL even        held out
    python -m tools.check_epa WHEEL strangers   those of the even ids whose engine family has no odd id
    python -m tools.check_epa WHEEL strong      above 450 hp, any id: in no fit and no earlier check

The even ids have been looked at twice: on 2026-11-25 at commit 25d4826, where the aggressive fuel was 2.3 % high, and
once more on the same day after the fit was changed on the odd ids alone. `strangers` and `strong` were named before
that second look, and looked at with it for the first time.

Inputs are weight, displacement, gears, drive, induction and two whole-mpg ratings; asked for are the aggressive
schedule, the city test at -7 over 24 degC, and the road load at 50 mph.
"""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from lostgallon.physics.calibration import calibrated
from lostgallon.physics.laboratory import TEST_CELL, city_bags_of, laboratory_log, weighted_city
from lostgallon.physics.lanes import Lanes
from lostgallon.physics.setting import Surroundings, lanes_for
from lostgallon.physics.vehicle import Members
from lostgallon.shop.spread import Floats
from lostgallon.shop.units import MPG_TIMES_L_PER_100KM
from lostgallon.shop.visit import Vehicle
from tools.epa_list import MOST_HP, Tested, read_list
from tools.fit_epa import COLD_ROAD, vehicle_of

MEMBERS = 400
FIFTY_MPH_M_S = 22.352
COLD_CELL = Surroundings(-7.0, TEST_CELL.elevation_m)


def labelled(car: Tested) -> Vehicle:
    """A test vehicle with the whole-mpg ratings that its laboratory fuel gives (40 CFR 600.210-12, 2017 on)."""
    city = MPG_TIMES_L_PER_100KM / _city(car, "")
    highway = MPG_TIMES_L_PER_100KM / car.fuel["highway"]
    rated = (round(1.0 / (0.004091 + 1.1601 / city)), round(1.0 / (0.003191 + 1.2945 / highway)))
    return replace(
        vehicle_of(car),
        rated_city_l_per_100km=MPG_TIMES_L_PER_100KM / rated[0],
        rated_highway_l_per_100km=MPG_TIMES_L_PER_100KM / rated[1],
    )


def _city(car: Tested, prefix: str) -> float:
    return float(weighted_city(tuple(np.array(car.fuel[f"{prefix}bag{bag}"]) for bag in (1, 2, 3))))  # type: ignore[arg-type]


def road_n(lanes: Lanes) -> Floats:
    """Road load at 50 mph with the tires at their reference temperature, shape (lanes,). [N]"""
    return lanes.tire_n + lanes.steady_n + FIFTY_MPH_M_S * (lanes.linear_n_s_m + lanes.square_n_s2_m2 * FIFTY_MPH_M_S)


def cold_ratio_log(members: Members) -> Floats:
    """Log of city fuel at -7 over 24 degC on rollers, shape (members,). The rollers' load is raised by a tenth."""
    normal = lanes_for(members, TEST_CELL, {})
    cold = lanes_for(members, COLD_CELL, {})
    # Rollers impose the coefficients themselves: no denser air in the cold.
    cold = replace(cold, tire_n=COLD_ROAD * normal.tire_n, square_n_s2_m2=COLD_ROAD * normal.square_n_s2_m2)
    ratio = weighted_city(city_bags_of(cold)) / weighted_city(city_bags_of(normal))
    return np.log(ratio) + members.of("cold_residual")


def compare(car: Tested, rng: np.random.Generator) -> dict[str, tuple[float, float, bool]]:
    """Error of the mean (log), half width of the 90 % interval, and whether it holds the measured value."""
    members = calibrated(labelled(car), MEMBERS, rng=rng).members
    a, b, c = car.road
    asked = {
        "road load at 50 mph": (
            np.log(road_n(lanes_for(members, TEST_CELL, {}))),
            np.log(a + b * FIFTY_MPH_M_S + c * FIFTY_MPH_M_S**2),
        )
    }
    if "aggressive" in car.fuel:
        asked["aggressive fuel"] = (laboratory_log(members, "aggressive"), np.log(car.fuel["aggressive"]))
    if "cold_bag3" in car.fuel:
        asked["cold over normal city"] = (cold_ratio_log(members), np.log(_city(car, "cold_") / _city(car, "")))
    found = {}
    for name, (logs, truth) in asked.items():
        low, high = np.quantile(logs, (0.05, 0.95))
        found[name] = (float(logs.mean() - truth), float(high - low) / 2.0, bool(low <= truth <= high))
    return found


def _asked(wheel: Path, which: str) -> list[Tested]:
    if which == "strong":
        return read_list(wheel, horsepower=(MOST_HP, 2000.0))
    cars = read_list(wheel)
    fitted = {car.family for car in cars if car.odd}
    cars = [car for car in cars if car.odd == (which == "odd")]
    return [car for car in cars if which != "strangers" or car.family not in fitted]


def main() -> None:
    cars = [car for car in _asked(Path(sys.argv[1]), sys.argv[2]) if {"aggressive", "cold_bag3"} & set(car.fuel)]
    rng = np.random.default_rng(2022)
    rows = [compare(car, rng) for car in cars]
    print(f"{sys.argv[2]}: {len(cars)} vehicles with an aggressive or a cold test")
    for name in ("aggressive fuel", "cold over normal city", "road load at 50 mph"):
        if not any(name in row for row in rows):
            continue
        errors, widths, inside = (
            np.array(column) for column in zip(*(row[name] for row in rows if name in row), strict=True)
        )
        n = errors.size
        print(
            f"{name:24} n {n:4}  bias {100 * errors.mean():+5.1f} +/- {100 * errors.std() / n**0.5:.1f} %"
            f"  sd {100 * errors.std(ddof=1):4.1f} +/- {100 * errors.std() / (2 * n) ** 0.5:.1f} %"
            f"  90 % interval +/-{100 * widths.mean():.1f} %, holds {100 * inside.mean():.0f} %"
        )


if __name__ == "__main__":
    main()
