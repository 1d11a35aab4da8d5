"""Calibrations and effects kept in a folder, so that a vehicle seen before needs no second run of the physics."""

import hashlib
import io
import json
import os
import tempfile
import zipfile
from collections.abc import Iterable
from dataclasses import asdict
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np

from lostgallon.physics.calibration import Calibrated, calibrated
from lostgallon.physics.effects import BENT, Effects, effects_for
from lostgallon.physics.labels import laboratory
from lostgallon.physics.setting import Surroundings
from lostgallon.physics.vehicle import Members, uncertain
from lostgallon.shop.spread import Floats
from lostgallon.shop.visit import Period, Use, Vehicle

FORM = "calibration 2"
MEANS_NOTHING_HERE = ("odometer_km", "tire_placard_pa", "elevation_m", "cylinders", "injection", "certified")


def calibrated_once(vehicle: Vehicle, count: int, *, seed: int, folder: Path | None) -> Calibrated:
    """The calibration of a vehicle, from the folder where it is there and into it where it is not.

    Args:
        vehicle: What is known of it.
        count: How many members.
        seed: Seed of the draws; same seed, same members.
        folder: Where calibrations are kept; None keeps none. A folder that can't be written is no trouble.

    Source: calibration.calibrated.
    """
    path = folder / f"{_name(vehicle, count, seed)}.npz" if folder else None
    kept = _read(vehicle, path) if path else None
    if kept is not None:
        return kept
    fresh = calibrated(vehicle, count, rng=np.random.default_rng(seed))
    if path:
        _write(path, deviates=fresh.members.deviates, warnings=np.array(fresh.warnings, dtype="U400"))
    return fresh


def _name(vehicle: Vehicle, count: int, seed: int, more: object = None) -> str:
    """A name that changes with anything that the calibration, and what more is told, rests on."""
    known = {name: value for name, value in asdict(vehicle).items() if name not in MEANS_NOTHING_HERE}
    table = resources.files("lostgallon.data").joinpath("coefficients.csv").read_bytes()
    text = json.dumps([FORM, known, count, seed, more, hashlib.sha256(table).hexdigest()], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def _read(vehicle: Vehicle, path: Path) -> Calibrated | None:
    kept = _kept(path, ("deviates", "warnings"))
    if kept is None:
        return None
    deviates, warnings = kept["deviates"], kept["warnings"]
    if deviates.ndim != 2 or deviates.shape[0] != len(uncertain()) or not np.isfinite(deviates).all():
        return None
    return Calibrated(Members(vehicle, deviates), laboratory(vehicle), tuple(str(line) for line in warnings))


def effects_once(
    case: tuple[Vehicle, Use, Period, Period], *, members: Members, seed: int, folder: Path | None
) -> Effects:
    """The effects of conditions for one owner, from the folder where they are there and into it where they are not.

    Args:
        case: Vehicle, use, the good days and now.
        members: Members of the vehicle's calibration.
        seed: Seed that the members were drawn with.
        folder: Where calibrations are kept; None keeps none.

    Source: effects.effects_for.
    """
    vehicle, use, then, now = case
    known = [asdict(use), _weather_and_fuel(then), _weather_and_fuel(now), vehicle.tire_placard_pa, vehicle.elevation_m]
    path = folder / f"{_name(vehicle, members.count, seed, known)}.npz" if folder else None
    kept = _kept(path, ("season_log", "blend_log", "sound_l_per_100km", *BENT)) if path else None
    if kept is not None:
        return Effects(
            members=members,
            use=use,
            surroundings=Surroundings(now.ambient_c, vehicle.elevation_m),
            good_l_per_100km=then.economy_l_per_100km,
            season_log=kept["season_log"],
            blend_log=kept["blend_log"],
            curves={name: kept[name] for name in BENT},
            sound_l_per_100km=kept["sound_l_per_100km"],
        )
    fresh = effects_for(vehicle, use, then, now, members=members)
    if path:
        logs = {"season_log": fresh.season_log, "blend_log": fresh.blend_log}
        _write(path, **logs, sound_l_per_100km=fresh.sound_l_per_100km, **fresh.curves)
    return fresh


def _weather_and_fuel(period: Period) -> list[object]:
    return [period.ambient_c, period.fuel_blend, period.ethanol_share]


def _kept(path: Path, names: Iterable[str]) -> dict[str, Floats] | None:
    """The arrays of a kept file, or None where it is not there or not whole."""
    try:
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as kept:
            return {name: kept[name] for name in names}
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None


def _write(path: Path, **arrays: Any) -> None:
    """Write beside and move into place, so that no reader ever meets half a file."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, beside = tempfile.mkstemp(dir=path.parent, suffix=".part")
        with os.fdopen(handle, "wb") as part:
            np.savez(part, **arrays)
        Path(beside).replace(path)
    except OSError:
        return
