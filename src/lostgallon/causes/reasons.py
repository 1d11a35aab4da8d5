"""Why an entry stands in the account, and what would change it, in short sentences with sizes."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.evidence import Measured, Piece
from lostgallon.causes.factors import Factors, compiled
from lostgallon.causes.population import ABSENT, NEW, OLD, Stories
from lostgallon.causes.prospects import Prospects, in_words
from lostgallon.causes.records import Cause, Check, Reading
from lostgallon.causes.weighing import Inside, Weighing
from lostgallon.shop.spread import Floats
from lostgallon.shop.units import KM_PER_MILE, fahrenheit_of
from lostgallon.shop.visit import Case

WORTH_SAYING = math.log(1.3)
MOST_REASONS = 5
MOST_CHANGES = 3
MOST_DRAWS = 1024
CHANGES_BY = 0.10
NO_CHECK = {
    "season": "A good figure from the same month of an earlier year takes the season out of the comparison.",
    "scatter": "More full tanks on either side: each one narrows it.",
    "perception": "Fill-ups written down take the place of what was stated.",
}
"""What would change an entry that is computed from the case and not looked for by checks."""
RECORDS = {"drive_log": "Recorded drive", "fill_ups": "Fill-ups"}


@dataclass(frozen=True)
class Moved:
    """How one finding moved one cause: the log of the factor on its odds."""

    piece: Piece
    log_factor: float


def moved_by(inside: Inside, catalogue: Catalogue) -> Mapping[str, tuple[Moved, ...]]:
    """For each cause, how every finding moved the odds of its being there, the rest of each story as it is.

    Args:
        inside: Of a weighing.
        catalogue: The catalogue.
    """
    step = max(1, inside.stories.draws // MOST_DRAWS)
    stories = inside.stories.taken(np.arange(0, inside.stories.draws, step, dtype=np.intp))
    moved: dict[str, list[Moved]] = {}
    for piece in inside.evidence.pieces:
        factors = compiled([piece], inside.columns, catalogue)
        for column, log_factor in _log_factors(factors, stories).items():
            name = inside.model.columns[column].id
            moved.setdefault(name, []).append(Moved(piece, log_factor))
    return {name: tuple(sorted(each, key=lambda m: -abs(m.log_factor))) for name, each in moved.items()}


def _log_factors(factors: Factors, stories: Stories) -> Mapping[int, float]:
    """Mean over stories of the log-likelihood with a column there, less the same with it absent."""
    touched = {int(j) for j in np.flatnonzero(factors.new + factors.sure_new)}
    touched |= {int(j) for row in factors.rows for j in np.flatnonzero(row.new)}
    touched |= {j for gauge in factors.gauges for j in gauge.at}
    return {j: _log_factor(j, factors, stories) for j in sorted(touched)}


def _log_factor(j: int, factors: Factors, stories: Stories) -> float:
    new, old = (stories.state == NEW) * stories.seen, (stories.state == OLD) * stories.seen
    seen = stories.seen[j]
    log = factors.sure_new[j] + factors.new[j] * seen
    for row in factors.rows:
        without = row.new @ new - row.new[j] * new[j] + row.old @ old - row.old[j] * old[j]
        mask = row.masks @ (stories.state > ABSENT)
        log = log + row.log_likelihood(without + row.new[j] * seen, mask) - row.log_likelihood(without, mask)
    for gauge in factors.gauges:
        if j in gauge.at:
            there = (stories.state[list(gauge.at)] > ABSENT) * stories.amount[list(gauge.at)]
            without = there.sum(axis=0) - (stories.state[j] > ABSENT) * stories.amount[j]
            clean = np.zeros(stories.draws)
            better = gauge.log_likelihood(np.maximum(without, 0.0) + _fitting(j, stories), clean)
            log = log + better - gauge.log_likelihood(np.maximum(without, 0.0), clean)
    return float(np.mean(log))


def _fitting(j: int, stories: Stories) -> Floats:
    """Amounts where the column is there, repeated over the stories; as drawn where it is hardly anywhere."""
    there = np.flatnonzero(stories.state[j] > ABSENT)
    if there.size < 8:
        there = np.arange(stories.draws)
    amounts: Floats = np.resize(stories.amount[j][there], stories.draws)
    return amounts


def because(cause: Cause, moved: Sequence[Moved], *, weighing: Weighing, case: Case, catalogue: Catalogue) -> list[str]:
    """Short sentences on what an entry rests on, the weightiest first.

    Args:
        cause: The cause.
        moved: How findings moved it.
        weighing: The weighing.
        case: For temperatures, blends and figures.
        catalogue: For the names of checks and readings.
    """
    said = _stated(cause, weighing, case)
    columns = {column.id: column for column in weighing.inside.model.columns if column.cause is not None}
    if cause.id in columns:
        said += [f"Beforehand: {why}." for why in columns[cause.id].because[:2]]
    for each in moved:
        if abs(each.log_factor) >= WORTH_SAYING:
            said.append(f"{_shown(each.piece, catalogue, cause)}; {_factor(each.log_factor)}.")
        if cause.id in each.piece.older:
            said.append("Could already have been there in the good days: explains none of the change.")
    if cause.condition is not None and not said and cause.id in columns:
        said.append("Nothing was found for or against it yet; as likely as for other vehicles of its age.")
    return said[:MOST_REASONS]


def _stated(cause: Cause, weighing: Weighing, case: Case) -> list[str]:
    if cause.context == "season":
        if case.then.ambient_c == case.now.ambient_c:
            return ["The same outside temperature then and now: no season in the change."]
        then, now = _degrees(case.then.ambient_c), _degrees(case.now.ambient_c)
        by = "this vehicle's own fill-ups" if weighing.inside.model.known.season_sd == 0.0 else "the physics"
        trips = f"{case.use.trip_km / KM_PER_MILE:.0f} mi ({case.use.trip_km:.0f} km)"
        return [f"{now} now against {then} in the good days, trips of {trips}; by {by}."]
    if cause.context == "scatter":
        sd_pct = 100.0 * weighing.inside.model.economy.scatter_sd
        return [f"Tanks of equal driving differ: about {sd_pct:.1f} % either way is left in these figures."]
    if cause.context == "perception":
        return [f"Then by {case.then.basis}, now by {case.now.basis}; it moves the statement, not the fuel."]
    if cause.id in weighing.inside.model.known.stated:
        return ["The case states the fuel of both periods; computed from the energy in a liter."]
    return []


def _degrees(temperature_c: float) -> str:
    return f"{fahrenheit_of(temperature_c):.0f} degF ({temperature_c:.0f} degC)"


def _shown(piece: Piece, catalogue: Catalogue, cause: Cause) -> str:
    if cause.id in piece.because:
        return f"{RECORDS.get(piece.check, piece.check)}, {piece.because[cause.id].rstrip('.')}"
    check = catalogue.check[piece.check]
    done = ", ".join(catalogue.operation[name].name for name in piece.after)
    name = f"{check.name}, after this was done ({done})" if done else check.name
    if piece.measured is not None:
        return f"{name}: {_read(piece.measured)}"
    raised = [reading.text for reading in check.readings if reading.id in piece.raised and _finds(reading, cause)]
    return f"{name}: {raised[0] if raised else 'normal'}"


def _finds(reading: Reading, cause: Cause) -> bool:
    return cause.id in dict(reading.finds)


def _looks_for(check: Check, cause: Cause) -> bool:
    sees = check.gauge.sees if check.gauge else ()
    return cause.id in sees or any(_finds(reading, cause) for reading in check.readings)


def _read(measured: Measured) -> str:
    return f"{in_words(measured.value, measured.gauge)}, {measured.gauge.says}"


def _factor(log_factor: float) -> str:
    size = math.exp(abs(log_factor))
    words = "over 100 times" if size > 100.0 else f"{size:.0f} times" if size >= 3.0 else f"{size:.1f} times"
    return f"{words} as likely" if log_factor > 0.0 else f"{words} less likely"


def _look_alikes(cause: Cause, catalogue: Catalogue) -> set[str]:
    """What makes the checks of a cause read positive without it."""
    return {f"look_alike:{check.looks_at}" for check in catalogue.checks if check.looks_at and _looks_for(check, cause)}


def _tells_apart(check: Check, alike: set[str]) -> bool:
    return any(name in alike for reading in check.readings for name, _ in reading.finds)


@dataclass(frozen=True)
class Expected:
    """What the checks that could be made would make of each cause.

    `after` holds, by check, the probability of each cause after each outcome, shape (outcomes, causes); `chance` that
    of the outcomes, adding to one, shape (outcomes,); `before` the probabilities as they are, shape (causes,).
    """

    prospects: Prospects
    before: Floats
    after: Mapping[str, Floats]
    chance: Mapping[str, Floats]


def expected_of(prospects: Prospects) -> Expected:
    """What the checks that could be made would make of each cause."""
    sums = {name: np.maximum(each.weight.sum(axis=1), 1e-300) for name, each in prospects.of.items()}
    after = {name: found / sums[name][:, None] for name, found in prospects.there_sums.items()}
    before = prospects.there.mean(axis=0)
    return Expected(prospects, before, after, {name: each / each.sum() for name, each in sums.items()})


def would_change(cause: Cause, expected: Expected, *, weighing: Weighing, catalogue: Catalogue) -> list[str]:
    """Checks that would move the probability of a cause most, and to what.

    Args:
        cause: The cause.
        expected: From expected_of.
        weighing: The weighing.
        catalogue: For what reads like the cause.
    """
    n = weighing.index(cause.id)
    before = float(expected.before[n])
    found = []
    alike = _look_alikes(cause, catalogue)
    for name, prospect in expected.prospects.of.items():
        after = expected.after[name][:, n]
        moved = np.abs(after - before)
        best = int(moved.argmax())
        if moved[best] < CHANGES_BY or not (_looks_for(prospect.check, cause) or _tells_apart(prospect.check, alike)):
            continue
        says = f"{prospect.check.name}: if {prospect.outcomes[best].says}, from {_pct(before)} to"
        found.append((float(moved @ expected.chance[name]), f"{says} {_pct(float(after[best]))}."))
    found.sort(key=lambda pair: -pair[0])
    return [text for _, text in found[:MOST_CHANGES]] or [_beside_checks(cause, weighing)]


def _beside_checks(cause: Cause, weighing: Weighing) -> str:
    """What would change an entry that no check moves much."""
    if cause.id in weighing.inside.model.known.stated:
        return "What was really bought in both periods, by the receipts."
    return NO_CHECK.get(cause.context or "", "No look that is left would move it by 10 points.")


def _pct(probability: float) -> str:
    if probability < 0.01:
        return "under 1 %"
    return "over 99 %" if probability > 0.99 else f"{100.0 * probability:.0f} %"
