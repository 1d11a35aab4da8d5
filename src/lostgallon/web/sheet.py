"""One visit as the pages read it: what was entered, the case that comes of it, and the account so far."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

from lostgallon.shop.account import Account
from lostgallon.shop.hand_back import Letterhead
from lostgallon.shop.proven import Proven
from lostgallon.shop.visit import Case

Stage = Literal["in the bay", "handed back", "proof", "closed"]


@dataclass(frozen=True)
class Recorded:
    """One entry that stands: its id in the history, its key, its value as typed, who entered it and when (local)."""

    id: str
    key: str
    value: Any
    who: str
    at: dt.datetime


@dataclass(frozen=True)
class Line:
    """One line of the history, whether it stands or not."""

    id: str
    number: int
    key: str
    value: Any
    who: str
    at: dt.datetime
    undo: bool
    stands: bool


@dataclass(frozen=True)
class Sheet:
    """A visit.

    Attributes:
        id: The visit.
        vehicle: The vehicle in words, as the shop wrote it.
        plate: Its plate or stock number; may be empty.
        owner: The owner's name; may be empty.
        stage: How far the visit is.
        standing: Entries that stand, by key, in the order they were first entered.
        case: What the program is told, or None while something it needs is missing.
        lacking: What a case still lacks, as the person knows the fields.
        account: The newest account there is, or None before the first.
        fresh: Whether that account includes every entry.
        trouble: Why there is no account, in a sentence; empty where there is none.
        now: Local time.
        history: Lines of the history, oldest first.
        proven: What the fills after the visit say, or None before the first.
        proof_fresh: Whether that includes every fill.
        owner_language: The language of the owner's papers; empty for the case's own.
        letterhead: The shop as it signs, or None.
        proof_trouble: Why nothing can be said of them, in a sentence; empty where there is nothing wrong.
    """

    id: str
    vehicle: str
    plate: str
    owner: str
    stage: Stage
    standing: Mapping[str, Recorded]
    case: Case | None
    lacking: tuple[str, ...]
    account: Account | None
    fresh: bool
    trouble: str
    now: dt.datetime
    history: tuple[Line, ...] = ()
    proven: Proven | None = None
    proof_fresh: bool = True
    proof_trouble: str = ""
    owner_language: str = ""
    letterhead: Letterhead | None = None

    def value(self, key: str, otherwise: Any = None) -> Any:
        """The value that stands under a key."""
        found = self.standing.get(key)
        return otherwise if found is None else found.value

    def group(self, name: str) -> list[tuple[str, Recorded]]:
        """Entries `name.X` with their X, in the order they were entered."""
        rows = [(key[len(name) + 1 :], found) for key, found in self.standing.items() if key.startswith(f"{name}.")]
        return sorted(rows, key=lambda row: row[1].at)

    @property
    def words(self) -> str:
        """The owner's words."""
        return str(self.value("owner.words", ""))

    @property
    def sealed(self) -> bool:
        """Whether the vehicle was handed back."""
        return self.stage != "in the bay"

    @cached_property
    def last(self) -> Recorded | None:
        """The newest entry that stands."""
        return max(self.standing.values(), key=lambda found: found.at, default=None)

    @cached_property
    def findings(self) -> dict[str, Recorded]:
        """The newest finding of each check, by check."""
        newest: dict[str, Recorded] = {}
        for _, found in self.group("finding"):
            newest[str(found.value.get("check", ""))] = found
        return newest

    @cached_property
    def looks(self) -> dict[str, list[Recorded]]:
        """Every finding that stands of each check, by check, the oldest first: before work was done, and after."""
        found: dict[str, list[Recorded]] = {}
        for _, look in sorted(self.group("finding"), key=lambda row: int(row[0])):
            found.setdefault(str(look.value.get("check", "")), []).append(look)
        return found

    def work_since(self, found: Recorded) -> bool:
        """Whether a correction was marked done after an entry."""
        return any(mark.value and mark.at > found.at for _, mark in self.group("done"))

    @cached_property
    def open_states(self) -> frozenset[str]:
        """Ids of what is open now: what the booked job opens, and every change since."""
        opened = set(self.value("booked.apart", ()))
        for _, change in self.group("state"):
            opened = (opened | set(change.value.get("opened", ()))) - set(change.value.get("closed", ()))
        return frozenset(opened)
