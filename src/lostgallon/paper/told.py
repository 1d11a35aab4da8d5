"""What a record says in English, said in the reader's language.

Records keep every sentence in English, so that a file kept by one person can be read by another. A sentence is found
again by its English words, with places for what changes; what stands in a place is looked up in turn. Where a table
lacks a sentence the English one stands: a reason that is half guessed is worse than one in the other language.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache

from lostgallon.paper.catalogs import RECORD, catalog, lines

_PLACE = re.compile(r"\{(\w+)\}")
_LOOSE = ("and", "or", "to", "with")
_SEAM = re.compile(r"[.;:,] ")
"""Where a text may be made of several sentences or names."""
_MOST_SEAMS = 40
"""What has more was typed by a person and is no sentence of ours."""

_FIGURES = re.compile(
    r"[\d\s.,:;()/+−–%°-]*(?:(?:psi|kPa|bar|deg[FC]?|[FCKNLVA]|mm|mi|km|in|rpm|mA|gal|mpg|lbf|g/s)\b[\d\s.,:;()/+−–%°-]*)*"
)
"""Figures with their units, which every language writes alike."""


@dataclass(frozen=True)
class _Form:
    """One sentence of a table: how it is recognized, and what is said instead.

    A loose form has no word of its own but those of _LOOSE; then all its places must be known.
    """

    known_by: re.Pattern[str]
    begins: str
    ends: str
    said: str
    literal: int
    loose: bool


@dataclass(frozen=True, eq=False)
class Told:
    """The sentences of one language by their English words.

    Attributes:
        table: English to the other language; places in braces stand for what changes.
    """

    table: Mapping[str, str]

    @cached_property
    def _exact(self) -> dict[str, str]:
        return {_bare(english): said for english, said in self.table.items() if not _PLACE.search(english)}

    @cached_property
    def _forms(self) -> tuple[_Form, ...]:
        made = (_form(english, said) for english, said in self.table.items() if _PLACE.search(english))
        return tuple(sorted(made, key=lambda form: -form.literal))

    def __call__(self, text: str) -> str:
        """The text in this language; parts that no table holds stay as they are."""
        return _told(self, text)[0] if self.table else text

    def knows(self, text: str) -> bool:
        """Whether the whole text can be told."""
        return _told(self, text)[1]

    def find(self, text: str) -> tuple[str, bool]:
        """The text in this language, and whether every word of it was found."""
        bare = _bare(text)
        if _FIGURES.fullmatch(bare):
            return text, True
        exact = self._exact.get(bare)
        if exact is not None:
            return _as_written(exact, text), True
        return self._formed(text, bare) or self._in_parts(text)

    def _formed(self, text: str, bare: str) -> tuple[str, bool] | None:
        """The text by a form whose places are known, or else in parts, or else by the first form that is like it."""
        likely = [
            (form, found)
            for form in self._forms
            if bare.startswith(form.begins) and bare.endswith(form.ends) and (found := form.known_by.fullmatch(bare))
        ]
        partly = None
        for form, found in likely:
            places = {place: _told(self, part) for place, part in found.groupdict().items()}
            said = form.said.format_map({place: said for place, (said, _) in places.items()})
            if all(known for _, known in places.values()):
                return _as_written(said, text), True
            if partly is None and not form.loose:
                partly = _as_written(said, text), False
        if partly is None:
            return None
        parts = self._in_parts(text)
        return parts if parts[1] else partly

    def _in_parts(self, text: str) -> tuple[str, bool]:
        """The longest piece at the start that is known, then the rest; a piece that is not known stays as it is."""
        seams = list(_SEAM.finditer(text))
        if len(seams) > _MOST_SEAMS:
            return text, False
        partly = None
        for seam in reversed(seams):
            said, whole = _told(self, text[: seam.start()])
            if not whole and (partly or seam is not seams[0]):
                continue
            rest, rest_whole = _told(self, text[seam.end() :])
            if whole and rest_whole:
                return said + seam.group() + rest, True
            partly = partly or said + seam.group() + rest
        return partly or text, False


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
            pattern += f"(?P={piece})" if piece in seen else f"(?P<{piece}>.+)"
            seen.add(piece)
    words = "".join(pieces[::2])
    return _Form(
        known_by=re.compile(pattern, re.DOTALL),
        begins=pieces[0],
        ends=pieces[-1],
        said=said,
        literal=len(words),
        loose=words.strip() in _LOOSE,
    )


@lru_cache(maxsize=16384)
def _told(told: Told, text: str) -> tuple[str, bool]:
    return told.find(text)


@cache
def told_in(language: str) -> Told:
    """The sentences of a language; none are needed for English."""
    known = catalog(language)
    return Told({} if language == "en" else {english: known.pgettext(RECORD, english) for english in lines(RECORD)})
