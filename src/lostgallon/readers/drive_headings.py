"""A heading taken apart: its words, its unit, and the channels it could name. Words only; the numbers judge later."""

import re
from dataclasses import dataclass
from functools import cache

from lostgallon.readers.drive_units import is_unit
from lostgallon.shop.channels import Channel, channels, table

_PLAIN_WORDS = {"value", "input", "rate", "sensor", "total", "average", "mean", "meters", "metres", "commanded"}
"""Words that decide nothing and must not be mended into one that does."""
_BRACKET = re.compile(r"\s*[(\[{]([^()\[\]{}]*)[)\]}]\s*$")
_TRAILING = re.compile(r"^(.*\S)[\s_,]+([^\s_,]+)$")
_WORD = re.compile(r"[^\W\d_]+|\d+")
_PIECE = re.compile(r"[^\W_]+")
_WORDS_TOO = {"gps", "1", "ratio", "lambda", "count", "counts", "second", "seconds", "sec", "percent", "volts", "volt"}
"""Units that are also words of a heading: at the end of one without brackets they stay words."""
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")


@dataclass(frozen=True)
class Heading:
    """One heading: as it stands, its pieces as written, its words as read, and the unit it states (may be empty).

    `mended` tells which words were read with one letter different, as (as written, as read).
    """

    text: str
    pieces: frozenset[str]
    words: frozenset[str]
    unit: str
    mended: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Candidate:
    """A channel that a heading could name, with its score and the reason in words."""

    channel: Channel
    score: float
    why: str


def read_heading(text: str, unit: str = "") -> Heading:
    """Take a heading apart. A unit from a second row wins over one in the heading."""
    name, stated = _without_unit(text)
    pieces = frozenset(piece.upper() for piece in re.split(r"[^\w]+", name) if piece)
    pieces |= frozenset({re.sub(r"\W+", "_", name.strip()).upper()})
    words: set[str] = set()
    mended: list[tuple[str, str]] = []
    for piece in _PIECE.findall(_CAMEL.sub(" ", name)):
        read, note = _read_word(piece.lower())
        words |= read
        mended += note
    return Heading(text, pieces, frozenset(words), unit or stated, tuple(mended))


def candidates(heading: Heading) -> list[Candidate]:
    """The channels a heading could name, best first."""
    found = [candidate for channel in channels().values() if (candidate := _candidate(heading, channel))]
    return sorted(found, key=lambda candidate: -candidate.score)


def _without_unit(text: str) -> tuple[str, str]:
    if is_unit(text) and text.strip().lower() not in _WORDS_TOO:
        return text, text.strip()
    bracket = _BRACKET.search(text)
    if bracket and (is_unit(bracket[1]) or not bracket[1].strip()):
        return text[: bracket.start()], bracket[1].strip()
    trailing = _TRAILING.match(text)
    if trailing and is_unit(trailing[2]) and trailing[2].lower() not in _WORDS_TOO and trailing[2][-1] not in ")]}":
        return (text if trailing[2].lower() == "rpm" else trailing[1]), trailing[2]
    return text, ""


@cache
def _aliases() -> dict[str, tuple[str, ...]]:
    return {row["word"]: tuple(row["read_as"].split()) for row in table("heading_words.csv")}


@cache
def _vocabulary() -> frozenset[str]:
    spoken = {word for channel in channels().values() for words in channel.words for choice in words for word in choice}
    excluded = {word for channel in channels().values() for word in channel.excluded}
    return frozenset(spoken | excluded | _PLAIN_WORDS)


def _read_word(piece: str) -> tuple[set[str], list[tuple[str, str]]]:
    if piece in _aliases():
        return set(_aliases()[piece]), []
    words: set[str] = set()
    mended: list[tuple[str, str]] = []
    for word in _WORD.findall(piece):
        if word in _aliases():
            words |= set(_aliases()[word])
        elif word in _vocabulary() or len(word) < 4 or word.isdigit():
            words.add(word)
        elif near := _one_letter_off(word):
            words.add(near)
            mended.append((word, near))
        else:
            words.add(word)
    return words, mended


@cache
def _one_letter_off(word: str) -> str:
    near = [known for known in sorted(_vocabulary()) if len(known) >= 4 and _differs_by_one(word, known)]
    return near[0] if len(near) == 1 or (near and near[0][0] == word[0]) else ""


def _differs_by_one(one: str, other: str) -> bool:
    if one + "s" == other or other + "s" == one:
        return True
    if len(one) == len(other):
        return sum(a != b for a, b in zip(one, other, strict=True)) == 1
    short, long = sorted((one, other), key=len)
    return len(long) - len(short) == 1 and any(long[:i] + long[i + 1 :] == short for i in range(len(long)))


def _candidate(heading: Heading, channel: Channel) -> Candidate | None:
    whole = heading.pieces & set(channel.abbreviations)
    if heading.words & channel.excluded:
        return None
    if whole:
        exact = len(heading.pieces - {"SENSOR"}) <= 2 and len(heading.words) <= 2
        return Candidate(channel, 10.0 if exact else 5.0, f"{min(whole)} is its standard short name")
    best = max((_fit(heading.words, words) for words in channel.words), default=0.0)
    if best <= 0.0:
        return None
    why = f"the heading reads {' '.join(sorted(heading.words, key=_order(heading.text)))!r}"
    if heading.mended:
        why += "".join(f", taking {was!r} for {read!r}" for was, read in heading.mended)
    return Candidate(channel, best - 0.5 * len(heading.mended), why)


def _order(text: str) -> "_Order":
    return _Order(text.lower())


@dataclass(frozen=True)
class _Order:
    """Sorts words as they stand in the heading, so that the reason reads like it."""

    text: str

    def __call__(self, word: str) -> tuple[int, str]:
        place = self.text.find(word)
        return (place if place >= 0 else len(self.text), word)


def _fit(words: frozenset[str], wanted: tuple[frozenset[str], ...]) -> float:
    """Words matched, less a little for each that is left over; 0 unless all that are wanted are there."""
    if not all(words & choice for choice in wanted):
        return 0.0
    matched = set().union(*(words & choice for choice in wanted))
    return max(len(wanted) - 0.3 * len(words - matched), 0.05)
