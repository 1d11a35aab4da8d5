"""One table of typed values, read key by key, with a trouble that names the key."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal, overload

from lostgallon.shop.trouble import BadCase, BadInput, BadQuantity, OutOfRange, one_of, suggestion
from lostgallon.shop.units import Money, range_in_words, read_any_quantity, read_money, read_quantity
from lostgallon.shop.visit import Quantity

Limits = tuple[float, float]

_LOCAL_TIME = "a local time without quotes, like 2026-01-15T16:30:00"
_DAY = "a date without quotes, like 2026-01-15"


@dataclass(frozen=True)
class Section:
    """One table of a case: `[vehicle]`, or the third `[[finding]]`.

    Args:
        place: As the person finds it, for example `[vehicle]` or `[[finding]] 3`.
        table: Its keys and values.
        known: Every key that may stand in it.

    Raises:
        BadCase: If a key is not known; the nearest known one is suggested.
    """

    place: str
    table: Mapping[str, Any]
    known: tuple[str, ...]

    def __post_init__(self) -> None:
        for key in self.table:
            if key not in self.known:
                raise BadCase(
                    self.place,
                    found=f"the unknown key {key}{suggestion(key, self.known)}",
                    expected=f"only {one_of(self.known)}",
                )

    def where(self, key: str) -> str:
        """The place of a key, as a person finds it."""
        return f"{self.place} {key}"

    def require(self, *keys: str) -> None:
        """Refuse the table unless all of these keys are there."""
        for key in keys:
            if key not in self.table:
                raise BadCase(self.place, found=f"no {key}", expected=f"the key {key} (it is required)")

    def quantity(self, key: str, kind: str, limits: Limits) -> float:
        """A required quantity of a kind, in the base unit of the kind, inside limits of that unit."""
        self.require(key)
        try:
            number = read_quantity(self.table[key], kind).number
        except BadQuantity as trouble:
            raise trouble.within(self.where(key)) from None
        self._inside(key, number, limits, said=range_in_words(kind, *limits))
        return number

    def any_quantities(self, key: str) -> tuple[Quantity, ...]:
        """One typed quantity or a list of them, of whatever kind their units say; all of one kind."""
        if key not in self.table:
            return ()
        typed = self.table[key]
        found = []
        for text in typed if isinstance(typed, list) else [typed]:
            try:
                found.append(read_any_quantity(text)[1])
            except BadInput as trouble:
                raise BadCase(self.where(key), found=trouble.found, expected=trouble.expected) from None
        units = {quantity.unit for quantity in found}
        if len(units) > 1:
            raise BadCase(
                self.where(key), found=f"values in {one_of(sorted(units))} together", expected="one kind of unit"
            )
        return tuple(found)

    def money(self, key: str, *, per: str | None = None) -> Money:
        """A required amount with its currency."""
        self.require(key)
        try:
            return read_money(self.table[key], per=per)
        except BadQuantity as trouble:
            raise trouble.within(self.where(key)) from None

    def number(self, key: str, limits: Limits, *, default: float | None = None) -> float:
        """A bare number (a count, a share, or a key with its unit in the name)."""
        if default is None:
            self.require(key)
        value = self.table.get(key, default)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise BadCase(self.where(key), found=repr(value), expected="a bare number without quotes or unit")
        self._inside(key, float(value), limits, said=f"{limits[0]:g} to {limits[1]:g}")
        return float(value)

    def whole(self, key: str, limits: tuple[int, int]) -> int:
        """A whole number."""
        value = self.number(key, limits)
        if value != int(value):
            raise BadCase(self.where(key), found=f"{value:g}", expected="a whole number")
        return int(value)

    def choice(self, key: str, choices: Iterable[str], *, default: str | None = None) -> Any:
        """One of the given words."""
        if default is None:
            self.require(key)
        value = self.table.get(key, default)
        listed = tuple(choices)
        if value not in listed:
            near = suggestion(value, listed) if isinstance(value, str) else ""
            raise BadCase(self.where(key), found=f"{value!r}{near}", expected=one_of(listed))
        return value

    def flag(self, key: str) -> bool:
        """True or false; false where the key is not there."""
        value = self.table.get(key, False)
        if not isinstance(value, bool):
            raise BadCase(self.where(key), found=repr(value), expected="true or false")
        return value

    def text(self, key: str, *, default: str | None = None) -> str:
        """A text between quotes."""
        if default is None:
            self.require(key)
        value = self.table.get(key, default)
        if not isinstance(value, str):
            raise BadCase(self.where(key), found=repr(value), expected="a text between quotes")
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts; empty where the key is not there. A single text counts as a list of one."""
        value = self.table.get(key, [])
        listed = [value] if isinstance(value, str) else value
        if not isinstance(listed, list) or not all(isinstance(item, str) for item in listed):
            raise BadCase(self.where(key), found=repr(value), expected='a list of texts, like ["lifted"]')
        return tuple(listed)

    @overload
    def day(self, key: str, *, required: Literal[True]) -> dt.date: ...
    @overload
    def day(self, key: str, *, required: Literal[False]) -> dt.date | None: ...
    def day(self, key: str, *, required: bool) -> dt.date | None:
        """A date as TOML writes it."""
        if required:
            self.require(key)
        value = self.table.get(key)
        if value is not None and (isinstance(value, dt.datetime) or not isinstance(value, dt.date)):
            raise BadCase(self.where(key), found=repr(value), expected=_DAY)
        return value

    def moment(self, key: str) -> dt.datetime | None:
        """A local time as TOML writes it, or None where the key is not there."""
        value = self.table.get(key)
        if value is not None and not isinstance(value, dt.datetime):
            raise BadCase(self.where(key), found=repr(value), expected=_LOCAL_TIME)
        if value is not None and value.tzinfo is not None:
            raise BadCase(self.where(key), found=f"{value} with a time zone", expected=_LOCAL_TIME)
        return value

    def subsection(self, key: str, known: tuple[str, ...]) -> "Section":
        """An inline table, empty where the key is not there."""
        value = self.table.get(key, {})
        if not isinstance(value, dict):
            raise BadCase(self.where(key), found=repr(value), expected=f"a table with {one_of(known)}")
        return Section(self.where(key), value, known)

    def subsections(self, key: str, known: tuple[str, ...]) -> tuple["Section", ...]:
        """A list of tables, none where the key is not there."""
        value = self.table.get(key, [])
        if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
            raise BadCase(self.where(key), found=repr(value), expected=f"a list of tables with {one_of(known)}")
        return tuple(Section(f"{self.where(key)} {number}", row, known) for number, row in enumerate(value, 1))

    def _inside(self, key: str, number: float, limits: Limits, *, said: str) -> None:
        low, high = limits
        if not low <= number <= high:
            raise OutOfRange(self.where(key), found=f"{self.table.get(key, number)}", expected=said)
