"""Sentences in English, and the gettext catalog of a language that says them in another.

English stands in the package's `data/sentences/`. A sentence of a table is known to the catalog by its words and, as
its context, by `table:key`; what a record says and a caution only by their words. docs/decisions/017 says why.
"""

import tomllib
from collections.abc import Iterator
from functools import cache
from gettext import GNUTranslations, NullTranslations
from importlib import resources

DOMAIN = "lostgallon"
RECORD, CAUTION = "record", "caution"
"""Contexts of what is found by its English words alone."""
UNREVIEWED = "caution, not reviewed"
"""Context, in a compiled catalog, of a caution whose translation no technician of that language has read."""

Sentence = str | tuple[str, str]
"""One form, or two: for one and for any other count."""


@cache
def catalog(language: str) -> NullTranslations:
    """The catalog of a language as gettext reads it; one that changes nothing for English."""
    if language == "en":
        return NullTranslations()
    compiled = resources.files("lostgallon.data").joinpath(f"locale/{language}/LC_MESSAGES/{DOMAIN}.mo")
    with compiled.open("rb") as stream:
        return GNUTranslations(stream)


@cache
def table(name: str) -> dict[str, Sentence]:
    """The English sentences of a table by key: `letter.title`; lists count on, `sheet.release_list.0`."""
    return dict(_flat(tomllib.loads(_file(f"{name}.toml"))))


@cache
def lines(kind: str) -> tuple[str, ...]:
    """English sentences that are found by their words: of records, or cautions."""
    folder = resources.files("lostgallon.data").joinpath("sentences")
    files = sorted(file.name for file in folder.iterdir() if file.name.startswith(kind))
    return tuple(line for name in files for line in _file(name).splitlines() if line and not line.startswith("#"))


def context(name: str, key: str) -> str:
    """How the catalog knows a sentence of a table."""
    return f"{name}:{key}"


def _file(name: str) -> str:
    return resources.files("lostgallon.data").joinpath(f"sentences/{name}").read_text("utf-8")


def _flat(rows: dict[str, object], prefix: str = "") -> Iterator[tuple[str, Sentence]]:
    for key, value in rows.items():
        if isinstance(value, dict) and value.keys() == {"one", "other"}:
            yield prefix + key, (str(value["one"]), str(value["other"]))
        elif isinstance(value, dict):
            yield from _flat(value, f"{prefix}{key}.")
        elif isinstance(value, list):
            yield from ((f"{prefix}{key}.{place}", str(item)) for place, item in enumerate(value))
        else:
            yield prefix + key, str(value)
