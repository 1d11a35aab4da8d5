"""The recorded limit or interval without which nothing is sold: which finding shows that a correction is needed.

"It was open anyway" is no reason to sell, and a probability alone is none either. What counts is a finding of a check
that confirms the correction by the catalogue:
- a value beyond a limit that was entered with its source, or clearly beyond the gauge's own (placard, sound value);
- a reading that reads as the catalogue describes for this cause (its description states the limit).
"""

import math
from collections.abc import Iterable

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.evidence import Measured, Piece
from lostgallon.causes.records import Check, Operation
from lostgallon.shop.visit import SILENT_RESULTS, Case, Finding

BEYOND_GAUGE = 1.0
"""How many standard deviations of its gauge a value must lie beyond sound before it counts as out of limits; chosen."""


MOST_PLACES = 2
"""A finding that names more places than this read all of them."""


def need_of(operation: Operation, cause: str, *, case: Case, pieces: Iterable[Piece], catalogue: Catalogue) -> str:
    """What shows that a correction is needed, in words; empty where nothing recorded does.

    Args:
        operation: The correction.
        cause: The cause it removes.
        case: For the findings as typed.
        pieces: The findings as evidence (causes/evidence.py).
        catalogue: The catalogue.
    """
    confirming = [p for p in pieces if p.check in operation.confirmed_by and operation.id not in p.after]
    # A figure against a limit says more than a look.
    confirming.sort(key=lambda piece: piece.measured is None)
    shown = (_shown(piece, catalogue.check[piece.check], cause, case) for piece in confirming)
    return next((words for words in shown if words), "")


def _shown(piece: Piece, check: Check, cause: str, case: Case) -> str:
    same = [finding for finding in case.findings if (finding.check, finding.after) == (check.id, piece.after)]
    finding = same[-1] if same else None
    if piece.measured is not None:
        return _told(check, finding, piece.measured.gauge.limit) if _beyond(piece.measured, finding) else ""
    raised = [reading for reading in check.readings if reading.id in piece.raised]
    finds = any(name == cause for reading in raised for name, _ in reading.finds)
    return _told(check, finding, "") if finds else ""


def _beyond(measured: Measured, finding: Finding | None) -> bool:
    """Whether a value is on the bad side of its limit; without one, clearly off what a sound vehicle reads."""
    worse = math.copysign(1.0, measured.gauge.factor)
    if finding is not None and finding.limit is not None:
        return max(worse * (value.number - finding.limit.number) for value in finding.value) > 0.0
    return worse * (measured.value - measured.gauge.normal) > BEYOND_GAUGE * measured.gauge.gauge_sd


def _told(check: Check, finding: Finding | None, usual: str) -> str:
    place = f" ({', '.join(finding.place)})" if finding and finding.place else ""
    if finding is None or not finding.value:
        return f"{check.name}: out of order{place}"
    read = f"{check.name}: {', '.join(value.typed for value in finding.value)}{place}"
    if finding.limit is None:
        return f"{read}; usual: {usual}" if usual else read
    source = f" ({finding.limit_source})" if finding.limit_source else ""
    return f"{read} against a limit of {finding.limit.typed}{source}"


def place_of(operation: Operation, case: Case) -> str:
    """Where on the vehicle a correction was found to be needed; empty where all places were read or none was named."""
    places = (
        finding.place
        for finding in reversed(case.findings)
        if finding.check in operation.confirmed_by
        and finding.result not in ("normal", *SILENT_RESULTS)
        and 0 < len(finding.place) <= MOST_PLACES
    )
    return ", ".join(next(places, ()))
