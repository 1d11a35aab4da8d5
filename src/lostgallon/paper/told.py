"""What a record says in English, said in the reader's language.

Records keep every sentence in English, so that a file kept by one person can be read by another. A sentence is found
again by its English words, with places for what changes; what stands in a place is looked up in turn. Where a table
lacks a sentence the English one stands: a reason that is half guessed is worse than one in the other language.
"""

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from importlib import resources

_PLACE = re.compile(r"\{(\w+)\}")
_SEAMS = (". ", "; ", ": ", ", ")
"""Where a text may be made of several sentences or names, the strongest seam first."""


@dataclass(frozen=True)
class _Form:
    """One sentence of a table: how it is recognized, and what is said instead."""

    known_by: re.Pattern[str]
    said: str
    literal: int


@dataclass(frozen=True)
class Told:
    """The sentences of one language by their English words.

    Attributes:
        table: English to the other language; places in braces stand for what changes.
    """

    table: Mapping[str, str]

    def __hash__(self) -> int:
        return id(self)

    @cached_property
    def _exact(self) -> dict[str, str]:
        return {_bare(english): said for english, said in self.table.items() if not _PLACE.search(english)}

    @cached_property
    def _forms(self) -> tuple[_Form, ...]:
        made = (_form(english, said) for english, said in self.table.items() if _PLACE.search(english))
        return tuple(sorted(made, key=lambda form: -form.literal))

    def __call__(self, text: str) -> str:
        """The text in this language; parts that no table holds stay as they are."""
        return _told(self, text) if self.table else text

    def find(self, text: str) -> str | None:
        """The text in this language, or None where no sentence of the table is in it."""
        bare = _bare(text)
        if not bare:
            return None
        said = self._exact.get(bare)
        if said is None:
            said = self._formed(bare)
        if said is None:
            return self._in_parts(text)
        return _as_written(said, text)

    def _formed(self, bare: str) -> str | None:
        for form in self._forms:
            found = form.known_by.fullmatch(bare)
            if found:
                return form.said.format_map({place: self(part) for place, part in found.groupdict().items()})
        return None

    def _in_parts(self, text: str) -> str | None:
        for seam in _SEAMS:
            parts = text.split(seam)
            if len(parts) < 2:
                continue
            said = [self.find(part) for part in parts]
            if any(part is not None for part in said):
                return seam.join(new if new is not None else old for new, old in zip(said, parts, strict=True))
        return None


def _bare(text: str) -> str:
    """The text without the capital and the point that its place in a line gave it."""
    text = text.strip().removesuffix(".")
    return text[:1].lower() + text[1:]


def _as_written(said: str, text: str) -> str:
    text = text.strip()
    said = said.removesuffix(".") + ("." if text.endswith(".") else "")
    return said[:1].upper() + said[1:] if text[:1].isupper() else said


def _form(english: str, said: str) -> _Form:
    pieces = _PLACE.split(_bare(english))
    pattern, seen = "", set[str]()
    for place, piece in enumerate(pieces):
        if place % 2 == 0:
            pattern += re.escape(piece)
        else:
            pattern += f"(?P={piece})" if piece in seen else f"(?P<{piece}>.+?)"
            seen.add(piece)
    return _Form(re.compile(pattern, re.DOTALL), said, literal=sum(len(piece) for piece in pieces[::2]))


@lru_cache(maxsize=4096)
def _told(told: Told, text: str) -> str:
    said = told.find(text)
    return text if said is None else said


@cache
def told_in(language: str) -> Told:
    """The sentences of a language; none are needed for English."""
    return Told({} if language == "en" else dict(_rows(language)))


def _rows(language: str) -> Iterator[tuple[str, str]]:
    folder = resources.files("lostgallon.data").joinpath(f"told_{language}")
    for file in sorted(folder.iterdir(), key=lambda file: file.name):
        yield from tomllib.loads(file.read_text("utf-8")).items()
