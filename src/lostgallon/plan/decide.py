"""What to correct, what fits before the promised time, and what the next fills should show: one entry for all of it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.evidence import Piece, evidence_of
from lostgallon.causes.records import Operation
from lostgallon.plan.access import ever_open
from lostgallon.plan.access import standing as standing_of
from lostgallon.plan.aftercare import after_care
from lostgallon.plan.belief import Belief
from lostgallon.plan.corrections import Considered, considered
from lostgallon.plan.estimate import consent_in_words, estimate_of
from lostgallon.plan.need import need_of, place_of
from lostgallon.plan.planning import Planned, plan_visit
from lostgallon.plan.proof import TANK_SCATTER, After, coming_ambient_c, proof_of, season_change_log
from lostgallon.plan.rows import correction_rows, stopped_rows
from lostgallon.plan.stopped import stopped_plan, stopped_proof
from lostgallon.plan.tasks import Offer
from lostgallon.shop.account import AfterCare, CheckWorth, Correction, Estimate, Plan, Proof, Stop
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Floats
from lostgallon.shop.visit import Case

ASK = "Show the written estimate first: nothing is begun without the owner's yes, recorded: who, when, how, amount."
UNSURE_REAL = 0.8
"""Below this probability that the vehicle uses more, the plan says that the loss itself is in doubt; chosen."""


@dataclass(frozen=True)
class Decisions:
    """What the plan's room adds to an account."""

    corrections: tuple[Correction, ...]
    plan: Plan
    proof: Proof
    not_enough: tuple[NotEnough, ...]
    after_care: tuple[AfterCare, ...]
    estimate: Estimate | None = None


def decide(  # noqa: PLR0913 - one visit has this many sides
    case: Case,
    belief: Belief,
    catalogue: Catalogue,
    checks: Iterable[CheckWorth],
    stop: Stop | None,
    *,
    rng: np.random.Generator,
    pieces: Iterable[Piece] | None = None,
    tank_scatter: float = TANK_SCATTER,
) -> Decisions:
    """Decide on one visit from the present moment.

    Args:
        case: The case.
        belief: The weighing (causes/weighing.py).
        catalogue: The catalogue.
        checks: What each check is worth now (causes/worth.py).
        stop: The safety stop that stands, or None. It silences all money.
        rng: Random generator; the same state gives the same digits.
        pieces: The findings as evidence; made from the case where not given.
        tank_scatter: Scatter of one tank's use, as a fraction, where the fill-ups tell it.
    """
    findings = tuple(evidence_of(case, catalogue, drive=None).pieces if pieces is None else pieces)
    stands = standing_of(case, catalogue.state)

    def need(operation: Operation, cause: str) -> str:
        return need_of(operation, cause, case=case, pieces=findings, catalogue=catalogue)

    found = considered(case, belief, catalogue, standing=stands, need=need)
    if stop is not None:
        rows = stopped_rows(found, stop=stop, catalogue=catalogue, standing=stands)
        return Decisions(rows, stopped_plan(stop, rows, case=case, catalogue=catalogue), stopped_proof(), (), ())
    offers = _offers(found, case)
    planned = plan_visit(case, offers, checks, catalogue=catalogue, standing=stands, rng=rng)
    chosen = planned.chosen | {offer.operation.id for offer in offers if not offer.in_bay}
    done = [each for each in found if each.operation.id in chosen or each.done]
    proof, unproven = proof_of(
        _after(case, belief, done), corrected=any(each.per_100km.any() for each in done), rng=rng, scatter=tank_scatter
    )
    rows = correction_rows(
        found,
        case=case,
        catalogue=catalogue,
        standing=stands,
        chosen=chosen,
        clock=planned.plan.chance_on_time is not None,
    )
    return Decisions(
        corrections=rows,
        plan=replace(planned.plan, says=_says(planned, rows, belief, case)),
        proof=proof,
        not_enough=(*planned.not_enough, *((unproven,) if unproven else ())),
        after_care=after_care(
            [each.operation for each in done],
            catalogue=catalogue,
            standing=stands,
            opened={*planned.opened, *ever_open(case, catalogue.state)},
        ),
        estimate=estimate_of(rows, case),
    )


def _offers(found: Iterable[Considered], case: Case) -> list[Offer]:
    """What the plan may choose from: corrections that qualify, and those that are booked or made at the hand-over."""
    return [
        Offer(
            each.operation,
            each.plan_money,
            in_bay=not (each.booked or each.operation.at_hand_over),
            place=place_of(each.operation, case),
            agreed=consent_in_words(each.operation.id, each.now.total, case),
        )
        for each in found
        if each.answer.verdict in {"booked", "qualifies"}
    ]


def _after(case: Case, belief: Belief, done: Iterable[Considered]) -> After:
    """Use at the coming weather after the work, and had it done nothing."""
    season = [index for index, cause in enumerate(belief.causes) if cause.context == "season"]
    season_log: Floats = belief.log_effect[:, season].sum(axis=1)
    nothing = belief.now_l_per_100km * np.exp(season_change_log(case, season_log, coming_ambient_c(case)))
    share_left = np.ones_like(nothing)
    for each in done:
        share_left = share_left * (1.0 - each.per_100km / belief.now_l_per_100km)
    return After(worked=nothing * share_left, nothing=nothing)


def _says(planned: Planned, rows: Iterable[Correction], belief: Belief, case: Case) -> str:
    """The plan in a sentence, or two."""
    listed = tuple(rows)
    done, today, later = ([row.name for row in listed if row.advice == advice] for advice in ("done", "today", "later"))
    late, did = planned.plan.says, f"Done: {'; '.join(done)}." if done else ""
    if today:
        unasked = any(
            row.advice == "today" and row.total_money and not case.consent_to(row.operation) for row in listed
        )
        ask = ASK if unasked else ""
        return " ".join(part for part in (late, did, f"Today: {'; '.join(today)}.", ask) if part)
    doubt = "" if belief.real >= UNSURE_REAL else "It is not certain that the vehicle uses more at all."
    waiting = f"For later: {'; '.join(later)}." if later else ""
    nothing = "Sell nothing more for fuel today." if done else "Sell nothing for fuel today."
    parts = (late, did, doubt, nothing, waiting, "Explain the account, hand over the fill sheet.")
    return " ".join(part for part in parts if part)
