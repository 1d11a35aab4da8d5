"""The whole job of one visit: evidence in, account out. Each step is a room's own; this file knows their order."""

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import TypeVar

import numpy as np

from lostgallon.causes.account import entries_of, findings_of, kinds_of, loss_of, not_accounted_for, sum_over
from lostgallon.causes.bearing import after_what_bears
from lostgallon.causes.catalogue import Catalogue, catalogue
from lostgallon.causes.known import require_known_states
from lostgallon.causes.own import SAYS, with_own_numbers
from lostgallon.causes.prospects import prospects_of
from lostgallon.causes.stops import stop_of
from lostgallon.causes.weighing import weigh
from lostgallon.causes.worth import gone_by_now, open_checks, worth_of_checks
from lostgallon.job.fillups import Judged, judge_case
from lostgallon.job.memory import Memory, stamp, told_once
from lostgallon.learning.learned import EXPERT
from lostgallon.physics.effects import Effects
from lostgallon.physics.store import calibrated_once, effects_once
from lostgallon.plan.decide import decide
from lostgallon.plan.proof import TANK_SCATTER
from lostgallon.plan.reach import reach_of
from lostgallon.readers.own_numbers import read_own_numbers
from lostgallon.shop.account import Account
from lostgallon.shop.driven import DriveTold, DriveVerdict
from lostgallon.shop.filled import FillVerdict
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.visit import Case

MEMBERS = 256
DRAWS = 4096
LETTER_DRAWS = 16384
Answer = TypeVar("Answer")


@dataclass(frozen=True)
class Asked:
    """How the account is to be worked out.

    Args:
        seed: Same seed, same digits.
        draws: Stories weighed: DRAWS in the bay, LETTER_DRAWS for paper.
        folder: Where calibrations of vehicles are kept; None keeps none.
        numbers: The shop's own numbers in place of the catalogue's, or None.
        memory: What a program that stays remembers from one account to the next; None remembers nothing.
    """

    seed: int = 1
    draws: int = DRAWS
    folder: Path | None = None
    numbers: Path | None = None
    memory: Memory | None = field(default=None, compare=False, repr=False)

    def once(self, kind: str, rests_on: Hashable, make: Callable[[], Answer]) -> Answer:
        """What `make` answers, from memory where it is there."""
        return self.memory.once(kind, rests_on, make) if self.memory else make()


def effects_of_case(case: Case, asked: Asked) -> tuple[Effects, tuple[str, ...]]:
    """What every condition does to this vehicle's fuel in this owner's hands, and warnings about its ratings."""

    def work_out() -> tuple[Effects, tuple[str, ...]]:
        found = calibrated_once(case.vehicle, MEMBERS, seed=asked.seed, folder=asked.folder)
        effects = effects_once(told, members=found.members, seed=asked.seed, folder=asked.folder)
        return effects, found.warnings

    told = (case.vehicle, case.use, case.then, case.now)
    return asked.once("effects", (told, asked.seed), work_out)


def catalogue_of(asked: Asked) -> Catalogue:
    """The catalogue, with the shop's own numbers where it has any.

    Raises:
        BadInput: If the file of own numbers can't be used.
    """
    path = asked.numbers
    if path is None:
        return catalogue()
    return asked.once(
        "catalogue", stamp(path), lambda: with_own_numbers(catalogue(), read_own_numbers(path), where=str(path))
    )


def _numbers_say(asked: Asked) -> str:
    """Where the chances and ratios of an account come from."""
    if asked.numbers is None:
        return EXPERT
    said = read_own_numbers(asked.numbers).get(SAYS)
    return str(said) if said else f"from the shop's own numbers in {asked.numbers.name}"


def account_of(case: Case, asked: Asked) -> Account:
    """The account of a visit as it stands now.

    Raises:
        BadInput: If a finding names what the catalogue does not hold, or a file of evidence can't be used.
    """
    known = catalogue_of(asked)
    require_known_states(case, known)
    case, drive = _with_drive(case, asked)
    case = after_what_bears(case, known)
    findings = findings_of(case, known)
    effects, doubts = effects_of_case(case, asked)
    fills = _fills(case, asked)
    verdict = fills.verdict if fills else None
    rng = np.random.default_rng(asked.seed)
    remembered = asked.memory.learned if asked.memory else None
    weighing = weigh(
        case, effects, known, rng=rng, draws=asked.draws, verdict=verdict, drive=drive, remembered=remembered
    )
    stop = stop_of(case, known)
    prospects = prospects_of(weighing, open_checks(case, known), gone=gone_by_now(case, known))
    checks = worth_of_checks(weighing, case, known, stop=stop, reach=reach_of(case, known), prospects=prospects)
    decisions = decide(case, weighing, known, checks, stop, rng=rng, tank_scatter=_scatter_of_a_tank(verdict))
    return Account(
        case=case.name,
        currency=case.shop.currency,
        seed=asked.seed,
        draws=asked.draws,
        stop=stop,
        loss=loss_of(weighing),
        entries=entries_of(weighing, case, known, prospects=prospects),
        kinds=kinds_of(weighing),
        not_accounted_for_l_per_100km=not_accounted_for(weighing),
        checks=checks,
        findings=findings,
        corrections=decisions.corrections,
        plan=decisions.plan,
        proof=decisions.proof,
        not_enough=(*(_ratings_doubted(doubt) for doubt in doubts), *decisions.not_enough),
        circumstances_l_per_100km=sum_over(weighing, fault=False),
        faults_l_per_100km=sum_over(weighing, fault=True),
        numbers=_numbers_say(asked),
        after_care=decisions.after_care,
        estimate=decisions.estimate,
        drive=_told(drive),
    )


def _fills(case: Case, asked: Asked) -> Judged | None:
    told = (told_once(case), stamp(case.evidence.fill_ups))
    return asked.once("fills", told, lambda: judge_case(case, folder=asked.folder))


def _with_drive(case: Case, asked: Asked) -> tuple[Case, DriveVerdict | None]:
    """The case with what its drive log measured entered as findings, and the log's whole verdict."""
    if case.evidence.drive_log is None:
        return case, None
    from lostgallon.job.drive import (  # noqa: PLC0415 - only a case with a log waits for that room
        drive_of_case,
        with_findings,
    )

    told = (told_once(case), stamp(case.evidence.drive_log))
    drive = asked.once("drive", told, lambda: drive_of_case(case))
    return with_findings(case, drive), drive


def _told(drive: DriveVerdict | None) -> DriveTold | None:
    """What of a log's verdict the account shows, by the same names."""
    return DriveTold(**{field.name: getattr(drive, field.name) for field in fields(DriveTold)}) if drive else None


def _scatter_of_a_tank(verdict: FillVerdict | None) -> float:
    """What one tank of this vehicle scatters by, as its own log tells; the usual where there is none. [-]"""
    if verdict is None or verdict.scatter_pct is None:
        return TANK_SCATTER
    return verdict.scatter_pct / 100.0


def _ratings_doubted(doubt: str) -> NotEnough:
    return NotEnough("ratings_in_doubt", doubt, "the ratings of this vehicle's own sticker, or none")
