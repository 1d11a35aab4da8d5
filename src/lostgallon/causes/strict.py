"""Turns plain data into frozen records and refuses what does not fit, saying where."""

import dataclasses
import types
from collections.abc import Mapping
from functools import cache
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

from lostgallon.shop.trouble import BadFile, one_of, suggestion

Record = TypeVar("Record")

RENAMED = {"is": "equals", "in": "one_of", "class": "class_of_source"}
"""Keys that are words of Python, and the field that holds them."""


@cache
def _fields(record: type) -> Mapping[str, tuple[Any, bool]]:
    hints = get_type_hints(record)
    return {
        field.name: (hints[field.name], field.default is dataclasses.MISSING) for field in dataclasses.fields(record)
    }


def build(record: type[Record], data: object, *, where: str) -> Record:
    """A record from a mapping with exactly its fields.

    Args:
        record: The dataclass to build; nested dataclasses and tuples are built too.
        data: What stands in the file.
        where: File and entry, for the sentence of a refusal.

    Raises:
        BadFile: If a key is unknown or missing, or a value is of another kind.
    """
    kind: type = record
    fields = _fields(kind)
    if not isinstance(data, Mapping):
        raise BadFile(where, found=_shown(data), expected=f"keys such as {one_of(list(fields)[:4])}")
    values = {RENAMED.get(str(key), str(key)): value for key, value in data.items()}
    for key in values:
        if key not in fields:
            raise BadFile(where, found=f"the key {key!r}{suggestion(key, fields)}", expected=f"{one_of(fields)}")
    for key, (_, required) in fields.items():
        if required and key not in values:
            raise BadFile(where, found=f"no {key!r}", expected=f"{key} for this {record.__name__.lower()}")
    built = {key: _value(fields[key][0], value, f"{where}, {key}") for key, value in values.items()}
    return record(**built)


def _value(hint: Any, data: object, where: str) -> Any:
    origin = get_origin(hint)
    if origin in (Union, types.UnionType):
        return _one_of_kinds(get_args(hint), data, where)
    if origin is tuple:
        return _tuple(get_args(hint), data, where)
    if origin is Literal:
        if data not in get_args(hint):
            named = suggestion(str(data), [str(choice) for choice in get_args(hint)])
            raise BadFile(where, found=f"{data!r}{named}", expected=one_of(map(str, get_args(hint))))
        return data
    if dataclasses.is_dataclass(hint):
        return build(hint, data, where=where)  # type: ignore[arg-type]  # an annotation is a class here
    return _plain(hint, data, where)


def _plain(hint: Any, data: object, where: str) -> Any:
    if hint is float and isinstance(data, int | float) and not isinstance(data, bool):
        return float(data)
    if hint in (str, bool) and isinstance(data, hint):
        return data
    raise BadFile(where, found=_shown(data), expected={float: "a number", str: "text", bool: "true or false"}[hint])


def _one_of_kinds(kinds: tuple[Any, ...], data: object, where: str) -> Any:
    if data is None and type(None) in kinds:
        return None
    wanted = [kind for kind in kinds if kind is not type(None)]
    for kind in wanted[:-1]:
        if isinstance(data, kind if isinstance(kind, type) else ()):
            return data
    return _value(wanted[-1], data, where)


def _tuple(kinds: tuple[Any, ...], data: object, where: str) -> tuple[Any, ...]:
    if isinstance(data, Mapping):
        data = list(data.items())
    if not isinstance(data, list | tuple):
        raise BadFile(where, found=_shown(data), expected="a list")
    if kinds[-1] is Ellipsis:
        return tuple(_value(kinds[0], item, f"{where} {number}") for number, item in enumerate(data, start=1))
    if len(kinds) != len(data):
        raise BadFile(where, found=f"{len(data)} values", expected=f"{len(kinds)}")
    return tuple(_value(kind, item, where) for kind, item in zip(kinds, data, strict=True))


def _shown(data: object) -> str:
    text = repr(data)
    return text if len(text) < 60 else f"{text[:57]}..."
