"""Records as JSON and back: keys are field names, the unit is in the key, and the schema is named."""

import functools
import json
import math
import types
import typing
from dataclasses import MISSING, fields, is_dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

SCHEMA = "lostgallon/1"


def plain(value: object) -> Any:
    """A record, or anything in one, as values that JSON knows.

    A number that is not finite becomes null: JSON has no word for it.
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    if isinstance(value, date | Path):
        return str(value)
    return value


def as_json(record: object) -> str:
    """A record as indented JSON text with the schema first."""
    return json.dumps({"schema": SCHEMA, **plain(record)}, indent=2, ensure_ascii=False)


def record_from(kind: Any, value: Any) -> Any:
    """A value of JSON as the type that a record's field states.

    Raises:
        TypeError: If it is not of that type.
        KeyError: If a record lacks a field that has no default.
    """
    if is_dataclass(kind) and isinstance(kind, type):
        hints = _hints(kind)
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


@functools.cache
def _hints(kind: type) -> dict[str, Any]:
    return typing.get_type_hints(kind)


def _tuple_from(inside: tuple[Any, ...], value: Any) -> tuple[Any, ...]:
    if not isinstance(value, list):
        raise TypeError(tuple)
    if inside[-1] is Ellipsis:
        return tuple(record_from(inside[0], part) for part in value)
    return tuple(record_from(one, part) for one, part in zip(inside, value, strict=True))
