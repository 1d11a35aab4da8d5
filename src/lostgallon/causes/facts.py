"""Facts of a case that prior rules may test, and the priors they lead to."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields

from lostgallon.causes.records import Cause, PriorRule, Test
from lostgallon.shop.trouble import BadInput, suggestion
from lostgallon.shop.visit import Case

Fact = str | float | bool | None


BANDS = ("under_80k_km", "km_80k_to_200k", "over_200k_km")


def facts_of(case: Case) -> Mapping[str, Fact]:
    """Everything a rule may ask about, by key; None where the case does not say.

    Keys are those of the case file (`vehicle.odometer_km`, `use.trip_km`, `now.basis`) and these derived ones:
    `age_years`, `ambient_fall_k` (good days minus now), `blend_to_winter`, `ethanol_rise`, `booked`.
    """
    facts: dict[str, Fact] = {}
    for part in ("vehicle", "use", "then", "now"):
        record = getattr(case, part)
        facts |= {f"{part}.{field.name}": _plain(getattr(record, field.name)) for field in fields(record)}
    blends = (case.then.fuel_blend, case.now.fuel_blend)
    ethanol = (case.then.ethanol_share, case.now.ethanol_share)
    return facts | {
        "age_years": float(case.visit.date.year - case.vehicle.model_year),
        "ambient_fall_k": case.then.ambient_c - case.now.ambient_c,
        "blend_to_winter": None if None in blends else blends == ("summer", "winter"),
        "ethanol_rise": None if ethanol[0] is None or ethanol[1] is None else ethanol[1] - ethanol[0],
        "booked": case.booked.operation.lower(),
    }


def _plain(value: object) -> Fact:
    if isinstance(value, bool | str):
        return value
    return float(value) if isinstance(value, int | float) else None


def holds(test: Test, facts: Mapping[str, Fact]) -> bool:
    """Whether a test holds; a fact that is not known fails every test.

    Raises:
        BadInput: If no such fact exists.
    """
    if test.key not in facts:
        raise BadInput("a rule of the catalogue", found=f"{test.key!r}{suggestion(test.key, facts)}", expected="a fact")
    fact = facts[test.key]
    if fact is None:
        return False
    if isinstance(fact, str):
        return fact in test.one_of or fact == test.equals or (test.contains is not None and test.contains in fact)
    if isinstance(fact, bool):
        return fact is test.equals
    over = test.above is None or fact > test.above
    return over and (test.below is None or fact < test.below)


@dataclass(frozen=True)
class PriorHere:
    """The prior of a cause in this case: new and old (already there), and the rules that shaped it."""

    new: float
    old: float
    because: tuple[str, ...]


def prior_here(cause: Cause, facts: Mapping[str, Fact], *, odds_scale: float) -> PriorHere:
    """The prior of a cause for this vehicle, use and season.

    Args:
        cause: A cause with `prior_new` and `already_there`.
        facts: From facts_of.
        odds_scale: One factor on all odds that no rule has set, so that the whole set predicts what complaints show
            (the catalogue's `prior_odds_scale`; tests/causes/test_prior_predictive.py).

    Returns:
        Probabilities of new and old; old follows from the share of present defects that are older.
    """
    if cause.prior_new is None or cause.already_there is None:
        return PriorHere(0.0, 0.0, ())
    if not all(holds(test, facts) for test in cause.applies_if):
        return PriorHere(0.0, 0.0, ("does not apply to this vehicle",))
    odds = odds_scale * _odds(_by_distance(cause, facts))
    because = []
    for rule in cause.prior_rules:
        if all(holds(test, facts) for test in rule.when):
            odds = _after(rule, odds)
            because.append(rule.why)
    new = odds / (1.0 + odds)
    share = cause.already_there.share
    old = new * share / (1.0 - share)
    total = max(1.0, (new + old) / 0.98)
    return PriorHere(new / total, old / total, tuple(because))


def _by_distance(cause: Cause, facts: Mapping[str, Fact]) -> float:
    odometer_km = facts["vehicle.odometer_km"]
    assert cause.prior_new is not None  # noqa: S101 - prior_here has looked
    assert isinstance(odometer_km, float)  # noqa: S101 - facts_of makes it one
    return float(getattr(cause.prior_new, band_of(odometer_km)))


def band_of(odometer_km: float) -> str:
    """The band of distance run in which priors are told: a key of records.Prior."""
    return BANDS[0] if odometer_km < 80_000.0 else BANDS[1] if odometer_km <= 200_000.0 else BANDS[2]


def _after(rule: PriorRule, odds: float) -> float:
    return odds * rule.odds if rule.odds is not None else _odds(rule.set or 0.0)


def _odds(probability: float) -> float:
    return math.inf if probability >= 1.0 else probability / (1.0 - probability)
