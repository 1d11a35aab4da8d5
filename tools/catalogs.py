"""Gettext catalogs of the package, by Babel: one file per language for a translator, and the compiled one that is read.

python -m tools.catalogs update es     bring the catalog up to the English sentences; a new language starts empty
python -m tools.catalogs compile es    write what the program reads; refused where a sentence lost or got a place

A sentence whose English changed keeps its old translation marked `fuzzy` and is said in English until somebody has
read it. On a caution `fuzzy` means: no technician of that language has read it; it is said, and marked where it stands.
"""

import argparse
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog, Message
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from lostgallon.paper.catalogs import CAUTION, DOMAIN, RECORD, UNREVIEWED, Sentence, context, lines, table

LOCALE = Path("src/lostgallon/data/locale")
TABLES = ("pages", "paper")
_PLACE = re.compile(r"\{(\w+)\}")


@dataclass(frozen=True)
class Said:
    """One English sentence and how the catalog knows it."""

    context: str
    english: Sentence


def sentences() -> Iterator[Said]:
    """Every English sentence of pages, paper, records and cautions."""
    for name in TABLES:
        yield from (Said(context(name, key), english) for key, english in table(name).items() if english)
    yield from (Said(RECORD, line) for line in lines(RECORD))
    yield from (Said(CAUTION, line) for line in lines(CAUTION))


def updated(old: Catalog) -> Catalog:
    """The catalog with every sentence of today, and what was translated of it.

    Args:
        old: As it was; what is no longer said falls out.
    """
    new = Catalog(
        locale=old.locale,
        project="Lost Gallon",
        version="0.1",
        copyright_holder="",
        msgid_bugs_address="none",
        last_translator=old.last_translator,
        language_team=old.language_team,
        header_comment=f"# Lost Gallon, {old.locale}. Sentences in English stand in data/sentences/.",
        creation_date=old.creation_date,
        revision_date=old.revision_date,
        fuzzy=False,
    )
    by_context = {message.context: message for message in old if message.context not in {RECORD, CAUTION, None}}
    for said in sentences():
        # The same words in the same context, or else, in a table, what stood at this key.
        kept = old.get(said.english, said.context) or by_context.get(said.context)
        _add(new, said, kept)
    return new


def _add(new: Catalog, said: Said, kept: Message | None) -> None:
    empty: Any = "" if isinstance(said.english, str) else ("", "")
    suits = kept is not None and isinstance(kept.string, str) == isinstance(said.english, str)
    if kept is None or not suits or not translated(kept):
        new.add(said.english, empty, context=said.context, flags=["fuzzy"] if said.context == CAUTION else [])
        return
    changed = kept.id != said.english
    flags = ["fuzzy"] if kept.fuzzy or changed else []
    new.add(said.english, kept.string, context=said.context, flags=flags, previous_id=kept.id if changed else ())


def compiled(catalog: Catalog) -> Catalog:
    """What the program reads: no fuzzy sentence, and cautions that nobody has read in a context of their own.

    Raises:
        ValueError: If a sentence lost a place that its English one has, or got one more.
    """
    ready = Catalog(
        locale=catalog.locale, creation_date=catalog.creation_date, revision_date=catalog.revision_date, fuzzy=False
    )
    for message in catalog:
        if not message.id or not translated(message) or (message.fuzzy and message.context != CAUTION):
            continue
        _same_places(message)
        ready.add(message.id, message.string, context=UNREVIEWED if message.fuzzy else message.context)
    return ready


def translated(message: Message) -> bool:
    """Whether every form of a sentence has its translation."""
    return all(_forms(message.string))


def _same_places(message: Message) -> None:
    english, said = _forms(message.id), _forms(message.string)
    expected = set(_PLACE.findall(english[-1]))
    if any(set(_PLACE.findall(form)) - expected for form in said) or set(_PLACE.findall(said[-1])) != expected:
        raise ValueError(f"{message.context}: found {message.string!r}; expected the places of {message.id!r}")


def _forms(text: Any) -> tuple[str, ...]:
    return (text,) if isinstance(text, str) else tuple(text)


def path_of(language: str, ending: str) -> Path:
    """Where the catalog of a language stands."""
    return LOCALE / language / "LC_MESSAGES" / f"{DOMAIN}.{ending}"


def read(language: str) -> Catalog:
    """The catalog of a language as a translator left it; an empty one where there is none yet."""
    if not path_of(language, "po").exists():
        return Catalog(locale=language)
    with path_of(language, "po").open("rb") as stream:
        return read_po(stream, locale=language)


def write(catalog: Catalog, language: str) -> None:
    """Write the catalog for translators."""
    for message in catalog:
        message.flags.discard("python-format")  # a share in per cent is no place of Python's
    path_of(language, "po").parent.mkdir(parents=True, exist_ok=True)
    with path_of(language, "po").open("wb") as stream:
        write_po(stream, catalog, width=100)


def main() -> None:
    """Update or compile one catalog."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=("update", "compile"))
    parser.add_argument("language")
    asked = parser.parse_args()
    catalog = read(asked.language)
    if asked.what == "update":
        write(updated(catalog), asked.language)
        return
    with path_of(asked.language, "mo").open("wb") as stream:
        write_mo(stream, compiled(catalog))


if __name__ == "__main__":
    main()
