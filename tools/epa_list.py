"""The EPA test-car list as test vehicles: what a technician would know, the road load, and the fuel measured.

The list of model year 2022 is US government data; a copy travels in the wheel of fastsim 2.1.5
(fastsim/resources/epa_vehdb/22-tstcar.csv). Nothing of it is kept in the project but fitted numbers.
"""

import csv
import re
import zipfile
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path
from statistics import fmean

LIST_IN_WHEEL = "fastsim/resources/epa_vehdb/22-tstcar.csv"
KG_PER_LB, N_PER_LBF, M_S_PER_MPH, L_PER_100KM_MPG = 0.45359237, 4.4482216152605, 0.44704, 235.214583
TURBO_HP_PER_L = 98.0  # the list does not say induction; above this an engine is taken as turbocharged; chosen
MOST_HP = 450.0  # racing cars for the road are not what a shop sees; chosen
ELECTRIC = re.compile(r"hybrid|hev\b|e-?hybrid|plug|electric|energi", re.IGNORECASE)
WITH_CONVERTER = ("Automatic", "Semi-Automatic", "Continuously Variable", "Selectable Continuously Variable")


@dataclass(frozen=True)
class Tested:
    """One test vehicle: inputs, road load A + B v + C v^2 (N, m/s) and logs of fuel by test (L/100 km)."""

    id: str
    family: str
    odd: bool
    truck: bool
    liters: float
    turbo: bool
    gears: int
    cvt: bool
    converter: bool
    all_wheels: bool
    mass_kg: float
    top_rpm_s_m: float
    road: tuple[float, float, float]
    fuel: dict[str, float] = field(default_factory=dict)


def read_list(wheel: Path, *, horsepower: tuple[float, float] = (0.0, MOST_HP)) -> list[Tested]:
    """Gasoline vehicles without electric drive, with both city phases and a highway test.

    Args:
        wheel: The fastsim 2.1.5 wheel.
        horsepower: Over the first and up to the second.
    """
    with zipfile.ZipFile(wheel) as archive:
        text = archive.read(LIST_IN_WHEEL).decode("utf-8-sig")
    groups = defaultdict(list)
    for row in csv.DictReader(text.splitlines()):
        if _usable(row):
            groups[row["Test Vehicle ID"], row["Test Veh Configuration #"], _load_key(row)].append(row)
    vehicles = (_tested(rows, horsepower) for rows in groups.values())
    return [one for one in vehicles if one is not None]


def _usable(row: dict[str, str]) -> bool:
    named = ELECTRIC.search(row["Represented Test Veh Model"])
    gasoline = "Gasoline" in row["Test Fuel Type Description"] or "Cold CO" in row["Test Fuel Type Description"]
    measured = row["Analytically Derived FE?"] == "No" and row["FE_UNIT"] == "MPG"
    return bool(not named and gasoline and "Diesel" not in row["Test Fuel Type Description"] and measured)


def _load_key(row: dict[str, str]) -> tuple[str, ...]:
    return tuple(row[name] for name in ("Equivalent Test Weight (lbs.)", "N/V Ratio"))


def _tested(rows: list[dict[str, str]], limits_hp: tuple[float, float]) -> Tested | None:
    fuel = _fuels(rows)
    normal = [row for row in rows if row["Test Procedure Description"] != "Cold CO"]
    if not {"bag1", "bag2", "bag3", "highway"} <= set(fuel) or not normal:
        return None
    first = normal[0]
    try:
        liters, horsepower = float(first["Test Veh Displacement (L)"]), float(first["Rated Horsepower"])
        road = tuple(fmean(float(row[name]) for row in normal) for name in ROAD)
        top = float(first["N/V Ratio"]) / M_S_PER_MPH
        mass = float(first["Equivalent Test Weight (lbs.)"]) * KG_PER_LB
    except ValueError:
        return None
    city = 0.482 * (0.43 * fuel["bag1"] + 0.57 * fuel["bag3"]) + 0.518 * fuel["bag2"]
    # Hybrids without the word in their name use less in the second phase, and in town, than an engine alone can.
    helped = fuel["bag2"] / fuel["bag3"] < 0.95 or not 0.5 < fuel["highway"] / city < 0.82
    if (
        helped
        or liters < 0.9
        or not limits_hp[0] < horsepower <= limits_hp[1]
        or not 10 < float(first["N/V Ratio"]) < 60
    ):
        return None
    a, b, c = road
    return Tested(
        id=first["Test Vehicle ID"],
        family=first["Actual Tested Testgroup"],
        odd=int(re.findall(r"\d", first["Test Vehicle ID"])[-1]) % 2 == 1,
        truck=first["Vehicle Type"] == "Truck",
        liters=liters,
        turbo=horsepower / liters > TURBO_HP_PER_L,
        gears=int(first["# of Gears"]),
        cvt="Continuously" in first["Tested Transmission Type"],
        converter=first["Tested Transmission Type"].startswith(WITH_CONVERTER),
        all_wheels=not first["Drive System Description"].startswith("2-Wheel"),
        mass_kg=mass,
        top_rpm_s_m=top,
        road=(a * N_PER_LBF, b * N_PER_LBF / M_S_PER_MPH, c * N_PER_LBF / M_S_PER_MPH**2),
        fuel=fuel,
    )


ROAD = ("Target Coef A (lbf)", "Target Coef B (lbf/mph)", "Target Coef C (lbf/mph**2)")


def _fuels(rows: list[dict[str, str]]) -> dict[str, float]:
    found = defaultdict(list)
    for row in rows:
        kind = row["Test Procedure Description"]
        if kind in ("HWFE", "US06"):
            found["highway" if kind == "HWFE" else "aggressive"].append(row["RND_ADJ_FE"])
        elif kind == "Cold CO" or row["Test Category"] == "FTP":
            prefix = "cold_" if kind == "Cold CO" else ""
            for bag in (1, 2, 3):
                found[f"{prefix}bag{bag}"].append(row[f"FE Bag {bag}"])
    fuel = {name: [L_PER_100KM_MPG / float(text) for text in texts if _positive(text)] for name, texts in found.items()}
    means = {name: fmean(values) for name, values in fuel.items() if values}
    if not all(
        0.9 < means.get(f"cold_bag{i}", means.get(f"bag{i}", 1.0)) / means.get(f"bag{i}", 1.0) < 2.0 for i in (1, 2, 3)
    ):
        return {name: value for name, value in means.items() if not name.startswith("cold")}  # a slip of the list
    return means


def _positive(text: str) -> bool:
    try:
        return float(text) > 1.0
    except ValueError:
        return False
