"""What was found, as an owner reads it: outside its limit first, then measured, then seen, then all the rest."""

from itertools import zip_longest

from lostgallon.paper.figures import typed
from lostgallon.paper.letter_lines import Item
from lostgallon.paper.sayings import ended, sentence_case
from lostgallon.paper.words import Words
from lostgallon.shop.account import FindingRow
from lostgallon.shop.visit import SILENT_RESULTS

_ASKED = "ask_"
"""How the catalogue's questions to the owner begin."""

_FOR_TECHNICIANS = frozenset({"trims_three"})
"""Checks whose readings are figures that say nothing to an owner: that they are not as they should be is said."""


def found_items(findings: tuple[FindingRow, ...], words: Words) -> tuple[Item, ...]:
    """A line for every finding that says something, one for all that is in order, one for what was talked about.

    Args:
        findings: All findings of the account, told in the reader's language.
        words: The language.
    """
    looked = [row for row in findings if row.result not in SILENT_RESULTS]
    alone = [row for row in looked if _speaks(row)]
    items = [
        Item(f"{looked_at(row.check, words, otherwise=row.name)}:", _said(row, words))
        for row in sorted(alone, key=_weight)
    ]
    rest = [row for row in looked if row not in alone]
    for key, asked in (("letter.also_in_order", False), ("letter.asked", True)):
        names = tuple(
            looked_at(row.check, words, otherwise=row.name) for row in rest if row.check.startswith(_ASKED) is asked
        )
        if names:
            items.append(Item(f"{words(key)}:", ended(words.listed(names))))
    return tuple(items) or (Item("", words("letter.found_nothing")),)


def _name(row: FindingRow, words: Words) -> str:
    return looked_at(row.check, words, otherwise=row.name)


def looked_at(check: str, words: Words, *, otherwise: str) -> str:
    """What a check looks at, as an owner says it; the record's own name where the table has none."""
    return words.named("looked_at", check, otherwise=otherwise)


def _speaks(row: FindingRow) -> bool:
    seen = row.result == "found" and not row.check.startswith(_ASKED)
    return bool(row.value or row.readings or row.before_good_days or seen)


def _weight(row: FindingRow) -> int:
    """Outside its limit, then not as it should be, then measured, then told by the owner."""
    if row.outside_by:
        return 0
    if row.check.startswith(_ASKED):
        return 3
    return 2 if row.value else 1


def _said(row: FindingRow, words: Words) -> str:
    parts = [_measured(row, words)] if row.value else []
    parts += [] if row.check in _FOR_TECHNICIANS else [ended(reading) for reading in row.readings]
    where = f" ({', '.join(row.place)})" if row.place and not row.value else ""
    if not parts:
        parts = [words("letter.not_right")]
    if where:
        parts[-1] = f"{parts[-1].rstrip('.')}{where}."
    if row.before_good_days:
        parts.append(words("finding.before"))
    if row.after:
        parts.append(words("finding.after", work=", ".join(words.told(work) for work in row.after)))
    return " ".join(parts)


def _values(row: FindingRow, words: Words) -> str:
    if len(row.value) > 1 and len(set(row.value)) == 1:
        return typed(words("letter.all", value=row.value[0]))
    pairs = zip_longest(row.place, row.value, fillvalue="")
    return typed(", ".join(f"{place} {value}".strip() for place, value in pairs if value))


def _measured(row: FindingRow, words: Words) -> str:
    values, limit, source = _values(row, words), typed(row.limit or ""), typed(row.limit_source or "")
    if row.outside_by:
        by = typed(row.outside_by)
        known_by = ", ".join(part for part in (f"{words('limit')} {limit}" if limit not in by else "", source) if part)
        outside = f"{ended(by).rstrip('.')} ({known_by})." if known_by else ended(by)
        return outside if len(set(row.value)) == 1 and typed(row.value[0]) in by else f"{ended(values)} {outside}"
    if limit:
        limit = f"{limit} ({source})" if source else limit
        return words("letter.inside", values=sentence_case(values), limit=limit)
    return ended(values)
