"""A shop's own numbers in place of the catalogue's: priors, ratios, sizes, minutes and prices, in a file of its own.

The file (readers/own_numbers.py) is YAML with the same keys as the catalogue, holding only what differs:

    causes:
      dragging_brake:
        prior_new: {km_80k_to_200k: 0.2, source: measured}
    checks:
      wheel_spin:
        minutes: 4
        readings:
          one_wheel_stiff: {false_alarm: [0.03, 0.06, 0.1]}
    operations:
      thermostat_replace:
        parts_money: {likely: 60}
    method:
      prior_odds_scale: {value: 0.25}
    says: from 41 visits here
"""

import dataclasses
from collections.abc import Mapping
from typing import Any

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.strict import RENAMED, build
from lostgallon.causes.wholeness import require_whole
from lostgallon.shop.trouble import BadFile, one_of, suggestion

SAYS = "says"
"""The key under which a file says where its numbers come from."""
PARTS = ("causes", "checks", "operations", "states", "look_alikes", "method")
Changes = Mapping[str, Mapping[str, Mapping[str, Any]]]


def with_own_numbers(whole: Catalogue, changes: Changes, *, where: str) -> Catalogue:
    """The catalogue with changes, whole again.

    Args:
        whole: A catalogue.
        changes: By part, then by id, the keys that differ.
        where: The file, for the sentence of a refusal.

    Raises:
        BadFile: If a part, id or key does not exist, or the result is not whole.
    """
    if not isinstance(changes, Mapping):
        raise BadFile(where, found=repr(changes), expected=f"parts: {one_of(PARTS)}")
    parts = {}
    for part, entries in changes.items():
        if part == SAYS:
            continue
        if part not in PARTS:
            raise BadFile(where, found=f"{part!r}{suggestion(str(part), PARTS)}", expected=one_of(PARTS))
        parts[part] = _entries_changed(getattr(whole, part), entries, f"{where}: {part}")
    result = dataclasses.replace(whole, **parts)
    try:
        require_whole(result)
    except BadFile as trouble:
        raise trouble.within(where) from None
    return result


def _entries_changed(entries: tuple[Any, ...], changes: Mapping[str, Any], where: str) -> tuple[Any, ...]:
    _mapping(changes, where)
    known = [entry.id for entry in entries]
    for name in changes:
        if name not in known:
            raise BadFile(where, found=f"{name!r}{suggestion(str(name), known)}", expected="an id of the catalogue")
    return tuple(_changed(entry, changes.get(entry.id, {}), f"{where}, {entry.id}") for entry in entries)


def _changed(record: Any, changes: Mapping[str, Any], where: str) -> Any:
    """A record with some keys replaced; records within it and tuples of records by id are changed in place."""
    _mapping(changes, where)
    plain = {field.name: getattr(record, field.name) for field in dataclasses.fields(record)}
    values = dict(plain)
    for written, value in changes.items():
        key = RENAMED.get(str(written), str(written))
        if key not in plain:
            raise BadFile(where, found=f"the key {written!r}{suggestion(key, plain)}", expected=one_of(plain))
        values[key] = _merged(plain[key], value, f"{where}, {written}")
    return build(type(record), _as_data(values), where=where)


def _merged(old: Any, new: Any, where: str) -> Any:
    if dataclasses.is_dataclass(old) and isinstance(new, Mapping):
        return _changed(old, new, where)
    if isinstance(old, tuple) and old and hasattr(old[0], "id") and isinstance(new, Mapping):
        return _entries_changed(old, new, where)
    if isinstance(old, tuple) and old and isinstance(old[0], tuple) and isinstance(new, Mapping):
        return {**dict(old), **new}
    return new


def _as_data(value: Any) -> Any:
    """A record as the plain data it could have been read from, without what stands at its default."""
    if dataclasses.is_dataclass(value):
        pairs = ((field, getattr(value, field.name)) for field in dataclasses.fields(value))
        return {field.name: _as_data(inner) for field, inner in pairs if inner is not None}
    if isinstance(value, Mapping):
        return {key: _as_data(inner) for key, inner in value.items() if inner is not None}
    if isinstance(value, tuple):
        return [_as_data(inner) for inner in value]
    return value


def _mapping(value: Any, where: str) -> None:
    if not isinstance(value, Mapping):
        raise BadFile(where, found=repr(value), expected="keys with their values")
