"""Gettext catalogs for translators, from the tables of sentences and back into them.

python -m tools.catalogs write es OUT.po      every sentence with its English one and its key
python -m tools.catalogs read es IN.po        what was translated, into the tables; refused where a place is lost

The tables stay what the program reads (docs/decisions/011). The catalog is Babel's, so any translator's tool opens it:
the message is the English sentence, its context the table and the key. A fuzzy or empty message changes nothing.
"""

import argparse
import json
import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po, write_po

DATA = Path("src/lostgallon/data")
TABLES = ("pages", "words")
_PLACE = re.compile(r"\{(\w+)\}")
_HEAD, _ROW = re.compile(r"\[(?P<name>.+)\]\s*"), re.compile(r"(?P<key>[\w.\"'-]+) = (?P<value>\".*\")\s*")


def sentences(table: Path) -> Iterator[tuple[int, str, str]]:
    """Line, key and sentence of every row of a table that is one text."""
    head = ""
    for number, line in enumerate(table.read_text("utf-8").splitlines()):
        if found := _HEAD.fullmatch(line):
            head = f"{found['name']}.".replace('"', "")
        elif found := _ROW.fullmatch(line):
            yield number, head + found["key"].strip("\"'"), str(tomllib.loads(line)[found["key"].strip("\"'")])


def catalog_of(language: str, data: Path) -> Catalog:
    """Every sentence of a language with its English one."""
    catalog = Catalog(locale=language, project="Lost Gallon", copyright_holder="", fuzzy=False)
    for name in TABLES:
        told = {key: said for _, key, said in sentences(data / f"{name}_{language}.toml")}
        for _, key, english in sentences(data / f"{name}_en.toml"):
            catalog.add(english, told.get(key, ""), context=f"{name}:{key}")
    return catalog


def put_back(catalog: Catalog, language: str, data: Path) -> int:
    """Write what was translated into the tables of a language; returns how many sentences changed.

    Raises:
        ValueError: If a sentence lost a place that its English one has, or got one more.
    """
    changed = 0
    for name in TABLES:
        path = data / f"{name}_{language}.toml"
        lines = path.read_text("utf-8").splitlines()
        wanted = _translated(catalog, name)
        for number, key, said in sentences(path):
            if wanted.get(key, said) != said:
                lines[number] = f"{lines[number].partition(' = ')[0]} = {json.dumps(wanted[key], ensure_ascii=False)}"
                changed += 1
        path.write_text("\n".join(lines) + "\n", "utf-8")
    return changed


def _translated(catalog: Catalog, name: str) -> Mapping[str, str]:
    found = {}
    for message in catalog:
        table, _, key = str(message.context or "").partition(":")
        if table != name or message.fuzzy or not message.string:
            continue
        if sorted(_PLACE.findall(str(message.id))) != sorted(_PLACE.findall(str(message.string))):
            raise ValueError(f"{table}, {key}: found {message.string!r}; expected the places of {message.id!r}")
        found[key] = str(message.string)
    return found


def main() -> None:
    """Write or read one catalog."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("write", "read"))
    parser.add_argument("language")
    parser.add_argument("file", type=Path)
    asked = parser.parse_args()
    if asked.what == "write":
        with asked.file.open("wb") as stream:
            write_po(stream, catalog_of(asked.language, DATA), width=120)
        return
    with asked.file.open("rb") as stream:
        print(f"{put_back(read_po(stream, locale=asked.language), asked.language, DATA)} sentences changed")


if __name__ == "__main__":
    main()
