"""Extra work in a history: what the owner agreed to, what was done, and what of it before a look."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from lostgallon.shop.trouble import BadInput
from lostgallon.shop.units import read_money
from lostgallon.store.records import Entry
from lostgallon.store.written import local

CONSENT = "consent."
DONE = "done."
FINDING = "finding."


def agreed_of(stands: Mapping[str, Entry]) -> list[dict[str, Any]]:
    """The tables `[[agreed]]` of a case: every yes that stands, with the amount it was given to.

    A yes without an amount (no price could be named), or in a currency that the shop no longer reckons in, is on record
    and agrees to no price.
    """
    price = stands.get("use.fuel_price")
    now = _currency(price.value, per="volume") if price else None
    return [
        {
            "operation": key.removeprefix(CONSENT),
            "by": entry.value["name"],
            "at": local(entry.at).replace(microsecond=0),
            "how": entry.value["how"],
            "amount": entry.value["amount"],
        }
        for key, entry in stands.items()
        if key.startswith(CONSENT)
        and entry.value.get("answer") == "yes"
        and entry.value.get("amount")
        and (now is None or _currency(entry.value["amount"]) in (None, now))
    ]


def _currency(typed: Any, per: str | None = None) -> str | None:
    """The currency of an amount; None where it can't be read, which is said where the amount stands."""
    try:
        return read_money(typed, per=per).currency
    except BadInput:
        return None


def done_of(stands: Mapping[str, Entry]) -> list[dict[str, Any]]:
    """The tables `[[work_done]]` of a case: every correction that stands as done."""
    return [
        {"operation": key.removeprefix(DONE), "at": local(entry.at).replace(microsecond=0)}
        for key, entry in stands.items()
        if key.startswith(DONE) and entry.value
    ]


@dataclass(frozen=True)
class DoneInTurn:
    """The corrections done by the end of a history, and those done before each finding, by the key of the finding."""

    by_now: tuple[str, ...]
    before: Mapping[str, tuple[str, ...]]


def work_done(entries: Iterable[Entry]) -> DoneInTurn:
    """What was done before what.

    Work that is taken back was never done. A finding that comes back because a later one was taken back is as old as
    it was.
    """
    done: dict[str, bool] = {}
    looks: dict[str, tuple[str, ...]] = {}
    for entry in entries:
        if entry.key.startswith(FINDING) and not entry.undo:
            looks[entry.key] = tuple(done)
        if not entry.key.startswith(DONE):
            continue
        operation = entry.key.removeprefix(DONE)
        if entry.value:
            done[operation] = True
        elif done.pop(operation, False):
            looks = {key: tuple(name for name in before if name != operation) for key, before in looks.items()}
    return DoneInTurn(tuple(done), looks)
