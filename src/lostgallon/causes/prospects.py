"""What each check could still say: its outcomes, how likely they are, and what would be believed after each."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from lostgallon.causes.columns import Sight
from lostgallon.causes.evidence import Measured
from lostgallon.causes.factors import GaugeRow, gauge_row
from lostgallon.causes.population import ABSENT, NEW, OLD
from lostgallon.causes.records import Check, Gauge
from lostgallon.causes.weighing import Weighing
from lostgallon.shop.spread import Floats
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
    """Prospects by check id, over the stories at `index`, shape (draws,)."""

    of: Mapping[str, Prospect]
    index: np.ndarray[tuple[int], np.dtype[np.intp]]


def prospects_of(weighing: Weighing, checks: tuple[Check, ...]) -> Prospects:
    """What checks could still say.

    Args:
        weighing: The weighing as it stands; at most 4096 of its stories are used, evenly.
        checks: Checks that could be made.

    Returns:
        One prospect a check. Outcomes are all normal, each telling reading alone, and for a gauge a few values.
    """
    stories = weighing.inside.stories
    step = max(1, stories.draws // MOST_DRAWS)
    index = np.arange(0, stories.draws, step, dtype=np.intp)
    taken = stories.taken(index) if step > 1 else stories
    new, old = (taken.state == NEW) * taken.seen, (taken.state == OLD) * taken.seen
    there = (taken.state > ABSENT).astype(np.float64)
    wanted = {check.id for check in checks}
    sights = [sight for sight in weighing.inside.columns.sights if sight.check in wanted and not sight.neutral]
    logs = _normal_logs(sights, new, old, there)
    by_check: dict[str, list[tuple[Sight, Floats]]] = {}
    for sight, log in zip(sights, logs, strict=True):
        by_check.setdefault(sight.check, []).append((sight, log))
    of = {}
    for check in checks:
        if check.gauge is not None:
            of[check.id] = _measured_prospect(check, weighing, there * taken.amount, taken.state)
        elif check.id in by_check:
            of[check.id] = _read_prospect(check, by_check[check.id])
    return Prospects(of, index)


def _normal_logs(sights: list[Sight], new: Floats, old: Floats, there: Floats) -> Floats:
    """Log of the chance that each reading stays normal, shape (sights, draws)."""
    if not sights:
        return np.zeros((0, new.shape[1]))
    miss = np.array([sight.new for sight in sights]) @ new + np.array([sight.old for sight in sights]) @ old
    for place, sight in enumerate(sights):
        if sight.masks.any():
            miss[place] *= np.exp(sight.masks @ there)
    logs: Floats = np.minimum(miss + np.array([[sight.sound_log] for sight in sights]), -1e-9)
    return logs


def _read_prospect(check: Check, seen: list[tuple[Sight, Floats]]) -> Prospect:
    """All normal, or one reading alone; more than one at once is left out and counts as no gain."""
    texts = {reading.id: reading.text for reading in check.readings}
    all_normal = np.sum([log for _, log in seen], axis=0)
    rows = [np.exp(all_normal)]
    outcomes = [Outcome("normal", None)]
    for sight, log in seen:
        rows.append(np.exp(all_normal - log) * -np.expm1(log))
        outcomes.append(Outcome(texts[sight.reading], sight.reading))
    return Prospect(check, tuple(outcomes), np.array(rows))


def _measured_prospect(check: Check, weighing: Weighing, amounts: Floats, state: np.ndarray) -> Prospect:
    gauge = check.gauge
    assert gauge is not None  # noqa: S101 - prospects_of has looked
    row = gauge_row(Measured(gauge, gauge.normal, check.looks_at), weighing.inside.columns)
    amount = amounts[list(row.at)].sum(axis=0) if row.at else np.zeros(state.shape[1])
    deviation = gauge.factor * amount**gauge.power
    values = _values(deviation, gauge.gauge_sd)
    spoiled = (state[row.look] > ABSENT).astype(float) if row.look is not None else np.zeros_like(deviation)
    density = np.array([np.exp(_at(row, gauge.normal + v).of_deviation(deviation, spoiled)) for v in values])
    weight = density * (np.gradient(values) if values.size > 1 else np.ones(1))[:, None]
    weight = weight / weight.sum(axis=0)
    outcomes = tuple(Outcome(_worded(v, gauge), None, float(gauge.normal + v)) for v in values)
    return Prospect(check, outcomes, weight)


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
