"""A posted form, read field by field; what is wrong is kept beside the field and said in one line."""

import datetime as dt
import re
from collections.abc import Callable, Iterable, Mapping, Sequence

from lostgallon.shop.trouble import BadInput, one_of
from lostgallon.shop.units import read_money, read_number, read_quantity

_FRACTIONS = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_HAS_UNIT = re.compile(r"[A-Za-z°%]")
_MIXED = re.compile(r"(?P<whole>\d+)\s+(?P<top>\d+)/(?P<bottom>[1-9]\d*)")
_CLOCK = re.compile(r"(?P<hour>\d{1,2})(?::?(?P<minute>\d{2}))?\s*(?P<half>[ap])?\.?\s*(?:m\.?)?", re.IGNORECASE)
LONGEST_TEXT = 2000


def tidy_number(text: str) -> str:
    """Typed fractions as a decimal: `29½ psi` and `29 1/2 psi` both become `29.5 psi`."""
    for glyph, plain in _FRACTIONS.items():
        text = text.replace(glyph, f" {plain}")
    return _MIXED.sub(lambda found: f"{_mixed(found):g}", text.strip())


def split_unit(text: str, units: Sequence[str]) -> tuple[str, str]:
    """A quantity as a field with its units beside it shows it: `33 mpg` as `33` and `mpg`.

    The unit is empty, and the text stays whole, where none of the units ends it.
    """
    for unit in units:
        for end in (f" {unit}", f" USD/{unit}"):
            if text.endswith(end):
                return text[: -len(end)], unit
    return text, ""


def _mixed(found: re.Match[str]) -> float:
    return int(found["whole"]) + int(found["top"]) / int(found["bottom"])


class Form:
    """The fields of one post.

    Attributes:
        wrong: One sentence for each field that can't be used.
    """

    def __init__(self, fields: Mapping[str, Sequence[str]], tell: Callable[[str], str] = str) -> None:
        """Take the fields of a post.

        Args:
            fields: Texts by name.
            tell: Says an English sentence in the person's language.
        """
        self._fields = fields
        self._tell = tell
        self.wrong: dict[str, str] = {}

    def refuse(self, name: str, *, found: str, expected: str) -> None:
        """Keep beside a field what was found in it and what was expected."""
        self.wrong[name] = self._tell(f"Found {found}; expected {expected}.")

    def typed(self) -> dict[str, str]:
        """What was typed, for showing it again."""
        return {name: values[0] for name, values in self._fields.items() if values}

    def has(self, name: str) -> bool:
        """Whether a field holds anything but blanks."""
        return bool(self.text(name))

    def text(self, name: str, *, needed: str = "") -> str:
        """A text, without blanks around it. `needed` is the sentence said where it is empty."""
        values = self._fields.get(name) or [""]
        text = values[0].strip()[:LONGEST_TEXT]
        if needed and not text:
            self.wrong[name] = needed
        return text

    def texts(self, name: str) -> tuple[str, ...]:
        """All texts of a repeated field, the empty ones left out."""
        return tuple(text.strip()[:LONGEST_TEXT] for text in self._fields.get(name, ()) if text.strip())

    def choice(self, name: str, choices: Iterable[str], *, default: str | None = None) -> str:
        """One of the given words."""
        listed = tuple(choices)
        text = self.text(name) or (default or "")
        if text not in listed:
            self.refuse(name, found=text or "nothing", expected=one_of(listed))
        return text

    def quantity(self, name: str, kind: str, *, needed: bool = False) -> str | None:
        """A quantity as typed with its unit; a bare number takes the unit chosen beside it. None where empty."""
        text = self.text(name)
        if not text and not needed:
            return None
        return self._quantity(name, text, kind)

    def _quantity(self, name: str, text: str, kind: str) -> str | None:
        said = tidy_number(text)
        if not _HAS_UNIT.search(said):
            said = f"{said} {self.text(f'{name}_unit')}".strip()
        try:
            read_quantity(said, kind)
        except BadInput as trouble:
            self.refuse(name, found=trouble.found, expected=trouble.expected)
            return None
        return said

    def number(self, name: str, limits: tuple[float, float], *, needed: bool = True) -> float | None:
        """A bare number inside limits; None where it is empty and not needed, or wrong."""
        text = self.text(name)
        if not text and not needed:
            return None
        try:
            value = read_number(tidy_number(text))
        except BadInput as trouble:
            self.refuse(name, found=trouble.found, expected=trouble.expected)
            return None
        if not limits[0] <= value <= limits[1]:
            self.refuse(name, found=text, expected=f"{limits[0]:g} to {limits[1]:g}")
            return None
        return value

    def money(self, name: str, currency: str, *, per: str | None = None, needed: bool = False) -> str | None:
        """An amount as typed with its currency; a bare number is in the shop's own."""
        text = self.text(name).replace("$", "").strip()
        if not text and not needed:
            return None
        unit = {"volume": f"/{self.text(f'{name}_unit') or 'gal'}", "hour": "/h"}.get(per or "", "")
        said = text if _HAS_UNIT.search(text) else f"{text} {currency}{unit}"
        try:
            read_money(said, per=per)
        except BadInput as trouble:
            self.refuse(name, found=trouble.found, expected=trouble.expected)
            return None
        return said

    def clock(self, name: str, today: dt.date) -> dt.datetime | None:
        """A time of day: `4:30 pm`, `16:30`, `430 p`. None where empty. Without am or pm, 1 to 6 are afternoon."""
        text = self.text(name)
        if not text:
            return None
        match = _CLOCK.fullmatch(text)
        hour, minute = (int(match["hour"]), int(match["minute"] or 0)) if match else (99, 0)
        if match and match["half"]:
            hour = hour % 12 + (12 if match["half"].lower() == "p" else 0)
        elif 1 <= hour <= 6:
            hour += 12
        if hour > 23 or minute > 59:
            self.refuse(name, found=text, expected="a time of day, like 4:30 pm")
            return None
        return dt.datetime.combine(today, dt.time(hour, minute))

    def day(self, name: str) -> dt.date | None:
        """A date as 2026-01-15 or 1/15/2026. None where empty or wrong."""
        text = self.text(name)
        if not text:
            return None
        month_first = re.fullmatch(r"(\d{1,2})/(\d{1,2})/(\d{4})", text)
        try:
            if month_first:
                month, day, year = map(int, month_first.groups())
                return dt.date(year, month, day)
            return dt.date.fromisoformat(text)
        except ValueError:
            self.refuse(name, found=text, expected="a date, like 2026-01-15")
            return None
