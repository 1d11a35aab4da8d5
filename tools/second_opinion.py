"""Ask an independent vehicle model (fastsim 3.1.0) for the second opinion kept in tests/reference/second_opinion.csv.

    python -m venv /tmp/second && /tmp/second/bin/pip install fastsim==3.1.0
    /tmp/second/bin/python tools/second_opinion.py > tests/reference/second_opinion.csv

It asks for another polars than the project, so it lives in an environment of its own and CI reads its answers. Its
vehicles are told apart by what they are: the first of its gasoline sedans and the van with a thermal model.
"""

import csv
import sys
import warnings
from typing import Any

import fastsim

GASOLINE_J_PER_L = 31.81e6
SEDAN, VAN, WARM_VAN = 0, 1, 2
COLD_K, MILD_K = 266.15, 295.15


def vehicles() -> list[dict[str, Any]]:
    """Its conventional vehicles: sedan, van, van with temperatures."""
    found = []
    for path in sorted(str(name) for name in fastsim.Vehicle.list_resources()):
        vehicle = fastsim.Vehicle.from_resource(path).to_dict()
        if "Conv" in vehicle["pt_type"]:
            found.append(vehicle)
    return sorted(found, key=lambda one: (one["mass_kilograms"] > 2000, "None" not in str(one["cabin"])))


def l_per_100km(vehicle: dict[str, Any], schedule: str, *, air_k: float | None = None) -> float:
    """Fuel of one vehicle over one schedule, in liters of 31.81 MJ."""
    cycle = fastsim.Cycle.from_resource(schedule).to_dict()
    if air_k is not None:
        cycle["temp_amb_air_kelvin"] = [air_k] * len(cycle["time_seconds"])
    run = fastsim.SimDrive(fastsim.Vehicle.from_dict(vehicle), fastsim.Cycle.from_dict(cycle))
    run.walk()
    after = run.to_dict()["veh"]
    energy = after["pt_type"]["Conv"]["fc"]["state"]["energy_fuel_joules"]
    return float(energy / GASOLINE_J_PER_L / after["state"]["dist_meters"] * 1e5)


def at(vehicle: dict[str, Any], *, engine_k: float, cabin_k: float) -> dict[str, Any]:
    """The van with its engine and cabin at temperatures."""
    copy: dict[str, Any] = fastsim.Vehicle.from_dict(vehicle).to_dict()
    copy["pt_type"]["Conv"]["fc"]["thrml"]["FuelConverterThermal"]["state"]["temperature_kelvin"] = engine_k
    for key in ("temperature_kelvin", "temp_prev_kelvin"):
        copy["cabin"]["LumpedCabin"]["state"][key] = cabin_k
    return copy


def held_open(vehicle: dict[str, Any]) -> dict[str, Any]:
    """The van with its thermostat open from the start."""
    copy: dict[str, Any] = fastsim.Vehicle.from_dict(vehicle).to_dict()
    thermostat = copy["pt_type"]["Conv"]["fc"]["thrml"]["FuelConverterThermal"]
    thermostat["tstat_interp"]["data"]["grid"][0]["data"] = [-200.0, -199.0]
    thermostat["tstat_interp"]["data"]["values"]["data"] = [1.0, 1.0]
    thermostat["tstat_te_sto_kelvin"], thermostat["tstat_te_delta_kelvin"] = 100.0, 1.0
    return copy


def changed(vehicle: dict[str, Any], path: tuple[str, ...], change: Any) -> dict[str, Any]:
    """The vehicle with one number changed."""
    copy: dict[str, Any] = fastsim.Vehicle.from_dict(vehicle).to_dict()
    inner = copy
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = change(inner[path[-1]])
    return copy


def main() -> None:
    warnings.simplefilter("ignore")
    every = vehicles()
    sedan, van, thermal = every[SEDAN], every[VAN], every[WARM_VAN]
    resistance, load = ("chassis", "wheel_rr_coef"), ("pwr_aux_base_watts",)
    rows = []
    for name, vehicle in (("sedan", sedan), ("van", van)):
        for schedule in ("udds", "hwfet"):
            file, word = f"{schedule}.csv", {"udds": "city", "hwfet": "highway"}[schedule]
            base = l_per_100km(vehicle, file)
            rows.append((f"{name} {word} fuel", base, "L/100 km"))
            more = changed(vehicle, resistance, lambda value: 1.1 * value)
            rows.append((f"{name} {word} rolling resistance 10 % more", l_per_100km(more, file) / base - 1.0, "1"))
            more = changed(vehicle, load, lambda value: value + 1000.0)
            rows.append((f"{name} {word} 1 kW load more", l_per_100km(more, file) / base - 1.0, "1"))
    mild = l_per_100km(at(thermal, engine_k=MILD_K, cabin_k=MILD_K), "udds.csv", air_k=MILD_K)
    cold_van = at(thermal, engine_k=COLD_K, cabin_k=COLD_K)
    cold = l_per_100km(cold_van, "udds.csv", air_k=COLD_K)
    rows.append(("van city from cold, -7 over 22 degC", cold / mild - 1.0, "1"))
    rows.append(
        (
            "van city from cold at -7 degC, thermostat open",
            l_per_100km(held_open(cold_van), "udds.csv", air_k=COLD_K) / cold - 1.0,
            "1",
        )
    )
    warm_van = at(thermal, engine_k=361.0, cabin_k=MILD_K)
    warm = l_per_100km(warm_van, "hwfet.csv", air_k=COLD_K)
    rows.append(
        (
            "van highway from warm at -7 degC, thermostat open",
            l_per_100km(held_open(warm_van), "hwfet.csv", air_k=COLD_K) / warm - 1.0,
            "1",
        )
    )
    writer = csv.writer(sys.stdout, lineterminator="\n")
    print("# fastsim 3.1.0 (Apache-2.0), asked by tools/second_opinion.py; a model, not a measurement")
    writer.writerow(("quantity", "value", "unit"))
    writer.writerows((name, f"{value:.4f}", unit) for name, value, unit in rows)


if __name__ == "__main__":
    main()
