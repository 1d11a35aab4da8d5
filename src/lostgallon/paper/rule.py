"""A finding on a rule: the limit, the side outside it, and the readings; the geometry that every printer draws."""

from dataclasses import dataclass
from itertools import zip_longest

from lostgallon.paper.scale import Scale, Tick, ticks
from lostgallon.shop.account import FindingRow
from lostgallon.shop.trouble import BadQuantity
from lostgallon.shop.units import read_any_quantity, read_quantity, split_quantity

_MARGIN = 0.4
_REAR = ("lr", "rr", "rear", "left rear", "right rear")


@dataclass(frozen=True)
class Reading:
    """One reading: its place on the rule as a share, where on the vehicle, and whether that is a rear axle."""

    at: float
    place: str
    rear: bool


@dataclass(frozen=True)
class ReadingRule:
    """Readings on a rule; places are shares of the width.

    Attributes:
        scale: The rule, in `unit`.
        unit: The unit of the limit, or of the first reading, as typed.
        ticks: Ticks from left to right.
        readings: The readings, in the order they were taken.
        limit: Where the limit stands, or None where none was entered.
        outside: Left and right end of the side outside the limit, or None without one.
    """

    scale: Scale
    unit: str
    ticks: tuple[Tick, ...]
    readings: tuple[Reading, ...]
    limit: float | None
    outside: tuple[float, float] | None


def rule_of(finding: FindingRow) -> ReadingRule | None:
    """The rule of a finding, or None where it was seen and not measured."""
    if not finding.value:
        return None
    try:
        unit = split_quantity(finding.limit or finding.value[0])[1]
        numbers = tuple(_in_unit(typed, unit) for typed in finding.value)
        limit = _in_unit(finding.limit, unit) if finding.limit else None
    except BadQuantity:
        return None
    scale = _scale_for(numbers if limit is None else (*numbers, limit))
    return ReadingRule(
        scale=scale,
        unit=unit,
        ticks=ticks(scale),
        readings=tuple(
            Reading(at=scale.at(number), place=place, rear=place.lower() in _REAR)
            for number, place in zip_longest(numbers, finding.place[: len(numbers)], fillvalue="")
            if isinstance(number, float)
        ),
        limit=None if limit is None else scale.at(limit),
        outside=None if limit is None else _outside(numbers, limit, scale=scale, is_outside=bool(finding.outside_by)),
    )


def _in_unit(typed: str, unit: str) -> float:
    # Degrees have an offset, so a number is brought back from the base unit by two points of the scale.
    number, own = split_quantity(typed)
    if own == unit:
        return number
    kind, quantity = read_any_quantity(typed)
    zero, one = (read_quantity(f"{count} {unit}", kind).number for count in (0, 1))
    return (quantity.number - zero) / (one - zero)


def _scale_for(numbers: tuple[float, ...]) -> Scale:
    low, high = min(numbers), max(numbers)
    margin = _MARGIN * (high - low) or abs(high) * 0.2 or 1.0
    return Scale(max(0.0, low - margin) if low >= 0.0 else low - margin, high + margin)


def _outside(numbers: tuple[float, ...], limit: float, *, scale: Scale, is_outside: bool) -> tuple[float, float] | None:
    average = sum(numbers) / len(numbers)
    if average == limit:
        return None
    return (0.0, scale.at(limit)) if (average < limit) is is_outside else (scale.at(limit), 1.0)
