"""Blind visits with a known truth. Written and frozen before any tuning; shares no code with the inference.

It reads the catalogue's records for centers and ranges, and perturbs everything the model assumes: prior odds, sizes
(beta instead of lognormal on a log scale), effects (another ensemble, and a lognormal of 20 %), detection (logistic in
size, drawn in the expert range), false alarms with shared errors in a group, gauges (bias, width, 2 % outliers), season
(25 %), an interaction of cold with trips, something nobody listed in a quarter of the visits, and owners who come
because the stated rise is large. It still shares the catalogue's graph and centers with the model: take coverage as an
upper bound on what life gives.
"""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.facts import facts_of, prior_here
from lostgallon.physics.calibration import calibrated
from lostgallon.physics.effects import effects_for
from lostgallon.shop.visit import Booked, Case, Finding, Period, Quantity, Use, Vehicle, Visit

FROZEN = 20260115
BOOKED = ("lifted", "wheels_off", "coils_off", "intake_duct_off", "coolant_drained", "exhaust_open", "brakes_apart")
UNITS = {"pressure": "Pa", "share": "%", "force": "N", "angle": "deg", "rotation": "rpm", "temperature": "degC"}
UNITS |= {"current": "A"}
SCATTER = {"fill-ups": (0.028, 0.006), "trip display": (0.020, 0.045), "owner's memory": (0.020, 0.075)}
VEHICLES = (
    Vehicle("car", 2014, 1380.0, 1.8, 4, "natural", "port", "2wd", "automatic", 145_000.0, 6, 8.4, 6.0, None, 230e3),
    Vehicle(
        "wagon", 2011, 1655.0, 2.3, 4, "natural", "port", "2wd", "automatic", 210_000.0, 5, 11.76, 8.4, None, 228e3
    ),
    Vehicle(
        "crossover", 2018, 1720.0, 1.5, 4, "turbo", "direct", "4wd", "automatic", 90_000.0, 6, 9.0, 7.4, None, 240e3
    ),
    Vehicle(
        "pickup", 2009, 2150.0, 4.0, 6, "natural", "port", "4wd", "automatic", 230_000.0, 5, 15.7, 11.8, None, 241e3
    ),
    Vehicle("car", 2020, 1290.0, 1.6, 4, "natural", "port", "2wd", "manual", 60_000.0, 6, 7.8, 5.7, None, 230e3),
)


@dataclass(frozen=True)
class Owner:
    """A vehicle with its use and season: effects by the model's ensemble and by another one."""

    case: Case
    effects: object
    true_effects: object


@dataclass(frozen=True)
class Truth:
    """What is really so. Logs of fuel; `effect` by cause present and new; `state` 1 new, 2 old."""

    state: dict
    amount: dict
    effect: dict
    season: float
    unlisted: float
    scatter: float
    misled: bool
    looks: frozenset

    @property
    def rise_log(self):
        return sum(self.effect[name] for name, s in self.state.items() if s == 1) + self.season + self.unlisted


@dataclass(frozen=True)
class BlindVisit:
    """A case without findings, its truth, and a key from which every check's result follows."""

    number: int
    owner: int
    case: Case
    truth: Truth


def owners(count=20, members=128, season_now=None):
    """Owners of the study, the same every time."""
    rng = np.random.default_rng([FROZEN, 1])
    ensembles = [
        [calibrated(vehicle, members, rng=np.random.default_rng([FROZEN, 2, n, which])).members for which in (0, 1)]
        for n, vehicle in enumerate(VEHICLES)
    ]
    made = []
    for number in range(count):
        which = number % len(VEHICLES)
        use = Use(
            distance_per_year_km=float(rng.uniform(9e3, 24e3)),
            trip_km=float(np.exp(rng.normal(np.log(12.0), 0.5))),
            highway_share=float(rng.uniform(0.1, 0.7)),
            fuel_price_per_l=0.95,
            warm_up_idle_s=float(rng.choice([0.0, 0.0, 120.0])),
        )
        then_c = float(rng.uniform(14.0, 26.0))
        now_c = float(rng.uniform(-12.0, 30.0)) if season_now is None else float(rng.uniform(*season_now))
        blend = "winter" if now_c < 8.0 else "summer"
        then = Period(9.0, "fill-ups", then_c, fuel_blend="summer")
        now = Period(9.0, "fill-ups", now_c, fuel_blend=blend)
        case = Case(f"owner {number}", Visit(date(2026, 1, 15)), VEHICLES[which], use, then, now)
        pair = [effects_for(case.vehicle, use, then, now, members=ensemble) for ensemble in ensembles[which]]
        made.append(Owner(case, *pair))
    return made


def visit(number, all_owners, *, faults=True):
    """One blind visit; the same number is the same visit every time."""
    attempt = 0
    while True:
        rng = np.random.default_rng([FROZEN, 3, number, attempt])
        made = _try(number, all_owners, rng, faults=faults)
        if made is not None:
            return made
        attempt += 1


def _try(number, all_owners, rng, *, faults):
    which = number % len(all_owners)
    owner = all_owners[which]
    basis = str(rng.choice(list(SCATTER), p=[0.35, 0.3, 0.35]))
    then = replace(owner.case.then, basis=basis)
    now = replace(owner.case.now, basis=basis)
    case = replace(owner.case, name=f"visit {number}", then=then, now=now)
    truth = _truth(owner, case, rng, basis=basis, faults=faults)
    error = rng.normal(0.0, SCATTER[basis][1] * rng.uniform(0.8, 1.2))
    if truth.misled:
        error += rng.normal(0.06, 0.07)
    stated = truth.rise_log + truth.scatter + error
    if rng.random() > 1.0 / (1.0 + np.exp(-(stated - 0.06) / 0.025)):
        return None
    now = replace(now, economy_l_per_100km=9.0 * float(np.exp(stated)))
    apart = (str(rng.choice(BOOKED)),)
    booked = Booked("booked job", apart, minutes_left=60.0, looking_minutes=60.0)
    return BlindVisit(number, which, replace(case, now=now, booked=booked), truth)


def _truth(owner, case, rng, *, basis, faults):
    whole = catalogue()
    scale = whole.number["prior_odds_scale"] * np.exp(rng.normal(0.0, 0.3))
    facts = facts_of(case)
    member = np.array([rng.integers(owner.true_effects.season_log.size)])
    state, amount, effect = {}, {}, {}
    misled = False
    for cause in whole.causes:
        prior = prior_here(cause, facts, odds_scale=scale)
        shift = np.exp(rng.normal(0.0, 0.35))
        new, old = _shifted(prior.new, shift), _shifted(prior.old, shift)
        chance = rng.random()
        if cause.context == "perception":
            misled = basis != "fill-ups" and chance < new
            continue
        if cause.context or cause.id == "winter_fuel_blend":
            continue
        if cause.fault and not faults:
            continue
        s = 1 if chance < new else 2 if chance < new + old else 0
        if s:
            state[cause.id] = s
            amount[cause.id] = _amount(cause.severity, rng)
            log = owner.true_effects.log_effect(cause.condition, np.array([amount[cause.id]]), member)[0]
            effect[cause.id] = float(log * np.exp(rng.normal(0.0, 0.2)))
    season = float(owner.true_effects.season_log[member[0]] * np.exp(rng.normal(0.0, 0.25)))
    season += float(owner.true_effects.blend_log[member[0]])
    if state.get("short_trips") == 1 and season > 0.02:
        effect["short_trips"] *= 1.0 + 0.3 * rng.random()
    unlisted = float(rng.normal(0.0, 0.015) + (rng.exponential(0.04) if rng.random() < 0.25 else 0.0))
    scatter = float(rng.normal(0.0, SCATTER[basis][0] * rng.uniform(0.8, 1.2)))
    looks = frozenset(look.id for look in whole.look_alikes if rng.random() < look.prior * rng.uniform(0.5, 1.5))
    return Truth(state, amount, effect, season, unlisted, scatter, misled, looks)


def _shifted(probability, factor):
    if probability in (0.0, 1.0):
        return probability
    odds = probability / (1.0 - probability) * factor
    return odds / (1.0 + odds)


def _amount(severity, rng):
    """A size from a beta (PERT) on the log scale between a little under p05 and p99."""
    low, mode, high = np.log(severity.p05) - 0.2, np.log(severity.p50), np.log(severity.p99)
    if high - low < 1e-6:
        return severity.p50
    alpha = 1.0 + 4.0 * (mode - low) / (high - low)
    beta = 1.0 + 4.0 * (high - mode) / (high - low)
    return float(np.exp(low + (high - low) * rng.beta(alpha, beta)))


def result_of(blind, check):
    """The finding this check gives on this visit; the same every time it is made."""
    place = [entry.id for entry in catalogue().checks].index(check.id)
    rng = np.random.default_rng([FROZEN, 4, blind.number, place])
    if check.gauge is not None:
        return _measured(blind, check, rng)
    shared = np.random.default_rng([FROZEN, 5, blind.number, _group(check)]).normal()
    positive = tuple(r.id for r in check.readings if not r.neutral and _reads(blind, check, r, rng, shared))
    return Finding(check.id, reading=positive) if positive else Finding(check.id, result="normal")


def _group(check):
    names = [look.id for look in catalogue().look_alikes]
    return names.index(check.looks_at) if check.looks_at else len(names)


def _reads(blind, check, reading, rng, shared):
    truth = blind.truth
    alarm = _within(reading.false_alarm, rng)
    mixed = np.sqrt(0.3) * shared + np.sqrt(0.7) * rng.normal() if check.looks_at else rng.normal()
    if _normal_cdf(mixed) < alarm:
        return True
    for name, ends in reading.finds:
        if name.startswith("look_alike:"):
            there = name.split(":")[1] in truth.looks
            detect = _within(ends, rng)
        else:
            s = truth.state.get(name, 0)
            there = s == 1 if reading.new_only else s > 0
            if name == "display_or_price_perception":
                there = truth.misled
            size = np.log(truth.amount[name] / catalogue().cause[name].severity.p50) if name in truth.amount else 0.0
            detect = _logistic(_logit(_within(ends, rng)) + 0.8 * size)
        for mask in reading.masked_by:
            if truth.state.get(mask.cause, 0):
                detect *= rng.uniform(0.0, 0.3)
        if there and rng.random() < detect:
            return True
    look = next((look for look in catalogue().look_alikes if look.id == check.looks_at), None)
    hit = look is not None and look.id in truth.looks and not reading.new_only
    return bool(hit and rng.random() < look.detect * rng.uniform(0.7, 1.3))


def _measured(blind, check, rng):
    gauge, truth = check.gauge, blind.truth
    amount = sum(truth.amount[name] for name in gauge.sees if truth.state.get(name, 0))
    deviation = gauge.factor * amount**gauge.power
    sd = gauge.gauge_sd * rng.uniform(0.7, 1.5)
    bias = rng.normal(0.0, 0.4 * gauge.gauge_sd)
    value = deviation * (1.0 + rng.normal(0.0, gauge.relative_sd)) + bias + rng.normal(0.0, sd)
    cause = catalogue().cause[gauge.sees[0]]
    worst = gauge.factor * cause.severity.p99**gauge.power
    spoiled = check.looks_at in truth.looks and rng.random() < 0.5
    if rng.random() < 0.02 or spoiled:
        value = worst * rng.uniform(0.0, 1.0)
    number = float(gauge.normal + value)
    if gauge.read == "placard_shortfall":
        number = float(blind.case.vehicle.tire_placard_pa - value)
    unit = UNITS[gauge.kind]
    return Finding(check.id, value=(Quantity(f"{number:g} {unit}", number, unit),), at_c=blind.case.now.ambient_c)


def _within(ends, rng):
    """A value in an expert range: triangular, low to high, peak at the typical."""
    low, typical, high = ends
    return float(rng.triangular(low, min(max(typical, low), high), high)) if high > low else float(typical)


def _logit(p):
    p = min(max(p, 1e-4), 1.0 - 1e-4)
    return np.log(p / (1.0 - p))


def _logistic(x):
    return 1.0 / (1.0 + np.exp(-x))


def _normal_cdf(x):
    from math import erf, sqrt  # noqa: PLC0415

    return 0.5 * (1.0 + erf(x / sqrt(2.0)))
