"""Trouble codes by SAE J2012, and the readings of the kept memory they stand for."""

import re
from collections.abc import Sequence

from lostgallon.causes.tables import CodeGroup
from lostgallon.shop.trouble import BadInput

_CODE = re.compile(r"[PBCU][0-3][0-9A-F]{3}")


def readings_of(codes: Sequence[str], groups: Sequence[CodeGroup], *, where: str) -> tuple[str, ...]:
    """The readings that codes stand for; a well-formed code the catalogue does not know stands for none.

    Args:
        codes: As read, for example P0128.
        groups: The catalogue's code groups.
        where: Where the codes stand, for the sentence of a refusal.

    Raises:
        BadInput: If a code is not of the form of SAE J2012.
    """
    found = []
    for typed in codes:
        code = typed.strip().upper()
        if not _CODE.fullmatch(code):
            raise BadInput(where, found=repr(typed), expected="a code like P0128 (SAE J2012)")
        found += [group.reading for group in groups if any(_within(code, span) for span in group.codes)]
    return tuple(dict.fromkeys(found))


def _within(code: str, span: str) -> bool:
    first, _, last = span.partition("-")
    return first <= code <= (last or first)
