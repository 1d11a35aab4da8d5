"""What the page of learned numbers shows: by part, the expert's number and the shop's, those that moved most first."""

from dataclasses import dataclass

from lostgallon.shop.learned import LearnedNumber
from lostgallon.shop.spread import Spread
from lostgallon.web.accounts import OWN_NUMBERS
from lostgallon.web.desk import Desk
from lostgallon.web.say import Say

LISTED = 12
PARTS = ("causes", "operations", "checks")


@dataclass(frozen=True)
class NumberRow:
    """One number in words."""

    what: str
    expert: str
    here: str
    visits: str


@dataclass(frozen=True)
class LearnedPage:
    """The page: where accounts take their numbers from now, and the rows by part."""

    says: str
    visits: int
    in_use: bool
    parts: tuple[tuple[str, tuple[NumberRow, ...]], ...]


def learned_page(desk: Desk, say: Say) -> LearnedPage:
    """What the shop's sealed visits say by now."""
    from lostgallon.job.learned import learned_in  # noqa: PLC0415 - the pages must not wait for NumPy

    place = desk.store.place
    found = learned_in(desk.store, place / "calibrations")
    parts = tuple((part, _rows([each for each in found.numbers if each.part == part], say)) for part in PARTS)
    return LearnedPage(
        says=say.words.told(found.says),
        visits=round(found.visits),
        in_use=(place / OWN_NUMBERS).is_file(),
        parts=tuple((part, rows) for part, rows in parts if rows),
    )


def _rows(numbers: list[LearnedNumber], say: Say) -> tuple[NumberRow, ...]:
    moved = sorted(numbers, key=lambda number: -abs(number.learned.mean - number.expert))
    return tuple(
        NumberRow(
            what=say.words.told(number.what),
            expert=say("learned.expert", share=_percent(number.expert)),
            here=_here(number.learned, say),
            visits=say("learned.from_visits", count=round(number.visits))
            if number.visits >= 0.5
            else say("learned.from_part"),
        )
        for number in moved[:LISTED]
    )


def _here(share: Spread, say: Say) -> str:
    low, middle, high = (_percent(each) for each in (share.p05, share.mean, share.p95))
    return say("learned.here", share=middle, low=low, high=high)


def _percent(share: float) -> str:
    return f"{100 * share:.0f}".replace("-", "\N{MINUS SIGN}")
