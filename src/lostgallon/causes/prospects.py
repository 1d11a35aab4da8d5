"""What each check could still say: its outcomes, how likely they are, and what would be believed after each."""

from collections.abc import Container, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from lostgallon.causes.columns import Sight
from lostgallon.causes.evidence import Measured
from lostgallon.causes.factors import GaugeRow, gauge_row
from lostgallon.causes.population import ABSENT, NEW, Stories
from lostgallon.causes.records import Check, Gauge
from lostgallon.causes.weighing import Weighing
from lostgallon.shop.spread import Bools, Floats
from lostgallon.shop.units import BASE_UNITS, PA_PER_PSI, fahrenheit_of

MOST_DRAWS = 4096
BINS = 6
"""A measurement is looked at as this many values across what it would read; chosen."""


@dataclass(frozen=True)
class Outcome:
    """One result a check could have: its words, its reading (None: all normal, or a measured value)."""

    says: str
    reading: str | None
    value: float | None = None


@dataclass(frozen=True)
class Prospect:
    """The outcomes of one check, with `weight` of shape (outcomes, draws): the chance of each in each story."""

    check: Check
    outcomes: tuple[Outcome, ...]
    weight: Floats

    @property
    def chance(self) -> Floats:
        """Chance of each outcome, shape (outcomes,)."""
        mean: Floats = self.weight.mean(axis=1)
        return mean


@dataclass(frozen=True)
class Prospects:
    """Prospects by check id, over the stories at `index`, shape (draws,).

    `weight`, shape (outcomes of all checks, draws), holds the weights of the prospects one below the other; `there`,
    shape (draws, causes), is one where a cause is present, new or old.
    """

    of: Mapping[str, Prospect]
    index: np.ndarray[tuple[int], np.dtype[np.intp]]
    weight: Floats
    there: Floats

    def sums(self, columns: Floats) -> dict[str, Floats]:
        """Sums of something over stories, weighted by each outcome, in one matrix product for all checks.

        Args:
            columns: What is summed, shape (draws, columns).

        Returns:
            By check id, shape (outcomes, columns).
        """
        edges = np.cumsum([0, *(len(prospect.outcomes) for prospect in self.of.values())])
        whole = self.weight @ columns
        return {name: whole[low:high] for name, (low, high) in zip(self.of, pairwise(edges), strict=True)}

    @cached_property
    def there_sums(self) -> Mapping[str, Floats]:
        """Sums of the stories in which each cause is present, by check, shape (outcomes, causes)."""
        return self.sums(self.there)


def prospects_of(weighing: Weighing, checks: tuple[Check, ...], *, gone: Container[str] = ()) -> Prospects:
    """What checks could still say.

    Args:
        weighing: The weighing as it stands; at most 4096 of its stories are used, evenly.
        checks: Checks that could be made.
        gone: Causes that work has removed by now: they are no longer seen.

    Returns:
        One prospect a check. Outcomes are all normal, each telling reading alone, and for a gauge a few values.
    """
    stories = weighing.inside.stories
    step = max(1, stories.draws // MOST_DRAWS)
    index = np.arange(0, stories.draws, step, dtype=np.intp)
    taken = stories.taken(index) if step > 1 else stories
    seen = np.array([[column.cause is None or column.id not in gone] for column in weighing.inside.model.columns])
    present = (taken.state > ABSENT) & seen
    wanted = {check.id for check in checks}
    sights = [sight for sight in weighing.inside.columns.sights if sight.check in wanted and not sight.neutral]
    logs = _normal_logs(sights, taken, present)
    rows_of: dict[str, list[int]] = {}
    for row, sight in enumerate(sights):
        rows_of.setdefault(sight.check, []).append(row)
    parts: list[tuple[Check, tuple[Outcome, ...], Floats]] = []
    for check in checks:
        if check.gauge is not None:
            parts.append((check, *_measured(check, weighing, taken, present)))
        elif check.id in rows_of:
            rows = rows_of[check.id]
            parts.append((check, *_read(check, [sights[row].reading for row in rows], logs[rows])))
    there = (weighing.new | weighing.old)[index].astype(np.float64)
    weight = np.concatenate([each for _, _, each in parts]) if parts else np.zeros((0, index.size))
    edges = np.cumsum([0, *(len(outcomes) for _, outcomes, _ in parts)])
    of = {
        check.id: Prospect(check, outcomes, weight[low:high])
        for (check, outcomes, _), (low, high) in zip(parts, pairwise(edges), strict=True)
    }
    return Prospects(of, index, weight, there)


def _normal_logs(sights: list[Sight], stories: Stories, present: Bools) -> Floats:
    """Log of the chance that each reading stays normal, shape (sights, draws)."""
    if not sights:
        return np.zeros((0, stories.draws))
    new, old = np.array([sight.new for sight in sights]), np.array([sight.old for sight in sights])
    miss = old @ (present * stories.seen)
    younger = np.flatnonzero((new != old).any(axis=1))
    miss[younger] += (new[younger] - old[younger]) @ ((present & (stories.state == NEW)) * stories.seen)
    for place, sight in enumerate(sights):
        if sight.masks.any():
            miss[place] *= np.exp(sight.masks @ present)
    miss += np.array([[sight.sound_log] for sight in sights])
    return np.minimum(miss, -1e-9, out=miss)


def _read(check: Check, readings: list[str], logs: Floats) -> tuple[tuple[Outcome, ...], Floats]:
    """All normal, or one reading alone; more than one at once is left out and counts as no gain."""
    texts = {reading.id: reading.text for reading in check.readings}
    all_normal = logs.sum(axis=0)
    weight = np.empty((len(readings) + 1, logs.shape[1]))
    np.exp(all_normal, out=weight[0])
    np.subtract(all_normal, logs, out=weight[1:])
    np.exp(weight[1:], out=weight[1:])
    weight[1:] *= -np.expm1(logs)
    return (Outcome("normal", None), *(Outcome(texts[reading], reading) for reading in readings)), weight


def _measured(check: Check, weighing: Weighing, stories: Stories, present: Bools) -> tuple[tuple[Outcome, ...], Floats]:
    gauge = check.gauge
    assert gauge is not None  # noqa: S101 - prospects_of has looked
    row = gauge_row(Measured(gauge, gauge.normal, check.looks_at), weighing.inside.columns)
    at = list(row.at)
    amount = (present[at] * stories.amount[at]).sum(axis=0)
    deviation = gauge.factor * amount**gauge.power
    values = _values(deviation, gauge.gauge_sd)
    spoiled = present[row.look].astype(float) if row.look is not None else np.zeros_like(deviation)
    density = np.array([np.exp(_at(row, gauge.normal + v).of_deviation(deviation, spoiled)) for v in values])
    weight = density * (np.gradient(values) if values.size > 1 else np.ones(1))[:, None]
    weight = weight / weight.sum(axis=0)
    return tuple(Outcome(_worded(v, gauge), None, float(gauge.normal + v)) for v in values), weight


def _values(deviation: Floats, sd: float) -> Floats:
    """Deviations a gauge might read: normal, and steps up to the far end of what is believed."""
    far = float(np.quantile(np.abs(deviation), 0.999))
    sign = np.sign(deviation[np.abs(deviation).argmax()]) or 1.0
    steps = np.geomspace(2.0 * sd, max(far, 4.0 * sd), BINS - 1)
    values: Floats = np.concatenate([[0.0], steps]) * sign
    return values if sign > 0 else values[::-1]


def _at(row: GaugeRow, value: float) -> GaugeRow:
    return GaugeRow(row.gauge, value, row.at, row.look, row.broad)


def _worded(deviation: float, gauge: Gauge) -> str:
    return "normal" if deviation == 0.0 else in_words(gauge.normal + deviation, gauge)


def in_words(value: float, gauge: Gauge) -> str:
    """A value of a gauge with its unit, in as many digits as the gauge can tell."""
    unit = BASE_UNITS[gauge.kind]
    if unit == "Pa":
        return f"{value / PA_PER_PSI:.1f} psi ({value / 1000.0:.0f} kPa)"
    if unit == "degC":
        return f"{fahrenheit_of(value):.0f} degF ({value:.0f} degC)"
    digits = 0 if gauge.gauge_sd >= 0.5 else 1
    return f"{value:.{digits}f} {unit}"
