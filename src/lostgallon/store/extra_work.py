"""Extra work in a history: what the owner agreed to, and what was done before a look."""

from collections.abc import Iterable, Mapping
from typing import Any

from lostgallon.store.records import Entry
from lostgallon.store.written import local

CONSENT = "consent."
DONE = "done."
FINDING = "finding."


def agreed_of(stands: Mapping[str, Entry]) -> list[dict[str, Any]]:
    """The tables `[[agreed]]` of a case: every yes that stands, with the amount it was given to.

    A yes without an amount (no price could be named) is on record and agrees to no price.
    """
    return [
        {
            "operation": key.removeprefix(CONSENT),
            "by": entry.value["name"],
            "at": local(entry.at).replace(microsecond=0),
            "how": entry.value["how"],
            "amount": entry.value["amount"],
        }
        for key, entry in stands.items()
        if key.startswith(CONSENT) and entry.value.get("answer") == "yes" and entry.value.get("amount")
    ]


def done_before(entries: Iterable[Entry]) -> dict[str, tuple[str, ...]]:
    """The corrections that were done before each finding was made, by the key of the finding.

    Work that was taken back later was never done. A finding that comes back because a later one was taken back is as
    old as it was.
    """
    done: dict[str, Entry] = {}
    looks: dict[str, tuple[str, ...]] = {}
    for entry in entries:
        if entry.key.startswith(DONE):
            done[entry.key.removeprefix(DONE)] = entry
        elif entry.key.startswith(FINDING) and not entry.undo:
            looks[entry.key] = tuple(operation for operation, mark in done.items() if mark.value)
    return {key: tuple(operation for operation in found if done[operation].value) for key, found in looks.items()}
