"""Findings as evidence: each becomes one piece that says which readings it saw, in order of time."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.codes import readings_of
from lostgallon.causes.records import Check, Gauge, Reading
from lostgallon.causes.reduced import reduced
from lostgallon.causes.wholeness import CODES_CHECK
from lostgallon.drives.patterns import by_cause
from lostgallon.shop.driven import DriveVerdict
from lostgallon.shop.filled import FillVerdict
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.trouble import BadInput, suggestion
from lostgallon.shop.units import BASE_UNITS
from lostgallon.shop.visit import SILENT_RESULTS, Case, Finding

MOST_ODDS = 12.0
"""A drive log alone multiplies odds by no more than this; chosen."""

AGREES = 2.0
"""Readings of one gauge agree within so many standard deviations of their difference; chosen."""
LEAST_DOUBT = 1e-4
"""Share of readings that stay wrong however often they are taken again; chosen."""

MOST_USE_ODDS = 6.0
"""The same for a log of fill-ups and a change of use; chosen."""
USE_CAUSES = ("short_trips", "route_traffic_driver", "highway_speed")


@dataclass(frozen=True)
class Measured:
    """A gauge and the number it read, in the unit the gauge is kept in."""

    gauge: Gauge
    value: float
    look: str | None


@dataclass(frozen=True)
class Piece:
    """What one finding says: readings seen, readings looked for and not seen, a union ("found"), a measured value.

    `odds` multiplies the odds of a cause being present; `older` are causes placed before the good days. `after` are the
    corrections done before the look: what they cure was gone by then, so the piece says nothing about it directly.
    """

    check: str
    seen: tuple[str, ...] = ()
    unseen: tuple[str, ...] = ()
    any_of: tuple[str, ...] = ()
    measured: Measured | None = None
    odds: Mapping[str, float] = field(default_factory=dict)
    older: tuple[str, ...] = ()
    scatter_sd: float | None = None
    because: Mapping[str, str] = field(default_factory=dict)
    after: tuple[str, ...] = ()

    @property
    def raised(self) -> tuple[str, ...]:
        """Readings that read as described."""
        return (*self.seen, *self.any_of)


@dataclass(frozen=True)
class Evidence:
    """All pieces in order of time, and what could not be used."""

    pieces: tuple[Piece, ...]
    not_enough: tuple[NotEnough, ...]

    @property
    def scatter_sd(self) -> float | None:
        """The widest scatter a finding has shown, or None."""
        shown = [piece.scatter_sd for piece in self.pieces if piece.scatter_sd is not None]
        return max(shown, default=None)


def in_time_order(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Findings by their time; those without one first, in the order of the file."""
    return tuple(sorted(findings, key=lambda finding: finding.at_time or datetime.min))  # noqa: DTZ901 - only to sort


def evidence_of(
    case: Case, catalogue: Catalogue, *, drive: DriveVerdict | None = None, verdict: FillVerdict | None = None
) -> Evidence:
    """Everything the findings and a recorded drive say, in order of time.

    Args:
        case: The case with its findings.
        catalogue: The catalogue.
        drive: What a recorded drive says, or None.
        verdict: What the fill-ups say, or None; here only whether the owner's use changed.

    Raises:
        BadInput: If a finding names a check, reading or code that does not exist; the nearest is suggested.
    """
    pieces: list[Piece] = []
    missing: list[NotEnough] = []
    for number, finding in enumerate(in_time_order(case.findings), start=1):
        where = f"[[finding]] {number} ({finding.check})"
        check = catalogue.check_named(finding.check, where=f"[[finding]] {number}, check")
        piece = piece_of(finding, check, case=case, catalogue=catalogue, where=where)
        if piece is None and finding.value:
            missing.append(_unused(check))
        if piece is not None:
            pieces = [*_without_repeat(pieces, finding, case), _read_again(piece, pieces)]
    if drive is not None and drive.pattern:
        pieces.append(_drive_piece(drive, catalogue, looked_at={piece.check for piece in pieces}))
    if verdict is not None:
        pieces += _use_piece(verdict, catalogue)
    return Evidence(tuple(pieces), tuple(missing))


def _without_repeat(pieces: list[Piece], finding: Finding, case: Case) -> list[Piece]:
    """The pieces so far without what this finding measures again: the latest look at one place counts.

    A look after a correction is another look than one before it: the earlier one stays.
    """
    same = [f for f in case.findings if f.check == finding.check and f.after == finding.after]
    if len({f.place for f in same if f.result not in SILENT_RESULTS}) > 1:
        return pieces
    return [piece for piece in pieces if (piece.check, piece.after) != (finding.check, finding.after)]


def _read_again(piece: Piece, before: Sequence[Piece]) -> Piece:
    """The piece with less doubt where the gauge was read before and agrees: two readings are seldom wrong alike."""
    earlier = [each for each in before if (each.check, each.after) == (piece.check, piece.after) and each.measured]
    if piece.measured is None or not earlier or earlier[-1].measured is None:
        return piece
    now, then = piece.measured, earlier[-1].measured
    gauge = now.gauge
    if abs(now.value - then.value) > AGREES * math.hypot(gauge.gauge_sd, then.gauge.gauge_sd):
        return piece
    doubt = gauge.outlier_share * then.gauge.outlier_share
    return replace(piece, measured=replace(now, gauge=replace(gauge, outlier_share=max(doubt, LEAST_DOUBT))))


def _unused(check: Check) -> NotEnough:
    return NotEnough(
        name=f"{check.id}_value_not_used",
        missing=f"no rule reads the typed value of {check.name.lower()} by itself",
        would_take='result = "found" or "normal" beside it, or the limit from the service information',
    )


def piece_of(finding: Finding, check: Check, *, case: Case, catalogue: Catalogue, where: str) -> Piece | None:
    """The piece of evidence of one finding, or None where it moves no belief.

    Raises:
        BadInput: If a reading, code or correction does not exist, or a value is of a kind the check does not read.
    """
    after = tuple(catalogue.operation_named(name, where=f"{where}, after").id for name in finding.after)
    if finding.result in SILENT_RESULTS:
        return None
    named = _named(finding, check, catalogue, where)
    measured = _measured(finding, check, case)
    if measured is not None:
        beside = _beside(named, check, measured.gauge)
        older = measured.gauge.sees if finding.before_good_days else ()
        return Piece(check.id, seen=beside, measured=measured, older=older, after=after)
    tested = _tested(finding, check, case, where) if not named else None
    piece = _read(finding, check, named=named, tested=tested)
    if piece is None:
        return None
    raised = [reading for reading in check.readings if reading.id in piece.raised]
    widths = [reading.scatter_sd for reading in raised if reading.scatter_sd is not None]
    older = tuple(cause for reading in raised for cause, _ in reading.finds) if finding.before_good_days else ()
    return replace(piece, older=older, scatter_sd=max(widths, default=None), after=after)


def _beside(named: Sequence[str], check: Check, gauge: Gauge) -> tuple[str, ...]:
    """Readings named beside a measured value that tell of something else than the gauge does."""
    by_id = {reading.id: reading for reading in check.readings}
    return tuple(name for name in named if not any(cause in gauge.sees for cause, _ in by_id[name].finds))


def _named(finding: Finding, check: Check, catalogue: Catalogue, where: str) -> tuple[str, ...]:
    known = [reading.id for reading in check.readings]
    for name in finding.reading:
        if name not in known:
            expected = f"a reading of {check.id}"
            raise BadInput(f"{where}, reading", found=f"{name!r}{suggestion(name, known)}", expected=expected)
    if not finding.codes:
        return finding.reading
    if check.id != CODES_CHECK:
        raise BadInput(f"{where}, codes", found=f"codes under {check.id!r}", expected=f"codes under {CODES_CHECK!r}")
    return (*finding.reading, *readings_of(finding.codes, catalogue.codes, where=f"{where}, codes"))


def _read(finding: Finding, check: Check, *, named: Sequence[str], tested: Mapping[str, bool] | None) -> Piece | None:
    telling = [reading.id for reading in check.readings if not reading.neutral]
    if named or finding.codes or finding.reading:
        return Piece(check.id, seen=tuple(named), unseen=tuple(name for name in telling if name not in named))
    if tested:
        seen = tuple(name for name, over in tested.items() if over)
        return Piece(check.id, seen=seen, unseen=tuple(name for name, over in tested.items() if not over))
    if finding.result == "normal":
        return Piece(check.id, unseen=tuple(telling))
    if finding.result == "found":
        return Piece(check.id, any_of=check.found_means or tuple(telling))
    return None


def _measured(finding: Finding, check: Check, case: Case) -> Measured | None:
    gauge = check.gauge
    if gauge is None or not finding.value or finding.value[0].unit != BASE_UNITS[gauge.kind]:
        return None
    if gauge.limit_is_normal and finding.limit is not None and finding.limit.unit == finding.value[0].unit:
        gauge = replace(gauge, normal=finding.limit.number)
    value = reduced(finding, gauge.read, normal=gauge.normal, case=case)
    return None if value is None else Measured(gauge, value, check.looks_at)


def _tested(finding: Finding, check: Check, case: Case, where: str) -> Mapping[str, bool] | None:
    """Readings decided by comparing typed values with their limit."""
    if not finding.value:
        return None
    decided = {}
    for reading in check.readings:
        over = _over(finding, reading, case, where)
        if over is not None:
            decided[reading.id] = over
    if finding.result == "found" and not any(decided.values()):
        return None
    return decided or None


def _over(finding: Finding, reading: Reading, case: Case, where: str) -> bool | None:
    test = reading.value
    if test is None or finding.value[0].unit != BASE_UNITS[test.kind]:
        return None
    value = reduced(finding, test.read, normal=0.0, case=case)
    if value is None:
        return None
    limit = finding.limit
    if limit is not None and limit.unit != BASE_UNITS[test.kind]:
        raise BadInput(
            f"{where}, limit", found=limit.typed, expected=f"a limit of the kind of {finding.value[0].typed}"
        )
    if test.read == "over_trip":
        return value > (test.above or 0.0)
    if test.above is not None:
        return value > (limit.number if limit else test.above)
    return value < (limit.number if limit else test.below or 0.0)


def _use_piece(verdict: FillVerdict, catalogue: Catalogue) -> list[Piece]:
    """A log whose kilometers a day moved together with its fuel speaks for a change of use."""
    chance = verdict.step.use_changed + verdict.step.both
    if chance <= 0.5:
        return []
    odds = min(chance / max(1.0 - chance, 1e-9), MOST_USE_ODDS)
    causes = [cause for cause in USE_CAUSES if cause in catalogue.cause]
    because = dict.fromkeys(causes, "distance a day changed when the fuel did")
    return [Piece("fill_ups", odds=dict.fromkeys(causes, odds), because=because)]


def _drive_piece(drive: DriveVerdict, catalogue: Catalogue, *, looked_at: set[str]) -> Piece:
    """What the log says, less what a finding of the visit has already said: one physical fact counts once."""
    odds, because = {}, {}
    news = [fact for fact in drive.facts or drive.pattern if not looked_at.intersection(fact.checks)]
    for pattern in by_cause(news):
        if pattern.cause in catalogue.cause:
            odds[pattern.cause] = min(max(pattern.likelihood_ratio, 1.0 / MOST_ODDS), MOST_ODDS)
            because[pattern.cause] = pattern.because
    return Piece("drive_log", odds=odds, because=because)
