"""The lines of an owner's letter: what each is about, what it says, and how it is said in fewer words."""

import re
from dataclasses import dataclass, replace

_SENTENCE_END = re.compile(r"(?<=[.!?]) (?=[A-ZÁÉÍÓÚÑ¿¡0-9“])")
_LONGEST_SENTENCE = 240
"""No sentence of ours is longer; what is, was typed, and may be cut inside."""


@dataclass(frozen=True)
class Item:
    """One line of a list: what it is about, in bold, and what is said of it.

    `whole` lines are never shortened; of others the first `least` sentences are always said.
    """

    bold: str
    text: str = ""
    whole: bool = False
    least: int = 1

    def cut(self, most: int) -> "Item":
        """The line with as many whole sentences as so many characters hold, and one at least."""
        if self.whole or len(self.bold) + len(self.text) <= most:
            return self
        return Item(
            _within(self.bold, _LONGEST_SENTENCE), sentences_within(self.text, most - len(self.bold), self.least)
        )


@dataclass(frozen=True)
class Section:
    """A heading and its lines; the first `kept` lines are always said."""

    head: str
    items: tuple[Item, ...]
    kept: int = 1

    def cut(self, *, lines: int, characters: int) -> "Section":
        """The section within so many lines of so many characters."""
        shown = self.items[: max(lines, self.kept)]
        return replace(self, items=tuple(item.cut(characters) for item in shown))


def sentences_within(text: str, most: int, least: int = 1) -> str:
    """The first whole sentences of a text that fit, and so many at least."""
    first, *more = _SENTENCE_END.split(text)
    said = _within(first, _LONGEST_SENTENCE)
    for count, sentence in enumerate(more, start=2):
        if count > least and len(said) + 1 + len(sentence) > most:
            break
        said = f"{said} {sentence}"
    return said


def _within(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[:most].rsplit(' ', 1)[0]} …"
