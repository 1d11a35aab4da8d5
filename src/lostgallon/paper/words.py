"""The sentences of paper and terminal in a reader's language, with the reader's units."""

from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from typing import Literal

from lostgallon.paper.catalogs import CAUTION, UNREVIEWED, catalog, context, table
from lostgallon.paper.measure import US, Measure, measure_of
from lostgallon.paper.told import told_in
from lostgallon.shop.visit import Case

Language = Literal["en", "es"]


@dataclass(frozen=True)
class Words:
    """The sentences of one or more tables in one language; a sentence has places in braces for its figures.

    Attributes:
        language: Which one.
        table: Sentence by key, in this language. Where a key of the group `metric` has the same name, metric readers
            get that one.
        counted: What is said one way of one and another way of more, by key: context and both English forms.
        measure: The units of the reader.
    """

    language: Language
    table: dict[str, str]
    counted: dict[str, tuple[str, str, str]]
    measure: Measure = US

    def __call__(self, key: str, /, **values: object) -> str:
        """The sentence of a key with its figures in place; the form that suits `count` where it has two."""
        own = f"metric.{key}"
        if self.measure.name == "metric" and (own in self.table or own in self.counted):
            key = own
        if key in self.counted:
            return catalog(self.language).npgettext(*self.counted[key], int(str(values["count"]))).format_map(values)
        return self.table[key].format_map(values)

    def several(self, key: str) -> tuple[str, ...]:
        """All sentences of a list."""
        return tuple(said for name, said in self.table.items() if name.startswith(f"{key}."))

    def named(self, group: str, name: str, *, otherwise: str = "") -> str:
        """A trade name of this language, such as that of a cause; what the record says where the table has none."""
        return self.table.get(f"{group}.{name}") or self.told(otherwise or name.replace("_", " "))

    def told(self, text: str) -> str:
        """A sentence or name of a record in this language; the English one where no catalog holds it."""
        return told_in(self.language)(self.measure.first(text))

    def caution(self, text: str) -> str:
        """A caution in this language, marked while its translation is not reviewed; as recorded where it has none.

        It is found by its exact English words, never by a guess.
        """
        known = catalog(self.language)
        said = known.pgettext(CAUTION, text)
        unread = known.pgettext(UNREVIEWED, text)
        return self("not_reviewed", caution=unread) if said == text != unread else said

    def day(self, day: date) -> str:
        """A date in words: `January 15, 2026`."""
        return self("date", month=self(f"month.{day.month}"), day=day.day, year=day.year)

    def clock(self, moment: datetime) -> str:
        """A time of day: `4:45 pm`."""
        half = "am" if moment.hour < 12 else "pm"
        return self(f"clock.{half}", hour=moment.hour % 12 or 12, minute=f"{moment.minute:02d}")

    def clocks(self, low: datetime, high: datetime) -> str:
        """Two times of day: `4:25 to 5:10 pm`."""
        first, last = self.clock(low), self.clock(high)
        if first[-3:] == last[-3:] == " pm" or first[-3:] == last[-3:] == " am":
            first = first[:-3]
        return self("clock.to", low=first, high=last)

    def ends(self, low: str, high: str) -> str:
        """Two ends of a figure: `4.0 to 4.3`, or the one they share."""
        return low if low == high else self("clock.to", low=low, high=high)

    def listed(self, items: tuple[str, ...]) -> str:
        """Items as a person lists them: `a, b and c`."""
        if len(items) < 2:
            return "".join(items)
        return self("and", first=", ".join(items[:-1]), last=items[-1])


@cache
def words_in(language: Language, measure: Measure = US, *, tables: tuple[str, ...] = ("paper",)) -> Words:
    """The sentences of a language, for a reader of these units; of two tables with one key the later one says it."""
    known, said, counted = catalog(language), dict[str, str](), dict[str, tuple[str, str, str]]()
    for name in tables:
        for key, english in table(name).items():
            if isinstance(english, tuple):
                counted[key] = (context(name, key), *english)
            else:
                said[key] = known.pgettext(context(name, key), english) if english else ""
    return Words(language=language, table=said, counted=counted, measure=measure)


def words_of(case: Case, language: Language | None = None) -> Words:
    """The table of the shop's own language, or another, with the units in which the case was told."""
    return words_in(language or case.shop.language, measure_of(case))
