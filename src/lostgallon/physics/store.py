"""Calibrations kept in a folder, so that a vehicle seen before needs no second one."""

import hashlib
import io
import json
import os
import tempfile
import zipfile
from dataclasses import asdict
from importlib import resources
from pathlib import Path

import numpy as np

from lostgallon.physics.calibration import Calibrated, calibrated
from lostgallon.physics.labels import laboratory
from lostgallon.physics.vehicle import Members, uncertain
from lostgallon.shop.visit import Vehicle

FORM = "calibration 1"
MEANS_NOTHING_HERE = ("odometer_km", "tire_placard_pa", "elevation_m", "cylinders", "injection")


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
        _write(path, fresh)
    return fresh


def _name(vehicle: Vehicle, count: int, seed: int) -> str:
    """A name that changes with anything that the calibration rests on."""
    known = {name: value for name, value in asdict(vehicle).items() if name not in MEANS_NOTHING_HERE}
    table = resources.files("lostgallon.data").joinpath("coefficients.csv").read_bytes()
    text = json.dumps([FORM, known, count, seed, hashlib.sha256(table).hexdigest()], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def _read(vehicle: Vehicle, path: Path) -> Calibrated | None:
    try:
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as kept:
            deviates, warnings = kept["deviates"], kept["warnings"]
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None
    if deviates.ndim != 2 or deviates.shape[0] != len(uncertain()) or not np.isfinite(deviates).all():
        return None
    return Calibrated(Members(vehicle, deviates), laboratory(vehicle), tuple(str(line) for line in warnings))


def _write(path: Path, fresh: Calibrated) -> None:
    """Write beside and move into place, so that no reader ever meets half a file."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, beside = tempfile.mkstemp(dir=path.parent, suffix=".part")
        with os.fdopen(handle, "wb") as part:
            np.savez(part, deviates=fresh.members.deviates, warnings=np.array(fresh.warnings, dtype="U400"))
        Path(beside).replace(path)
    except OSError:
        return
