"""The later fills of a visit as the question that the worker answers."""

import datetime as dt
from collections.abc import Callable
from pathlib import Path

from lostgallon.shop.proven import LaterFill, ProofQuestion
from lostgallon.shop.units import read_quantity
from lostgallon.web.sheet import Recorded, Sheet

LATER_FILLS = "proof.fills"
"""The key under which a file of later fills is kept."""


def question_of(sheet: Sheet, file_path: Callable[[str], Path]) -> ProofQuestion | None:
    """The question, or None while there is no account or no fill."""
    kept = sheet.value(LATER_FILLS)
    fills = tuple(_fill(found) for _, found in sheet.group("tank"))
    if sheet.account is None or sheet.case is None or not (fills or kept):
        return None
    return ProofQuestion(
        case=sheet.case,
        promise=sheet.account.proof,
        work_done=sheet.case.visit.date,
        fills=fills,
        log=file_path(kept["sha256"]) if kept else None,
    )


def _fill(found: Recorded) -> LaterFill:
    told = found.value
    return LaterFill(
        filled_on=dt.date.fromisoformat(told["date"]),
        odometer_km=read_quantity(told["odometer"], "distance").number,
        volume_l=read_quantity(told["volume"], "volume").number,
        to_first_click=bool(told.get("to_first_click", True)),
    )
