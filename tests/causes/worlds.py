"""Small worlds with a known answer: a part of the catalogue, straight-line effects, and every story counted out."""

from dataclasses import dataclass, replace
from datetime import date
from itertools import product

import numpy as np

from lostgallon.causes.catalogue import catalogue
from lostgallon.readers.cast import cast
from lostgallon.shop.visit import Booked, Case, Finding, Period, Quantity, Use, Visit

VEHICLE = replace(
    cast("crossover").vehicle,
    body="car",
    model_year=2012,
    injection="port",
    odometer_km=150_000.0,
    elevation_m=0.0,
)
"""The crossover as an older car at sea level, which the rules and sums by hand of these tests ask for."""
USE = Use(distance_per_year_km=17_000.0, trip_km=15.0, highway_share=0.35, fuel_price_per_l=0.9)


@dataclass(frozen=True)
class StraightEffects:
    """A fake of physics/effects.py: each cause's median amount makes a stated log-effect, in proportion."""

    slopes: dict[str, float]
    season: float = 0.0
    blend: float = 0.0
    members: int = 8

    @property
    def season_log(self):
        return np.full(self.members, self.season)

    @property
    def blend_log(self):
        return np.full(self.members, self.blend)

    def log_effect(self, condition, amount, member):
        return self.slopes[condition] * amount

    def total_log(self, amounts, member):
        return sum(self.log_effect(name, amount, member) for name, amount in amounts.items())


def typical_slopes():
    """Slope per condition so that the first cause on it has about its catalogued per cent at its median."""
    slopes = {}
    for cause in catalogue().causes:
        if cause.condition and cause.severity and cause.condition not in slopes:
            slopes[cause.condition] = np.log1p(max(cause.effect_pct.typical, 0.1) / 100.0) / cause.severity.p50
    return slopes


def case_with(findings=(), *, rise=0.15, basis="trip display", then_c=20.0, now_c=20.0, **other):
    then = Period(10.0, "fill-ups" if basis == "fill-ups" else basis, then_c)
    now = Period(10.0 * float(np.exp(rise)), basis, now_c)
    return Case(
        name="world",
        visit=Visit(date(2026, 1, 15)),
        vehicle=other.pop("vehicle", VEHICLE),
        use=USE,
        then=then,
        now=now,
        booked=other.pop("booked", Booked()),
        findings=tuple(findings),
        **other,
    )


def quantity(typed, number, unit):
    return Quantity(typed, number, unit)


def found(check, *readings, **more):
    return Finding(check=check, result=None if readings else "found", reading=tuple(readings), **more)


def normal(check, **more):
    return Finding(check=check, result="normal", **more)


def part_of_catalogue(causes, *, look_alikes=False, fixed=True):
    """The catalogue with some causes only, severities held at their median where `fixed`."""
    whole = catalogue()
    kept = [whole.cause[name] for name in causes]
    if fixed:
        kept = [_held(cause) for cause in kept]
    return replace(whole, causes=tuple(kept), look_alikes=whole.look_alikes if look_alikes else ())


def _held(cause):
    if cause.severity is None:
        return cause
    at = cause.severity.p50
    return replace(cause, severity=replace(cause.severity, p05=at * (1 - 1e-9), p99=at * (1 + 1e-9)))


def expert_mean(ends):
    """Mean of an expert range: a sixth, two thirds, a sixth (common practice for three-point estimates)."""
    return (ends[0] + 4.0 * ends[1] + ends[2]) / 6.0


def counted_out(whole, priors, effects, case, looks):
    """Presence by counting every story: written apart from the program, from the catalogue's own records.

    Args:
        whole: A part of the catalogue with severities held.
        priors: {cause: (new, old)}.
        effects: {cause: log-effect}.
        case: With findings by `found(check, readings...)` or `normal(check)`.
        looks: {look_alike: (prior, detect)}.

    Returns:
        {cause: probability of new}.
    """
    names = [cause.id for cause in whole.causes] + list(looks)
    choices = [(0, 1, 2)] * len(whole.causes) + [(0, 2)] * len(looks)
    stories = np.array(list(product(*choices)), dtype=np.int8)
    weight = np.ones(len(stories))
    for place, name in enumerate(names):
        new, old = priors[name] if name in priors else (0.0, looks[name][0])
        weight *= np.array([1.0 - new - old, new, old])[stories[:, place]]
    causes_log = sum((stories[:, place] == 1) * effects.get(name, 0.0) for place, name in enumerate(names))
    weight *= _economy(causes_log, np.log(case.now.economy_l_per_100km / case.then.economy_l_per_100km))
    for finding in case.findings:
        check = whole.check[finding.check]
        for reading in check.readings:
            if reading.neutral:
                continue
            gone = {cause.id for cause in whole.causes if cause.operation in finding.after}
            chance = _chance_normal(reading, check, names=names, stories=stories, looks=looks, gone=gone)
            weight *= (1.0 - chance) if reading.id in finding.reading else chance
    weight /= weight.sum()
    return {name: float(weight[stories[:, place] == 1].sum()) for place, name in enumerate(names)}


def _chance_normal(reading, check, *, names, stories, looks, gone):
    alarm = expert_mean(reading.false_alarm)
    chance = np.full(len(stories), 1.0 - alarm)
    detects = {name: expert_mean(ends) for name, ends in reading.finds}
    if check.looks_at in looks and not reading.new_only:
        detects[check.looks_at] = max(looks[check.looks_at][1], alarm)
    for place, name in enumerate(names):
        if name in detects and name not in gone:
            there = stories[:, place] == 1 if reading.new_only else stories[:, place] > 0
            chance *= np.where(there, (1.0 - detects[name]) / (1.0 - alarm), 1.0)
    return chance


def _economy(causes_log, stated, *, scatter_sd=0.020, statement_sd=0.045):
    """Likelihood of a stated rise by the numbers of method.yaml for a trip display, without the misled owner."""
    total = 0.0
    for share, mean, sd in ((0.85, 0.0, 0.025), (0.15, 0.04, 0.05)):
        variance = sd**2 + scatter_sd**2 + statement_sd**2
        total = total + share / np.sqrt(variance) * np.exp(-0.5 * (stated - causes_log - mean) ** 2 / variance)
    return total
