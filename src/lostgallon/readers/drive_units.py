"""Units as logs spell them, and the straight line from each into the unit the program keeps."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from lostgallon.shop.channels import table
from lostgallon.shop.units import read_quantity

_OUTSIDE_THE_LIST = {"1", "switch", "status", "text", "clock"}


@dataclass(frozen=True)
class Line:
    """A straight line: kept = factor * read + offset."""

    factor: float
    offset: float


@cache
def spellings() -> Mapping[tuple[str, str], str]:
    """(kind, spelling in lower case) to the unit's name in the program's list."""
    return {(row["kind"], row["spelling"]): row["unit"] for row in table("log_units.csv")}


@cache
def _all_spellings() -> frozenset[str]:
    return frozenset(spelling for _, spelling in spellings())


def _plain(text: str) -> str:
    plain = text.strip().strip("()[]{}").strip().lower()
    plain = plain.replace("\u00b0", "deg").replace("\u00ba", "deg").replace("deg ", "deg")
    return "deg" if plain == "deg" else plain


def is_unit(text: str) -> bool:
    """Whether the text is a unit of some kind, as logs spell it."""
    return _plain(text) in _all_spellings()


def unit_of(text: str, kind: str) -> str | None:
    """The unit that this text spells for a kind of quantity, or None."""
    return spellings().get((kind, _plain(text)))


def units_of(kind: str) -> tuple[str, ...]:
    """The units a kind may come in, the port's own usually first."""
    return tuple(dict.fromkeys(unit for (of_kind, _), unit in spellings().items() if of_kind == kind))


def line_of(unit: str, kind: str) -> Line:
    """The straight line from a unit into the unit kept for the kind.

    Fuel rate is kept in L/h, which the general list has no kind for: it is a volume an hour.
    """
    if unit in _OUTSIDE_THE_LIST or kind in {"clock", "count", "ratio"}:
        return Line(1.0, 0.0) if kind != "clock" or unit not in {"ms", "min", "s"} else _quantity_line(unit, "time")
    if kind == "fuel rate":
        return _quantity_line(unit.split("/", maxsplit=1)[0], "volume")
    return _quantity_line(unit, kind)


@cache
def _quantity_line(unit: str, kind: str) -> Line:
    zero = read_quantity(f"0 {unit}", kind).number
    one = read_quantity(f"1 {unit}", kind).number
    return Line(one - zero, zero)
