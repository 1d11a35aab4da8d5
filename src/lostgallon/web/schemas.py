"""JSON Schemas of the records that the API hands out, made from the records themselves."""

import datetime as dt
import types
import typing
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

Schema = dict[str, Any]

_PLAIN: dict[Any, Schema] = {
    str: {"type": "string"},
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    float: {"type": ["number", "null"]},
    dt.date: {"type": "string", "format": "date"},
    dt.datetime: {"type": "string", "format": "date-time"},
    Path: {"type": "string"},
    types.NoneType: {"type": "null"},
}
"""A number that is not finite becomes null (shop/wire.py)."""


def schemas_of(*records: type) -> dict[str, Schema]:
    """The schema of every record and of every record inside it, by name."""
    found: dict[str, Schema] = {}
    for record in records:
        _add(record, found)
    return found


def _add(record: type, found: dict[str, Schema]) -> None:
    if record.__name__ in found:
        return
    found[record.__name__] = {}
    hints = typing.get_type_hints(record)
    rows = {field.name: _schema(hints[field.name], found) for field in fields(record)}
    found[record.__name__] = {"type": "object", "required": list(rows), "properties": rows}


def _schema(kind: Any, found: dict[str, Schema]) -> Schema:
    if is_dataclass(kind) and isinstance(kind, type):
        _add(kind, found)
        return {"$ref": f"#/components/schemas/{kind.__name__}"}
    origin, inside = typing.get_origin(kind), typing.get_args(kind)
    if origin is typing.Literal:
        return {"enum": list(inside)}
    if origin in {types.UnionType, typing.Union}:
        return {"anyOf": [_schema(one, found) for one in inside]}
    if origin is tuple and inside[-1] is Ellipsis:
        return {"type": "array", "items": _schema(inside[0], found)}
    if origin is tuple:
        return {"type": "array", "prefixItems": [_schema(one, found) for one in inside]}
    return dict(_PLAIN.get(kind, {"type": "object"}))
