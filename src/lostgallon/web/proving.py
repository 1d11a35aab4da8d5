"""The later fills of a visit as the question that the worker answers."""

from collections.abc import Callable
from pathlib import Path

from lostgallon.shop.proven import LATER_FILLS, ProofQuestion, later_fill
from lostgallon.web.sheet import Sheet


def question_of(sheet: Sheet, file_path: Callable[[str], Path]) -> ProofQuestion | None:
    """The question, or None while there is no account or no fill."""
    kept = sheet.value(LATER_FILLS)
    fills = tuple(later_fill(found.value) for _, found in sheet.group("tank"))
    if sheet.account is None or sheet.case is None or not (fills or kept):
        return None
    return ProofQuestion(
        case=sheet.case,
        promise=sheet.account.proof,
        work_done=sheet.case.visit.date,
        fills=fills,
        log=file_path(kept["sha256"]) if kept else None,
    )
