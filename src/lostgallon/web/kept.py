"""Accounts kept beside the data, so that a restart shows them at once; they can be worked out again at any time."""

import json
import types
import typing
from contextlib import suppress
from dataclasses import MISSING, dataclass, fields, is_dataclass
from pathlib import Path
from typing import Any

from lostgallon import __version__
from lostgallon.shop.account import Account
from lostgallon.shop.wire import plain
from lostgallon.web.accounts import Known


@dataclass(frozen=True)
class Keeper:
    """A folder of accounts, one file a visit. A file that can't be read counts as not there."""

    folder: Path

    def load(self, visit_id: str) -> Known[Account] | None:
        """The account that was kept for a visit by this version of the program."""
        try:
            told = json.loads((self.folder / f"{visit_id}.json").read_text("utf-8"))
            if told["version"] != __version__:
                return None
            return Known(mark=told["mark"], record=record_from(Account, told["account"]), trouble="")
        except (OSError, ValueError, KeyError, TypeError):
            return None

    def save(self, visit_id: str, known: Known[Account]) -> None:
        """Keep an account; a full disk keeps none, and nothing else depends on it."""
        if known.record is None:
            return
        told = {"version": __version__, "mark": known.mark, "account": plain(known.record)}
        part = self.folder / f"{visit_id}.part"
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            part.write_text(json.dumps(told), "utf-8")
            part.replace(self.folder / f"{visit_id}.json")
        except OSError:
            with suppress(OSError):
                part.unlink(missing_ok=True)


def record_from(kind: Any, value: Any) -> Any:
    """A value of JSON as the type that a record's field states.

    Raises:
        TypeError: If it is not of that type.
        KeyError: If a record lacks a field that has no default.
    """
    if is_dataclass(kind) and isinstance(kind, type):
        hints = typing.get_type_hints(kind)
        told = [field for field in fields(kind) if field.name in value or field.default is MISSING]
        return kind(**{field.name: record_from(hints[field.name], value[field.name]) for field in told})
    origin, inside = typing.get_origin(kind), typing.get_args(kind)
    if origin is types.UnionType:
        return None if value is None else record_from(next(one for one in inside if one is not types.NoneType), value)
    if origin is tuple:
        return _tuple_from(inside, value)
    if origin is typing.Literal:
        return value
    if kind is float and isinstance(value, int | float):
        return float(value)
    if not isinstance(value, kind):
        raise TypeError(kind)
    return value


def _tuple_from(inside: tuple[Any, ...], value: Any) -> tuple[Any, ...]:
    if not isinstance(value, list):
        raise TypeError(tuple)
    if inside[-1] is Ellipsis:
        return tuple(record_from(inside[0], part) for part in value)
    return tuple(record_from(one, part) for one, part in zip(inside, value, strict=True))
