"""How times and values are written down, and the hashes that tie an entry to the ones before it."""

import datetime as dt
import hashlib
import json
from typing import Any

from lostgallon.shop.trouble import BadInput, OutOfRange

LONGEST_VALUE = 200_000
"""Characters of JSON in one entry: a page of free text is 3000; photos and logs are files."""


def as_text(moment: dt.datetime) -> str:
    """An aware time in UTC, to the microsecond; as text it sorts as it does as a time."""
    return moment.astimezone(dt.UTC).isoformat(timespec="microseconds")


def as_moment(text: str) -> dt.datetime:
    """The time that `as_text` wrote."""
    return dt.datetime.fromisoformat(text)


def local(moment: dt.datetime) -> dt.datetime:
    """A moment as the clock on the wall shows it, without a zone."""
    return moment.astimezone().replace(tzinfo=None)


def as_value_text(where: str, value: Any) -> str:
    """A value as JSON text; objects keep their order and texts their characters.

    Raises:
        BadInput: If JSON has no word for it, or it holds a character that a database can't keep.
        OutOfRange: If it is longer than LONGEST_VALUE characters.
    """
    try:
        text = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    except (TypeError, ValueError, RecursionError):
        raise BadInput(
            where, found=f"a value of the kind {type(value).__name__}", expected="text, a number, true, false or a list"
        ) from None
    check_text(where, text)
    if "\\u0000" in text:
        raise BadInput(where, found="a zero character", expected="text that can be read")
    if len(text) > LONGEST_VALUE:
        raise OutOfRange(where, found=f"{len(text)} characters", expected=f"at most {LONGEST_VALUE}; keep it as a file")
    return text


def check_text(where: str, text: str) -> str:
    """The text itself, if every database can keep it.

    Raises:
        BadInput: If it holds a zero character or half of a character pair.
    """
    if "\0" in text or any("\ud800" <= character <= "\udfff" for character in text):
        raise BadInput(where, found="a character that can't be kept", expected="text that can be read")
    return text


def hash_of(*parts: object) -> str:
    """SHA-256 of the parts as one JSON list, as 64 hexadecimal digits."""
    return hashlib.sha256(json.dumps(parts, ensure_ascii=True, separators=(",", ":")).encode()).hexdigest()
