"""Fleets with a known truth: steps, drifts, thefts, moved use, a shared cold spell, a region's winter, bad rows."""

from datetime import date, timedelta

import numpy as np
import polars as pl

START = date(2023, 1, 2)
LOST = ("step", "drift", "theft")


def made_fleet(
    rng,
    vehicles,
    *,
    fills=60,
    lost=0.05,
    rise=0.18,
    moved=0.05,
    drift=0.0,
    theft=0.0,
    cold_spell=0.0,
    cold_days=(400, 430),
    north=0.0,
    body=0.0,
    bad=0.0,
    slips=0.0,
):
    """Rows of a fleet and, by vehicle, what is true: "step", "drift", "theft", "use" or "sound". Two years of fills.

    A theft takes fuel out of one tank in three, 2.5 times the rise each. `north` is a cold spell of one region in four,
    `body` a stronger winter of one body in three; `slips` is the mean share of volumes typed 1.6 times too high or too
    low, each vehicle at its own exponential rate.
    """  # fmt: skip
    frames, truth = [], {}
    for number in range(vehicles):
        name = f"V{number:05d}"
        shares = (lost, drift, theft, moved, 1.0)
        kind = ("step", "drift", "theft", "use", "sound")[
            int(np.searchsorted(np.cumsum(shares), rng.random(), "right"))
        ]
        truth[name] = kind
        first = rng.integers(fills // 2, fills - 8)
        later = np.arange(fills) >= first
        gaps = np.maximum(np.round(10 * np.exp(rng.normal(0, 0.2, fills))), 1)
        distance = 450 * np.exp(rng.normal(0, 0.12, fills))
        if kind == "use":
            gaps = np.where(later, 2 * gaps, gaps)
        day = np.cumsum(gaps).astype(int) + rng.integers(0, 30)
        winter = np.cos(2 * np.pi * (day - 18) / 365.25)
        log_fuel = np.log(9 * np.exp(0.25 * rng.normal())) + 0.04 * winter + rng.normal(0, 0.05, fills)
        log_fuel += _what_happens(kind, later, rng, rise)
        log_fuel += cold_spell * ((day > cold_days[0]) & (day < cold_days[1]))
        log_fuel += north * (number % 4 == 0) * ((day > 400) & (day < 500))
        log_fuel += body * (number % 3 == 0) * winter
        volume = distance / 100 * np.exp(log_fuel)
        if slips:
            typed = rng.random(fills) < min(rng.exponential(slips), 0.3)
            volume = volume * np.where(typed, 1.6 ** rng.choice([-1.0, 1.0], fills), 1.0)
        spoiled = rng.random(fills)
        volume = np.where(spoiled < bad, volume * 0.4, volume)
        frames.append(pl.DataFrame({
            "vehicle": [name] * fills,
            "date": [START + timedelta(days=int(each)) for each in day],
            "odometer_km": 20000 + np.cumsum(distance),
            "volume_L": [None if spoil > 1 - bad else value for spoil, value in zip(spoiled, volume, strict=True)],
            "region": ["north" if number % 4 == 0 else "south"] * fills,
            "body": ["van" if number % 3 == 0 else "car"] * fills,
        }))  # fmt: skip
    return pl.concat(frames), truth


def _what_happens(kind, later, rng, rise):
    if kind == "step":
        return later * np.log1p(rise)
    if kind == "drift":
        return np.cumsum(later) / max(later.sum(), 1) * 1.5 * np.log1p(rise)
    if kind == "theft":
        return later * (rng.random(len(later)) < 1 / 3) * np.log1p(2.5 * rise)
    return later * (0.12 if kind == "use" else 0.0)
