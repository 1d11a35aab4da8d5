"""The proof of a visit: the owner's later fills, and whether the fuel came back."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from lostgallon.shop.account import Proof
from lostgallon.shop.filled import CameBack
from lostgallon.shop.units import read_quantity
from lostgallon.shop.visit import Case

By = Literal["log", "promise"]
LATER_FILLS = "proof.fills"
"""The key under which a visit keeps a file of later fills."""


@dataclass(frozen=True)
class LaterFill:
    """One fill after the visit, as the owner tells it."""

    filled_on: dt.date
    odometer_km: float
    volume_l: float
    to_first_click: bool = True


def later_fill(told: Mapping[str, Any]) -> LaterFill:
    """A fill as it was typed and kept: date, odometer and volume with their units."""
    return LaterFill(
        filled_on=dt.date.fromisoformat(told["date"]),
        odometer_km=read_quantity(told["odometer"], "distance").number,
        volume_l=read_quantity(told["volume"], "volume").number,
        to_first_click=bool(told.get("to_first_click", True)),
    )


@dataclass(frozen=True)
class ProofQuestion:
    """What is asked: the case as handed back, what was promised, the day of the work, and the fills since.

    `fills` were typed one by one; `log` is a file of them, which may hold the fills before the work too.
    """

    case: Case
    promise: Proof
    work_done: dt.date
    fills: tuple[LaterFill, ...]
    log: Path | None = None


@dataclass(frozen=True)
class LaterTank:
    """One whole tank after the work and what it comes to. One that does not count says why."""

    filled_on: dt.date
    l_per_100km: float
    counts: bool


@dataclass(frozen=True)
class Proven:
    """What the fills say.

    Attributes:
        came_back: The verdict; None where nothing was corrected or promised.
        by: Whether the tanks before the work decide, or the figures promised at the hand-back.
        tanks: Whole tanks since the work, oldest first.
        pooled_l_per_100km: All fuel over all distance of the tanks that count; None without one.
        left_out: Fills that could not be used, each with its reason.
        mended: Fills that were used after a stated rule mended them.
    """

    came_back: CameBack | None
    by: By
    tanks: tuple[LaterTank, ...]
    pooled_l_per_100km: float | None
    left_out: tuple[str, ...]
    mended: tuple[str, ...]
