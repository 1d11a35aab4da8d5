"""Fleets with a known truth: steps, drifts of use, a shared cold spell, bad rows."""

from datetime import date, timedelta

import numpy as np
import polars as pl

START = date(2023, 1, 2)


def made_fleet(rng, vehicles, *, fills=60, lost=0.05, rise=0.18, moved=0.05, cold_spell=0.0, bad=0.0):
    """Rows of a fleet and, by vehicle, what is true: "lost", "use" or "sound". Two fills short of two years."""
    frames, truth = [], {}
    for number in range(vehicles):
        name = f"V{number:05d}"
        draw = rng.random()
        truth[name] = "lost" if draw < lost else "use" if draw < lost + moved else "sound"
        first = rng.integers(fills // 2, fills - 8)
        index = np.arange(fills)
        later = index >= first
        gaps = np.maximum(np.round(10 * np.exp(rng.normal(0, 0.2, fills))), 1)
        distance = 450 * np.exp(rng.normal(0, 0.12, fills))
        if truth[name] == "use":
            gaps = np.where(later, 2 * gaps, gaps)
        day = np.cumsum(gaps).astype(int) + rng.integers(0, 30)
        angle = 2 * np.pi * (day - 18) / 365.25
        log_fuel = np.log(9 * np.exp(0.25 * rng.normal())) + 0.04 * np.cos(angle) + rng.normal(0, 0.05, fills)
        log_fuel += later * (np.log1p(rise) if truth[name] == "lost" else 0.12 if truth[name] == "use" else 0.0)
        log_fuel += cold_spell * ((day > 400) & (day < 430))
        volume = distance / 100 * np.exp(log_fuel)
        spoiled = rng.random(fills)
        volume = np.where(spoiled < bad, volume * 0.4, volume)
        odometer = 20000 + np.cumsum(distance)
        frames.append(pl.DataFrame({
            "vehicle": [name] * fills,
            "date": [START + timedelta(days=int(each)) for each in day],
            "odometer_km": odometer,
            "volume_L": [None if spoil > 1 - bad else value for spoil, value in zip(spoiled, volume, strict=True)],
        }))  # fmt: skip
    return pl.concat(frames), truth
