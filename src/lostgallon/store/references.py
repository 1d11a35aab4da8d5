"""Which kept files a value names, and which keys of a visit hold no personal data."""

from collections.abc import Iterator
from typing import Any

from lostgallon.shop.case_keys import KEYS

LESSON = frozenset(KEYS) - {"evidence", "shop"} | {"tank", "correction", "fill_in", "done", "left", "stage", "wait"}
"""Sections that stay when an owner's data are erased: the vehicle as a kind, its use, what was found and done.

Everything else may hold a name, a voice or a place and goes: the owner's words, consent, photos, logs, notes.
"""


def is_personal(key: str) -> bool:
    """Whether the value under a key is erased at the owner's wish."""
    return key.partition(".")[0] not in LESSON


def files_named(value: Any) -> Iterator[str]:
    """The SHA-256 of every kept file that a value names: each text under a key "sha256" in it."""
    if isinstance(value, dict):
        for key, item in value.items():
            if key == "sha256" and isinstance(item, str):
                yield item
            else:
                yield from files_named(item)
    elif isinstance(value, list):
        for item in value:
            yield from files_named(item)
