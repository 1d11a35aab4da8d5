"""The sentences of paper and terminal, one table file per language."""

import tomllib
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from importlib import resources
from typing import Any, Literal

from lostgallon.paper.measure import US, Measure, measure_of
from lostgallon.paper.told import told_in
from lostgallon.shop.visit import Case

Language = Literal["en", "es"]


@dataclass(frozen=True)
class Words:
    """A table of sentences in one language; a sentence has places in braces for its figures.

    Attributes:
        language: Which one.
        table: Sentence by key. Where a key of the group `metric` has the same name, metric readers get that one.
        cautions: Cautions of this language by their English text.
        measure: The units of the reader.
    """

    language: Language
    table: dict[str, str]
    cautions: dict[str, str]
    measure: Measure = US

    def __call__(self, key: str, /, **values: object) -> str:
        """The sentence of a key with its figures in place."""
        said = self.table.get(f"metric.{key}") if self.measure.name == "metric" else None
        return (said or self.table[key]).format_map(values)

    def several(self, key: str) -> tuple[str, ...]:
        """All sentences of a list."""
        return tuple(said for name, said in self.table.items() if name.startswith(f"{key}."))

    def named(self, group: str, name: str, *, otherwise: str = "") -> str:
        """A trade name of this language, such as that of a cause; what the record says where the table has none."""
        return self.table.get(f"{group}.{name}", otherwise or name.replace("_", " "))

    def told(self, text: str) -> str:
        """A sentence or name of a record in this language; the English one where no table holds it."""
        return told_in(self.language)(self.measure.first(text))

    def caution(self, text: str) -> str:
        """A caution in this language, marked while its translation is not reviewed; as recorded where it has none."""
        return self.cautions.get(text, text)

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
def words_in(language: Language, measure: Measure = US) -> Words:
    """The table of a language, for a reader of these units."""
    return Words(
        language=language, table=_flat(_file(f"words_{language}")), cautions=_cautions(language), measure=measure
    )


def words_of(case: Case, language: Language | None = None) -> Words:
    """The table of the shop's own language, or another, with the units in which the case was told."""
    return words_in(language or case.shop.language, measure_of(case))


def _file(name: str) -> dict[str, Any]:
    return tomllib.loads(resources.files("lostgallon.data").joinpath(f"{name}.toml").read_text("utf-8"))


def _cautions(language: Language) -> dict[str, str]:
    # The catalogue's cautions are English; a translation is found by the exact sentence, never by a guess.
    if language == "en":
        return {}
    table = _file(f"cautions_{language}")
    mark = table["not_reviewed"]
    return {row["en"]: row["es"] if row["reviewed"] else f"{row['es']} {mark}" for row in table["caution"]}


def _flat(table: dict[str, object], prefix: str = "") -> dict[str, str]:
    flat: dict[str, str] = {}
    for key, value in table.items():
        if isinstance(value, dict):
            flat |= _flat(value, f"{prefix}{key}.")
        elif isinstance(value, list):
            flat |= {f"{prefix}{key}.{place}": str(item) for place, item in enumerate(value)}
        else:
            flat[prefix + key] = str(value)
    return flat
