"""Weighs everything that was told, seen and measured into one population of stories: the base of the account."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.columns import Columns, Effects, columns_of
from lostgallon.causes.economy import economy_of
from lostgallon.causes.evidence import Evidence, Piece, evidence_of
from lostgallon.causes.factors import Factors, compiled
from lostgallon.causes.facts import facts_of
from lostgallon.causes.known import known_of, stated_causes
from lostgallon.causes.moving import Mover
from lostgallon.causes.population import (
    ABSENT,
    NEW,
    OLD,
    PERCEPTION,
    Known,
    Model,
    Stories,
    effective_share,
    fresh,
    log_weights,
    resampled,
)
from lostgallon.causes.records import Cause
from lostgallon.causes.remembered import Learned, Remembered, names_of
from lostgallon.causes.together import Rerun, added_log, rerun_of
from lostgallon.shop.driven import DriveVerdict
from lostgallon.shop.filled import FillVerdict
from lostgallon.shop.spread import Bools, Floats
from lostgallon.shop.visit import Case

ENOUGH, FEW = 0.25, 0.05
"""Effective shares: below the first the stories move before the next finding, below the second they move longer."""
SETTLING_SWEEPS, LAST_SWEEPS = 2, 4
LEARNING_DRAWS = 4096
"""Findings are taken in by this many stories at most; more are copied from them before the last sweeps."""


@dataclass(frozen=True)
class Inside:
    """What the weighing was made of, for the worth of checks and for the reasons of entries."""

    model: Model
    columns: Columns
    evidence: Evidence
    factors: Factors
    stories: Stories
    rerun: Rerun = field(default_factory=Rerun)


@dataclass(frozen=True)
class Weighing:
    """Everything weighed, draw by draw. Arrays are (draws, causes) or (draws,); causes in the catalogue's order.

    `log_effect` is what a cause does to fuel where it is present (natural log); only `new` causes enter the change.
    `entries_l_per_100km` and `remainder_l_per_100km` add up to now minus then in every draw. `presence` and
    `already_there`, shape (causes,), are probabilities of new and of older; `real` that the vehicle itself uses more.
    """

    causes: tuple[Cause, ...]
    new: Bools
    old: Bools
    log_effect: Floats
    remainder_log: Floats
    then_l_per_100km: Floats
    now_l_per_100km: Floats
    entries_l_per_100km: Floats
    remainder_l_per_100km: Floats
    presence: Floats
    already_there: Floats
    real: float
    inside: Inside

    @property
    def draws(self) -> int:
        """How many stories were drawn."""
        return self.now_l_per_100km.size

    def index(self, cause: str) -> int:
        """Place of a cause by its id."""
        return [entry.id for entry in self.causes].index(cause)


def model_of(
    case: Case, effects: Effects, catalogue: Catalogue, *, verdict: FillVerdict | None, evidence: Evidence
) -> tuple[Model, Columns]:
    """The model of a case: columns, figures and what is known outright."""
    facts = facts_of(case)
    columns = columns_of(catalogue, facts, known=stated_causes(case, catalogue))
    number = catalogue.number
    economy = economy_of(case, number, verdict=verdict, scatter_sd=evidence.scatter_sd)
    known = known_of(case, effects, catalogue, rise=verdict.rise if verdict else None)
    return Model(columns.columns, effects, economy, known, number["severity_seen_power"]), columns


def weigh(  # noqa: PLR0913 - one visit has this many sources of evidence
    case: Case,
    effects: Effects,
    catalogue: Catalogue,
    *,
    rng: np.random.Generator,
    draws: int = 4096,
    verdict: FillVerdict | None = None,
    drive: DriveVerdict | None = None,
    remembered: Remembered | None = None,
) -> Weighing:
    """Weigh a case.

    Args:
        case: The case with its findings.
        effects: What conditions do to this vehicle's fuel (physics/effects.py).
        catalogue: Causes, checks and their numbers.
        rng: Source of randomness; the same generator state gives the same digits.
        draws: How many stories: 4096 in use, 16 384 for the letter.
        verdict: What the fill-ups say, where there are any.
        drive: What a recorded drive says, where there is one.
        remembered: What was learned for cases like this before, in a program that stays; the digits are the same.

    Raises:
        BadInput: If a finding names what the catalogue does not hold.
    """
    evidence = evidence_of(case, catalogue, drive=drive, verdict=verdict)
    model, columns = model_of(case, effects, catalogue, verdict=verdict, evidence=evidence)
    learning = Learning(model, columns, catalogue, remembered or Remembered(most=0))
    stories = learning.learned(evidence.pieces, draws=min(draws, LEARNING_DRAWS), rng=rng)
    if draws > stories.draws:
        stories = stories.taken(np.arange(draws, dtype=np.intp) % stories.draws)
    factors = compiled(evidence.pieces, columns, catalogue)
    chances, stories = _settled(stories, model, factors, LAST_SWEEPS, rng)
    rerun = rerun_of(stories, columns.columns, effects)
    inside = Inside(model, columns, evidence, factors, stories, rerun)
    return weighed(inside, catalogue, chances=chances, rng=rng)


def begun(model: Model, *, draws: int, rng: np.random.Generator) -> Stories:
    """Stories that agree with then and now and with nothing else yet."""
    stories = fresh(model, draws, rng)
    causes_log, misled = stories.causes_log(model.known), stories.misled(model)
    return resampled(stories, model.economy.log_likelihood(causes_log, misled), rng)


@dataclass(frozen=True)
class Learning:
    """How stories of one case take in evidence, in turn; they move whenever too few of them carry the weight."""

    model: Model
    columns: Columns
    catalogue: Catalogue
    remembered: Remembered

    def learned(self, pieces: Sequence[Piece], *, draws: int, rng: np.random.Generator) -> Stories:
        """Stories after pieces of evidence, from the farthest state that is remembered."""
        names = names_of(pieces, model=self.model, catalogue=self.catalogue, draws=draws, rng=rng)
        done, state = self._farthest(names)
        if state is None:
            state = Learned(begun(self.model, draws=draws, rng=rng), np.zeros(draws), rng.bit_generator.state)
            self._keep(names[0], state)
        for count in range(done, len(pieces)):
            state = self._with_next(pieces[: count + 1], state, rng)
            self._keep(names[count + 1], state)
        rng.bit_generator.state = state.generator
        return resampled(state.stories, state.waiting, rng)

    def _farthest(self, names: Sequence[str]) -> tuple[int, Learned | None]:
        for count in reversed(range(len(names))):
            state = self.remembered.find(names[count])
            if state is not None:
                return count, state
        return 0, None

    def _keep(self, name: str, state: Learned) -> None:
        self.remembered.keep(name, state, rests_on=(self.model.effects, self.catalogue))

    def _with_next(self, pieces: Sequence[Piece], before: Learned, rng: np.random.Generator) -> Learned:
        """The state after the last of these pieces, from the state before it."""
        more = log_weights(before.stories, compiled(pieces[-1:], self.columns, self.catalogue))
        waiting = before.waiting + more
        share = effective_share(waiting)
        if share > ENOUGH:
            return Learned(before.stories, waiting, before.generator)
        rng.bit_generator.state = before.generator
        stories = resampled(before.stories, waiting, rng)
        factors = compiled(pieces, self.columns, self.catalogue)
        _, stories = _settled(stories, self.model, factors, _sweeps_for(share), rng)
        return Learned(stories, np.zeros(stories.draws), rng.bit_generator.state)


def _sweeps_for(share: float) -> int:
    """How often stories move after a finding: the fewer of them agreed with it, the oftener."""
    return 1 if share > ENOUGH else SETTLING_SWEEPS if share > FEW else 2 * SETTLING_SWEEPS


def _settled(
    stories: Stories, model: Model, factors: Factors, sweeps: int, rng: np.random.Generator
) -> tuple[Floats, Stories]:
    """Stories after some sweeps, and the mean conditional probabilities of the later half of them."""
    mover = Mover(model, factors, stories)
    chances = [mover.sweep(rng) for _ in range(sweeps)]
    return np.mean(chances[sweeps // 2 :], axis=0), mover.stories


def weighed(inside: Inside, catalogue: Catalogue, *, chances: Floats, rng: np.random.Generator) -> Weighing:
    """The weighing of settled stories.

    Args:
        inside: Model, evidence and stories.
        catalogue: The catalogue, for the order of causes.
        chances: Probabilities of absent, new and old by column, shape (columns, 3).
        rng: Source of randomness for the remainder, the scatter and the figure of the good days.
    """
    model, stories = inside.model, inside.stories
    added = added_log(stories, inside.rerun)
    causes_log = stories.causes_log(model.known) + added.sum(axis=0)
    remainder, scatter, then_log = model.economy.drawn_apart(causes_log, stories.misled(model), rng)
    then = model.economy.then_l_per_100km * np.exp(then_log)
    laid = _laid_out(inside, catalogue, chances=chances, scatter=scatter, added=added)
    new_log = np.where(laid.new, laid.log_effect, 0.0)
    total = new_log.sum(axis=1) + remainder
    now = then * np.exp(total)
    scale = _log_mean(then, now, total)
    paper = np.array([cause.paper for cause in catalogue.causes])
    real_log = total - new_log[:, paper].sum(axis=1)
    return Weighing(
        causes=catalogue.causes,
        new=laid.new,
        old=laid.old,
        log_effect=laid.log_effect,
        remainder_log=remainder,
        then_l_per_100km=then,
        now_l_per_100km=now,
        entries_l_per_100km=scale[:, None] * new_log,
        remainder_l_per_100km=scale * remainder,
        presence=laid.presence,
        already_there=laid.already_there,
        real=float(np.mean(real_log > np.log1p(catalogue.number["real_over"]))),
        inside=inside,
    )


def _log_mean(then: Floats, now: Floats, total_log: Floats) -> Floats:
    """Logarithmic mean of then and now: (now - then) / ln(now / then), then where they are equal.

    Source: additive logarithmic-mean Divisia decomposition (Ang, 2004, Energy Policy 32, equation 9).
    """
    small = np.abs(total_log) < 1e-9
    safe = np.where(small, 1.0, total_log)
    mean: Floats = np.where(small, then, (now - then) / safe)
    return mean


@dataclass(frozen=True)
class _LaidOut:
    new: Bools
    old: Bools
    log_effect: Floats
    presence: Floats
    already_there: Floats


def _laid_out(inside: Inside, catalogue: Catalogue, *, chances: Floats, scatter: Floats, added: Floats) -> _LaidOut:
    """Columns with what acting together adds, known terms and scatter, in the order of the catalogue's causes."""
    model, stories = inside.model, inside.stories
    shape = (stories.draws, len(catalogue.causes))
    new, old, effect = np.zeros(shape, dtype=bool), np.zeros(shape, dtype=bool), np.zeros(shape)
    presence, already_there = np.zeros(shape[1]), np.zeros(shape[1])
    place = {column.id: n for n, column in enumerate(model.columns) if column.cause is not None}
    sure = _sure_logs(model.known, stories, scatter)
    for n, cause in enumerate(catalogue.causes):
        name = cause.context or cause.id
        if cause.id in place and cause.id != PERCEPTION:
            j = place[cause.id]
            new[:, n], old[:, n] = stories.state[j] == NEW, stories.state[j] == OLD
            effect[:, n] = stories.effect[j] + added[j]
            presence[n], already_there[n] = chances[j, NEW], chances[j, OLD]
        elif name in sure:
            effect[:, n] = sure[name]
            new[:, n] = effect[:, n] != 0.0
            presence[n] = float(np.mean(np.abs(effect[:, n]) > 0.01)) if name == "scatter" else float(new[:, n].any())
        elif cause.id in place:
            new[:, n] = stories.state[place[cause.id]] > ABSENT
            presence[n] = 1.0 - chances[place[cause.id], ABSENT]
    return _LaidOut(new, old, effect, presence, already_there)


def _sure_logs(known: Known, stories: Stories, scatter: Floats) -> Mapping[str, Floats]:
    stated = {name: log[stories.member] for name, log in known.stated.items()}
    return {"season": known.season(stories.member, stories.season_z), "scatter": scatter, **stated}


def with_more(inside: Inside, piece: Piece, catalogue: Catalogue, *, rng: np.random.Generator) -> Weighing:
    """The weighing after one more piece of evidence, from the stories as they stand.

    Args:
        inside: Of the weighing before.
        piece: The new evidence; its check must not have been made before.
        catalogue: The catalogue.
        rng: Source of randomness.
    """
    pieces = (*inside.evidence.pieces, piece)
    weight = log_weights(inside.stories, compiled([piece], inside.columns, catalogue))
    factors = compiled(pieces, inside.columns, catalogue)
    stories = resampled(inside.stories, weight, rng)
    chances, stories = _settled(stories, inside.model, factors, _sweeps_for(effective_share(weight)), rng)
    evidence = Evidence(pieces, inside.evidence.not_enough)
    after = replace(inside, evidence=evidence, factors=factors, stories=stories)
    return weighed(after, catalogue, chances=chances, rng=rng)
