"""The sentences of the pages; what paper and terminal also say comes from their table."""

from lostgallon.paper.measure import US, Measure
from lostgallon.paper.words import Language, Words, words_in

LANGUAGES: tuple[Language, ...] = ("en", "es")
"""Languages the pages are complete in."""


def page_words(language: Language, measure: Measure = US) -> Words:
    """The sentences of a language, for a reader of these units; a key of the pages wins over the same key of paper."""
    return words_in(language, measure, tables=("paper", "pages"))
