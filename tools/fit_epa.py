"""Fit the physics to the odd test-vehicle ids of the EPA test-car list; write the result beside this file.

    python tools/fit_epa.py WHEEL          WHEEL: the fastsim 2.1.5 wheel, which carries the list

Method: marginal generalized least squares. Every vehicle has its own friction and efficiency (normal in the log);
they are integrated out to first order, so that common coefficients get honest standard errors. Each engine family
speaks once, whatever the number of its vehicles. Weak priors, from memory, stand in for what the list can't tell.

The even ids never enter. They have been looked at twice, by tools/check_epa.py: on 2026-11-25 at commit 25d4826, and on
the same day after the bend of the Willans line (`strain`) and the weighting by families had been chosen on the odd ids.
"""

import csv
import sys
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

import lostgallon.physics.coefficients as table
from lostgallon.physics.laboratory import HIGHWAY_WARM_M_S, city_bags_of, l_per_100km
from lostgallon.physics.lanes import Lanes, joined
from lostgallon.physics.schedules import schedule
from lostgallon.physics.setting import Surroundings, lanes_for
from lostgallon.physics.trip import Leg, drive
from lostgallon.physics.vehicle import CVT_SPREAD, DRIVER_KG, GASOLINE_J_PER_L, RATIO_SPREAD, central_member
from lostgallon.physics.warm_up import warm
from lostgallon.shop.spread import Floats
from lostgallon.shop.units import L_PER_US_GALLON
from lostgallon.shop.visit import Vehicle
from tools.epa_list import Tested, read_list

RESULT = Path(__file__).with_name("fit_epa.csv")
TERMS = {
    "rolling": ("one", "log mass", "truck", "all wheels"),
    "drag_area": ("one", "log mass", "truck"),
    "top_gear": ("one", "log liters", "log gears"),
}
COLD_ROAD = 1.10  # the cold test's road load is raised by a tenth: 40 CFR 86.229-94
TESTS = ("bag1", "bag2", "bag3", "highway", "aggressive", "cold_bag1", "cold_bag2", "cold_bag3")
# Prior centers from memory, log standard deviations wide enough to leave the list its say.
PRIOR: Mapping[str, tuple[float, float]] = {
    "friction_a": (125_000.0, 0.2),
    "friction_b": (11.0, 0.25),
    "indicated_efficiency": (0.42, 0.1),
    "friction_per_doubling": (0.95, 0.15),
    "turbo_friction": (1.3, 0.3),
    "turbo_efficiency": (1.0, 0.1),
    # Viscosity of a 5W-30 oil to the power 0.24 (from memory) gives 1.9, 2.6 and 3.2 times the warm friction at 20, -7
    # and -20 degC; about four fifths of what is called friction here is viscous.
    "friction_cold_linear": (0.5, 0.2),
    "friction_cold_cubic": (1.0, 0.2),
    "enrichment_cold": (0.1, 0.7),
    "heat_capacity_base": (40.0, 0.3),
    "heat_share": (0.28, 0.15),
    "loss_base": (8.0, 0.3),
    "heater_conductance": (35.0, 0.4),
    "driveline_efficiency": (0.95, 0.02),
    "converter_slip_open": (0.08, 0.25),
    "idle_drag": (130.0, 0.3),
    "accessory_power": (800.0, 0.2),
    "overrun_cut": (0.6, 0.25),
    "lug_speed": (1300.0, 0.08),
    "shift_pressure": (650.0, 0.12),
    "lug_no_converter": (1.1, 0.2),
    "cvt_efficiency": (0.95, 0.05),
    "turbo_shift": (1.5, 0.3),
    "strain": (0.3, 0.7),
    "driveline_drag": (0.004, 0.5),
    "driveline_time": (1000.0, 0.2),
    "tire_temperature": (0.009, 0.15),
}
IDLE_L_PER_H = {2.0: 0.16 * L_PER_US_GALLON, 4.6: 0.39 * L_PER_US_GALLON}  # by liters, warm: US DOE Fact 861 (2015)
IDLE_SPREAD = 0.10  # of those two as logs; chosen
SCATTER = dict.fromkeys(("bag1", "bag2", "bag3", "highway"), 0.025) | {
    "aggressive": 0.05,
    "cold_bag1": 0.06,
    "cold_bag2": 0.06,
    "cold_bag3": 0.06,
}  # start; re-estimated
OWN = {"friction_scale": 0.22, "indicated_efficiency": 0.06}  # a vehicle's own, start; re-estimated


@dataclass(frozen=True)
class Fit:
    """Common coefficients (logs), their covariance, scatter by test, spreads of a vehicle's own two.

    `residuals` has shape (tests, cars), `slopes` (coefficients, tests, cars), `own_slopes` (2, tests, cars); `parts`
    is what each car adds to the normal equations.
    """

    logs: Floats
    covariance: Floats
    scatter: dict[str, float]
    own: Floats
    residuals: Floats
    slopes: Floats
    own_slopes: Floats
    parts: list[tuple[Floats, Floats]]


def vehicle_of(one: Tested) -> Vehicle:
    """What a technician would know of a test vehicle."""
    return Vehicle(
        body="suv" if one.truck else "car",
        model_year=2022,
        curb_weight_kg=one.mass_kg - DRIVER_KG,
        displacement_l=one.liters,
        cylinders=4,
        induction="turbo" if one.turbo else "natural",
        injection="direct",
        drive="4wd" if one.all_wheels else "2wd",
        transmission="cvt" if one.cvt else "automatic" if one.converter else "dual clutch",
        odometer_km=6400.0,
        gears=None if one.cvt else one.gears,
    )


def lanes_of(cars: list[Tested], surroundings: Surroundings, road_factor: float) -> Lanes:
    """One lane a car, with its own measured road load and top gear instead of its class's."""
    lanes = joined([lanes_for(central_member(vehicle_of(car)), surroundings, {}) for car in cars])
    road = np.array([car.road for car in cars]).T * road_factor
    spread = np.array([CVT_SPREAD if car.cvt else RATIO_SPREAD[min(max(car.gears, 3), 10)] for car in cars])
    top = np.array([car.top_rpm_s_m for car in cars])
    return replace(
        lanes,
        tire_n=road[0],
        linear_n_s_m=road[1],
        square_n_s2_m2=road[2],
        top_rpm_s_m=top,
        low_rpm_s_m=0.75 * spread * top,
    )


def model_logs(cars: list[Tested], changed: Mapping[str, float]) -> Floats:
    """Logs of fuel, shape (tests, cars), with some coefficients at other values."""
    original = table.coefficients
    rows = {name: replace(row, value=changed.get(name, row.value)) for name, row in original().items()}
    table.coefficients = lambda: rows  # type: ignore[assignment]
    try:
        return _run(cars)
    finally:
        table.coefficients = original


def _run(cars: list[Tested]) -> Floats:
    normal = lanes_of(cars, Surroundings(24.0), 1.0)
    cold = lanes_of(cars, Surroundings(-7.0), COLD_ROAD)
    tests = {f"bag{i}": fuel for i, fuel in enumerate(city_bags_of(normal), 1)}
    tests |= {f"cold_bag{i}": fuel for i, fuel in enumerate(city_bags_of(cold), 1)}
    for name in ("highway", "aggressive"):
        start = warm(normal, speed_m_s=HIGHWAY_WARM_M_S)
        tests[name] = l_per_100km(drive(normal, [Leg(schedule(name))], start), normal)
    return np.log(np.stack([tests[name] for name in TESTS]))


def measured_logs(cars: list[Tested]) -> Floats:
    """Logs of measured fuel, shape (tests, cars); what was not tested is not a number."""
    fuel = np.array([[car.fuel.get(name, np.nan) for car in cars] for name in TESTS])
    return np.asarray(np.log(fuel), dtype=np.float64)


def fit(cars: list[Tested], *, turns: int = 12) -> Fit:
    """Common coefficients by repeated linearization."""
    names = list(PRIOR)
    center = np.log([PRIOR[name][0] for name in names])
    precision = np.diag([PRIOR[name][1] ** -2 for name in names])
    logs = np.log([table.value_of(name) for name in names])
    scatter, own = dict(SCATTER), np.array(list(OWN.values()))
    said, weights = measured_logs(cars), family_weights(cars)
    for turn in range(turns):
        at = {name: float(np.exp(log)) for name, log in zip(names, logs, strict=True)}
        base = model_logs(cars, at)
        slopes = np.stack([(model_logs(cars, at | {name: at[name] * 1.02}) - base) / np.log(1.02) for name in names])
        own_slopes = np.stack(
            [(model_logs(cars, at | {name: at.get(name, 1.0) * 1.02}) - base) / np.log(1.02) for name in OWN]
        )
        parts = [
            (weight * inward, weight * pull)
            for weight, (inward, pull) in zip(
                weights, _per_car(said - base, slopes, own_slopes, scatter, own), strict=True
            )
        ]
        idle = _idle_part(at)
        normal = precision + sum(part[0] for part in [idle, *parts])
        step = np.linalg.solve(normal, precision @ (center - logs) + sum(part[1] for part in [idle, *parts]))
        step = 0.7 * np.clip(step, -0.3, 0.3)  # short of the whole way: maxima in the loop make corners
        logs = logs + step
        scatter, own = _spreads(said - base, own_slopes, scatter, own)
        print(f"turn {turn}: largest step {np.abs(step).max():.4f} of {names[np.abs(step).argmax()]}", file=sys.stderr)
    covariance = np.asarray(np.linalg.inv(normal), dtype=np.float64)
    return Fit(logs, covariance, scatter, own, said - base, slopes, own_slopes, parts)


def idle_logs(at: Mapping[str, float]) -> Floats:
    """Logs of warm idle fuel in neutral for the engines of IDLE_L_PER_H. [log of L/h]"""
    rpm, found = table.value_of("idle_speed"), []
    for liters in IDLE_L_PER_H:
        pressure_pa = at["friction_per_doubling"] ** np.log2(liters / 2.5) * (at["friction_a"] + at["friction_b"] * rpm)
        power_w = at["accessory_power"] + pressure_pa * liters * 1e-3 * rpm / 120.0
        found.append(power_w / at["indicated_efficiency"] * 3600.0 / GASOLINE_J_PER_L)
    return np.log(found)


def _idle_part(at: Mapping[str, float]) -> tuple[Floats, Floats]:
    base = idle_logs(at)
    slopes = np.stack([(idle_logs({**at, name: at[name] * 1.02}) - base) / np.log(1.02) for name in PRIOR])
    off = np.log(list(IDLE_L_PER_H.values())) - base
    return slopes @ slopes.T / IDLE_SPREAD**2, slopes @ off / IDLE_SPREAD**2


def family_weights(cars: list[Tested]) -> Floats:
    """One over the number of vehicles of a car's engine family: each family speaks once."""
    count = Counter(car.family for car in cars)
    return np.array([1.0 / count[car.family] for car in cars])


def _per_car(
    off: Floats, slopes: Floats, own_slopes: Floats, scatter: dict[str, float], own: Floats
) -> list[tuple[Floats, Floats]]:
    sd = np.array([scatter[name] for name in TESTS])
    parts = []
    for car in range(off.shape[1]):
        known = np.isfinite(off[:, car]) & (np.abs(off[:, car]) < 0.3)
        local = own_slopes[:, known, car] * own[:, None]
        inverse = np.linalg.inv(np.diag(sd[known] ** 2) + local.T @ local)
        slope = slopes[:, known, car]
        parts.append((slope @ inverse @ slope.T, slope @ inverse @ off[known, car]))
    return parts


def _spreads(
    off: Floats, own_slopes: Floats, scatter: dict[str, float], own: Floats
) -> tuple[dict[str, float], Floats]:
    """One expectation step: each car's own two given its residuals, then their spread and the scatter left."""
    sd = np.array([scatter[name] for name in TESTS])
    squares: dict[str, list[float]] = {name: [] for name in TESTS}
    owns: list[Floats] = []
    for car in range(off.shape[1]):
        known = np.isfinite(off[:, car]) & (np.abs(off[:, car]) < 0.3)
        slope, rest, weight = own_slopes[:, known, car], off[known, car], sd[known] ** -2
        covariance = np.linalg.inv((slope * weight) @ slope.T + np.diag(own**-2))
        mean = covariance @ (slope * weight) @ rest
        owns.append(mean**2 + np.diag(covariance))
        left = rest - mean @ slope
        extra = np.einsum("it,ij,jt->t", slope, covariance, slope)
        for name, value in zip(np.array(TESTS)[known], left**2 + extra, strict=True):
            squares[name].append(value)
    return {name: float(np.sqrt(np.mean(values))) for name, values in squares.items()}, np.sqrt(np.mean(owns, axis=0))


def class_regressions(cars: list[Tested]) -> dict[str, tuple[Floats, Floats, float]]:
    """Log rolling coefficient, log drag area and log top gear by what a technician knows: slopes, errors, scatter."""
    speeds = np.linspace(4.5, 31.0, 54)
    shape = np.stack([np.ones_like(speeds), speeds**2], axis=1)
    rolling, area = [], []
    for car in cars:
        force = car.road[0] + car.road[1] * speeds + car.road[2] * speeds**2
        (flat, square), *_ = np.linalg.lstsq(shape, force, rcond=None)
        rolling.append(np.log(max(flat, 20.0) / (car.mass_kg * 9.80665)))
        area.append(np.log(2.0 * square / 1.167))
    mass = np.log([car.mass_kg / 1700.0 for car in cars])
    truck, driven = np.array([[car.truck, car.all_wheels] for car in cars], dtype=float).T
    one = np.ones_like(mass)
    top = np.log([car.top_rpm_s_m * 0.44704 for car in cars])
    gears = np.log([(8 if car.cvt else car.gears) / 8.0 for car in cars])
    liters = np.log([car.liters / 2.5 for car in cars])
    return {
        "rolling": _regression(np.stack([one, mass, truck, driven], 1), np.array(rolling)),
        "drag_area": _regression(np.stack([one, mass, truck], 1), np.array(area)),
        "top_gear": _regression(np.stack([one, liters, gears], 1), top),
    }


def _regression(inputs: Floats, logs: Floats) -> tuple[Floats, Floats, float]:
    keep = np.ones(logs.size, dtype=bool)
    for _ in range(3):  # vehicles beyond three spreads are not of this kind: one trim, repeated
        slopes, *_ = np.linalg.lstsq(inputs[keep], logs[keep], rcond=None)
        off = logs - inputs @ slopes
        spread = float(np.std(off[keep], ddof=inputs.shape[1]))
        keep = np.abs(off) < 3.0 * spread
    errors = spread * np.sqrt(np.diag(np.linalg.inv(inputs[keep].T @ inputs[keep])))
    return np.asarray(slopes, dtype=np.float64), np.asarray(errors, dtype=np.float64), spread


def main() -> None:
    cars = [car for car in read_list(Path(sys.argv[1])) if car.odd]
    print(
        f"odd ids: {len(cars)} vehicles, {sum('aggressive' in c.fuel for c in cars)} with US06, "
        f"{sum('cold_bag1' in c.fuel for c in cars)} with a cold test"
    )
    write_result(fit(cars), cars)


def write_result(found: Fit, cars: list[Tested]) -> None:
    """Write the coefficients, their errors, what is left over, and the class regressions beside this file."""
    rows = [["name", "value", "standard_error", "kind", "prior", "prior_spread"]]
    for index, (name, (center, spread)) in enumerate(PRIOR.items()):
        error = np.sqrt(found.covariance[index, index])
        rows.append([name, f"{np.exp(found.logs[index]):.5g}", f"{error:.3f}", "log", f"{center:g}", f"{spread:g}"])
    rows += [[f"own {name}", f"{sd:.4f}", "", "spread", "", ""] for name, sd in zip(OWN, found.own, strict=True)]
    rows += [[f"scatter {name}", f"{sd:.4f}", "", "spread", "", ""] for name, sd in found.scatter.items()]
    for name, row in zip(TESTS, found.residuals, strict=True):
        kept = row[np.isfinite(row)]
        rows.append(
            [f"residual {name}", f"{np.median(kept):.4f}", f"{np.std(kept) / kept.size**0.5:.4f}", "median", "", ""]
        )
    for name, (slopes, errors, spread) in class_regressions(cars).items():
        for term, slope, error in zip(TERMS[name], slopes, errors, strict=True):
            rows.append([f"{name} {term}", f"{slope:.4f}", f"{error:.4f}", "abs", "", ""])
        rows.append([f"{name} scatter", f"{spread:.4f}", "", "spread", "", ""])
    with RESULT.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file, lineterminator="\n").writerows(rows)


if __name__ == "__main__":
    main()
