"""The sentences of the pages, one table file per language; what paper and terminal also say comes from their table."""

import tomllib
from dataclasses import replace
from functools import cache
from importlib import resources

from lostgallon.paper.measure import US, Measure
from lostgallon.paper.words import Language, Words, words_in

LANGUAGES: tuple[Language, ...] = ("en", "es")
"""Languages the pages are complete in."""


@cache
def page_words(language: Language, measure: Measure = US) -> Words:
    """The table of a language, for a reader of these units; a key of the pages wins over the same key of paper."""
    text = resources.files("lostgallon.data").joinpath(f"pages_{language}.toml").read_text("utf-8")
    shared = words_in(language, measure)
    return replace(shared, table={**shared.table, **_flat(tomllib.loads(text))})


def _flat(table: dict[str, object], prefix: str = "") -> dict[str, str]:
    flat: dict[str, str] = {}
    for key, value in table.items():
        if isinstance(value, dict):
            flat |= _flat(value, f"{prefix}{key}.")
        else:
            flat[prefix + key] = str(value)
    return flat
