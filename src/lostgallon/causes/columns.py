"""The catalogue as columns of numbers for one case: what can be present, how severe, and how checks see it."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.facts import Fact, prior_here
from lostgallon.causes.records import Cause, Ends, Reading
from lostgallon.physics.conditions import BY_ID as CONDITIONS
from lostgallon.shop.spread import Floats

Index = NDArray[np.intp]
LOWER, UPPER = 1.6448536269514722, 2.3263478740408408  # standard normal quantiles at 95 and 99 %
LEAST = 1e-12
SEEN_LEAST, SEEN_MOST = 0.25, 3.0


class Effects(Protocol):
    """What the account asks of the physics; physics/effects.py fulfills it."""

    @property
    def season_log(self) -> Floats:
        """Log of now over then by season alone, shape (members,)."""
        ...

    @property
    def blend_log(self) -> Floats:
        """Log of now over then by fuel blend and ethanol, shape (members,)."""
        ...

    def log_effect(self, condition: str, amount: Floats, member: Index) -> Floats:
        """Log of the fuel ratio an amount of one condition makes, shape (draws,)."""
        ...

    def total_log(self, amounts: Mapping[str, Floats], member: Index) -> Floats:
        """Log of the fuel ratio all conditions make together, shape (draws,)."""
        ...


@dataclass(frozen=True)
class Column:
    """A thing that is absent, new, or old in each story: a cause, or a look-alike (`cause` is None, no effect).

    `log_prior` holds the logs of absent, new and old. A look-alike is present or not, kept as old: it moves no fuel.
    """

    id: str
    cause: Cause | None
    log_prior: tuple[float, float, float]
    because: tuple[str, ...] = ()

    @property
    def has_size(self) -> bool:
        """Whether it can be more or less severe."""
        return self.cause is not None and self.cause.severity is not None

    def sized(self, z: Floats, *, power: float) -> tuple[Floats, Floats]:
        """Amount of the condition at a standard normal severity z, and how easily it is seen, shapes of z.

        The amount is a two-piece lognormal; what is seen grows with a power of it over the median defect.
        """
        severity = self.cause.severity if self.cause else None
        if self.cause is None or severity is None:
            return np.zeros_like(z), np.ones_like(z)
        below = math.log(severity.p50 / severity.p05) / LOWER
        above = math.log(severity.p99 / severity.p50) / UPPER
        size_log = np.where(z < 0.0, below, above) * z
        seen: Floats = np.minimum(np.maximum(np.exp(power * size_log), SEEN_LEAST), SEEN_MOST)
        if self.cause.condition is None:
            return np.zeros_like(z), seen
        limits = CONDITIONS[self.cause.condition]
        amount: Floats = np.minimum(np.maximum(severity.p50 * np.exp(size_log), limits.low), limits.high)
        return amount, seen


@dataclass(frozen=True)
class Sight:
    """How one reading sees the columns.

    `sound_log` is ln(1 - false alarm). `new` and `old`, shape (columns,), hold what a present column adds to the log of
    the reading staying normal; `masks`, shape (columns,), logs of the factor a present column leaves of the rest.
    """

    check: str
    reading: str
    sound_log: float
    new: Floats
    old: Floats
    masks: Floats
    neutral: bool


@dataclass(frozen=True)
class Columns:
    """All columns and all sights of a case. Causes with a context are columns only where they are a bit."""

    columns: tuple[Column, ...]
    sights: tuple[Sight, ...]

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of the columns."""
        return tuple(column.id for column in self.columns)

    def sights_of(self, check: str) -> tuple[Sight, ...]:
        """The sights of one check, in the catalogue's order."""
        return tuple(sight for sight in self.sights if sight.check == check)


def columns_of(catalogue: Catalogue, facts: Mapping[str, Fact], *, known: Sequence[str]) -> Columns:
    """The columns and sights of a case.

    Args:
        catalogue: The catalogue, or a part of it.
        facts: From facts_of.
        known: Causes that the case states outright; they are no bits.
    """
    columns = [
        _column(cause, facts, catalogue.number["prior_odds_scale"])
        for cause in catalogue.causes
        if cause.context in (None, "perception") and cause.id not in known
    ]
    columns += [
        Column(look.id, None, (math.log1p(-look.prior), -math.inf, math.log(look.prior)))
        for look in catalogue.look_alikes
    ]
    place = {(f"look_alike:{c.id}" if c.cause is None else c.id): n for n, c in enumerate(columns)}
    looks = {look.id: look.detect for look in catalogue.look_alikes}
    sights = [
        _sight(check.id, reading, place, look=check.looks_at, detect=looks.get(check.looks_at or "", 0.0))
        for check in catalogue.checks
        for reading in check.readings
    ]
    return Columns(tuple(columns), tuple(sights))


def _column(cause: Cause, facts: Mapping[str, Fact], scale: float) -> Column:
    prior = prior_here(cause, facts, odds_scale=scale)
    absent = 1.0 - prior.new - prior.old
    logs = [math.log(p) if p > 0.0 else -math.inf for p in (absent, prior.new, prior.old)]
    return Column(cause.id, cause, (logs[0], logs[1], logs[2]), prior.because)


def expected(ends: Ends) -> float:
    """The mean of an expert range, weights 1/6, 2/3, 1/6 (account method, section 3.2; common practice)."""
    return ends[0] / 6.0 + ends[1] * 2.0 / 3.0 + ends[2] / 6.0


def _sight(check: str, reading: Reading, place: Mapping[str, int], *, look: str | None, detect: float) -> Sight:
    new, old, masks = np.zeros(len(place)), np.zeros(len(place)), np.zeros(len(place))
    for mask in reading.masked_by:
        if mask.cause in place:
            masks[place[mask.cause]] = math.log(mask.factor)
    if reading.neutral or reading.false_alarm is None:
        return Sight(check, reading.id, 0.0, new, old, masks, neutral=True)
    alarm = expected(reading.false_alarm)
    finds = dict(reading.finds)
    for name, ends in finds.items():
        if name in place:
            new[place[name]] = _added_log(expected(ends), alarm)
            old[place[name]] = 0.0 if reading.new_only else new[place[name]]
    if look is not None and f"look_alike:{look}" in place and not reading.new_only:
        at = place[f"look_alike:{look}"]
        old[at] = new[at] = min(new[at], _added_log(max(detect, alarm), alarm))
    return Sight(check, reading.id, math.log1p(-alarm), new, old, masks, neutral=False)


def _added_log(detect: float, alarm: float) -> float:
    """Log of the chance that a present cause is missed, beyond the false alarm (noisy-or)."""
    share = (detect - alarm) / (1.0 - alarm)
    return math.log(max(1.0 - share, LEAST))
