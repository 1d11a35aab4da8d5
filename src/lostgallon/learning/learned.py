"""From sums to what a shop has learned, number by number beside the expert's, and to its file of own numbers."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.facts import BANDS
from lostgallon.causes.records import Cause, Ends, Reading
from lostgallon.learning.shrinkage import cause_shifts, chance_of, chance_spread, logit, rate, shares, width_of_range
from lostgallon.learning.sums import VISIT_SD, Sums
from lostgallon.shop.learned import ByBody, Learned, LearnedNumber
from lostgallon.shop.spread import Floats

SOURCE = "measured"
DIGITS = 4
INSIDE = (0.001, 0.999)
RUN = dict(
    zip(
        BANDS,
        (
            "under 50,000 mi (80,000 km)",
            "between 50,000 mi (80,000 km) and 125,000 mi (200,000 km)",
            "over 125,000 mi (200,000 km)",
        ),
        strict=True,
    )
)
EXPERT = "from expert judgement"


def learned_from(sums: Sums, catalogue: Catalogue) -> Learned:
    """What the visits say; numbers that no visit touched are left to the expert."""
    operations, by_body = _operations(sums, catalogue)
    numbers = (*_causes(sums, catalogue), *operations, *_readings(sums, catalogue))
    return Learned(visits=sums.visits, shops=sums.shops, says=says_of(sums), numbers=numbers, by_body=by_body)


def says_of(sums: Sums) -> str:
    """The word beside an account."""
    count = round(sums.visits)
    if count < 1:
        return EXPERT
    visits = f"{count} visit{'s' if count > 1 else ''}"
    return f"from {visits} here" if sums.shops < 2 else f"from {visits} of {sums.shops} shops"


def _causes(sums: Sums, catalogue: Catalogue) -> list[LearnedNumber]:
    """All causes with a prior are fitted together; those that were looked at are told."""
    known = [(cause, cause.prior_new) for cause in catalogue.causes if cause.prior_new is not None]
    scale = catalogue.number["prior_odds_scale"]
    expert = np.array([[_scaled(getattr(prior, band), scale) for band in BANDS] for _, prior in known])
    width = np.array([width_of_range(*prior.range) for _, prior in known])
    looked, there = (_by_band(sums, [cause for cause, _ in known], what) for what in ("looked", "there"))
    looked = np.maximum(looked, 0.0)  # noise can send a sum below
    shifts = cause_shifts(expert, width, looked, np.clip(there, 0.0, looked))
    found = []
    for place, (cause, _) in enumerate(known):
        visits = float(looked[place].sum())
        if visits <= 0.0:
            continue
        for at, band in enumerate(BANDS):
            spread = chance_spread(float(expert[place, at]), shifts, place)
            chance = float(expert[place, at])
            words, key = _band_words(cause, band), f"prior_new.{band}"
            found.append(LearnedNumber(words, "causes", cause.id, key, chance, spread, visits))
    return found


def _by_band(sums: Sums, causes: Sequence[Cause], what: str) -> Floats:
    return np.array([[sums[f"cause/{cause.id}/{band}/{what}"] for band in BANDS] for cause in causes])


def _band_words(cause: Cause, band: str) -> str:
    return f"{cause.name}: how often it is behind the concern, {RUN[band]}"


def _operations(sums: Sums, catalogue: Catalogue) -> tuple[list[LearnedNumber], tuple[ByBody, ...]]:
    numbers, by_body = [], []
    proven = [name.split("/") for name in sums.of if name.startswith("correction/")]
    for operation in catalogue.operations:
        head = f"correction/{operation.id}/"
        bodies = sorted({body for _, done, body, _ in proven if done == operation.id})
        times = {body: sums[f"{head}{body}/times"] for body in bodies}
        bodies = [body for body in bodies if times[body] > 0.0 and sums[f"{head}{body}/weight"] > 0.0]
        if not bodies:
            continue
        weight = [sums[f"{head}{body}/weight"] for body in bodies]
        share = [sums[f"{head}{body}/share"] for body in bodies]
        general, each = shares(operation.cures_share.share, weight, share, visit_sd=VISIT_SD)
        by_body += [ByBody(operation.id, body, one, times[body]) for body, one in zip(bodies, each, strict=True)]
        what = f"{operation.name}: share of what it promised that came back"
        visits = sum(times[body] for body in bodies)
        expert = operation.cures_share.share
        numbers.append(LearnedNumber(what, "operations", operation.id, "cures_share", expert, general, visits))
    return numbers, tuple(by_body)


def _readings(sums: Sums, catalogue: Catalogue) -> list[LearnedNumber]:
    found = []
    for check in catalogue.checks:
        for reading in check.readings:
            if reading.neutral or reading.false_alarm is None:
                continue
            head = f"reading/{check.id}/{reading.id}"
            for key, ends, name in _rates(reading):
                base = f"{head}/{name}there" if name else f"{head}/sound"
                looks = sums[base]
                if looks <= 0.0:
                    continue
                positive = min(max(sums[f"{base}_positive"], 0.0), looks)
                words = "where that is there" if name else "on a sound vehicle"
                what = f"{check.name}: {reading.text}, {words}"
                seen = rate(ends, positive, looks)
                found.append(LearnedNumber(what, "checks", check.id, f"{reading.id}.{key}", ends[1], seen, looks))
    return found


def _rates(reading: Reading) -> list[tuple[str, Ends, str]]:
    """Key in the reading, the expert's ends, and the part of the name of its sums."""
    assert reading.false_alarm is not None  # noqa: S101 - asked by the caller
    seen = [(f"finds.{cause}", ends, f"{cause}/") for cause, ends in reading.finds if ":" not in cause]
    return [("false_alarm", reading.false_alarm, ""), *seen]


def own_numbers(learned: Learned, catalogue: Catalogue) -> dict[str, Any]:
    """The file of own numbers (causes/own.py) with what was learned; `says` is what an account writes beside it."""
    changes: dict[str, Any] = {"says": learned.says}
    for number in learned.numbers:
        entry = changes.setdefault(number.part, {}).setdefault(number.id, {})
        if number.part == "causes":
            _put_cause(entry, number, scale=catalogue.number["prior_odds_scale"])
        elif number.part == "operations":
            entry["cures_share"] = {"share": _inside(number.learned.mean), "source": SOURCE}
        else:
            _put_reading(entry, number)
    return changes


def _put_cause(entry: dict[str, Any], number: LearnedNumber, *, scale: float) -> None:
    """The catalogue's priors are odds before its own scale: taken back here, put on again when they are used."""
    prior = entry.setdefault("prior_new", {"source": SOURCE})
    mean, low, high = (
        _scaled(each, 1.0 / scale) for each in (number.learned.mean, number.learned.p05, number.learned.p95)
    )
    prior[number.key.partition(".")[2]] = _inside(mean)
    if number.key.endswith(BANDS[1]):
        prior["range"] = [_inside(low), _inside(high)]


def _put_reading(entry: dict[str, Any], number: LearnedNumber) -> None:
    reading, _, key = number.key.partition(".")
    told = entry.setdefault("readings", {}).setdefault(reading, {"source": SOURCE})
    ends = [_inside(number.learned.p05), _inside(number.learned.mean), _inside(number.learned.p95)]
    if key == "false_alarm":
        told["false_alarm"] = ends
    else:
        told.setdefault("finds", {})[key.partition(".")[2]] = ends


def _scaled(chance: float, odds: float) -> float:
    return float(chance_of(logit(chance) + np.log(odds)))


def _inside(value: float) -> float:
    return round(min(max(value, INSIDE[0]), INSIDE[1]), DIGITS)
