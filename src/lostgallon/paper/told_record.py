"""A whole record in the reader's language and units: every sentence and name in it, no key and no figure."""

from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

from lostgallon.paper.words import Words

Record = TypeVar("Record")

FOR_PEOPLE = frozenset(
    {
        "because",
        "fill_in",
        "follow_up",
        "gauge",
        "limit_source",
        "missing",
        "name",
        "next_half_hour_adds",
        "outside_by",
        "place",
        "readings",
        "rule",
        "says",
        "sentence",
        "stands",
        "steps",
        "trigger",
        "what",
        "why",
        "would_change_it",
        "would_take",
    }
)
"""Fields that hold words for people. Cautions are not here: they are found by their exact English (`Words.caution`)."""


def told_record(record: Record, words: Words) -> Record:
    """The same record with its words told in the reader's language, and figures in sentences in the reader's units.

    Args:
        record: A frozen dataclass of shop/, such as an account or a drive's verdict.
        words: The language and units.
    """
    if words.language == "en" and words.measure.name == "us":
        return record
    told: Record = _record(record, words)
    return told


def _record(record: Any, words: Words) -> Any:
    changed = {
        field.name: _value(getattr(record, field.name), words, for_people=field.name in FOR_PEOPLE)
        for field in fields(record)
    }
    return replace(record, **changed)


def _value(value: Any, words: Words, *, for_people: bool) -> Any:
    if isinstance(value, str):
        return words.told(value) if for_people else value
    if isinstance(value, tuple) and value and not isinstance(value[0], float | int):
        return tuple(_value(part, words, for_people=for_people) for part in value)
    if is_dataclass(value) and not isinstance(value, type):
        return _record(value, words)
    return value
