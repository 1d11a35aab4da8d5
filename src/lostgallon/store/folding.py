"""What stands now, from the history: the last entry of each key wins; and the case that comes of it."""

import datetime as dt
from collections.abc import Callable, Collection, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lostgallon.shop.case_keys import KEYS, REPEATED, STEP, Key, read_keys
from lostgallon.shop.case_reading import read_finding, read_tables
from lostgallon.shop.section import Section
from lostgallon.shop.trouble import BadCase, BadInput, suggestion
from lostgallon.shop.visit import Case
from lostgallon.store.extra_work import agreed_of, done_of, work_done
from lostgallon.store.records import Entry

ENTERED: Mapping[str, Mapping[str, Key]] = {**KEYS, "step": STEP}
"""Kinds of entry that a case is made of: its sections, and the steps of the booked job, one entry each."""
NUMBERED = (*REPEATED, "step")


@dataclass(frozen=True)
class Missing:
    """What a case still lacks: a key that was never entered, or one whose value can't be used."""

    key: str
    sentence: str


def standing(entries: Iterable[Entry]) -> dict[str, Entry]:
    """The entry that stands for each key, in the order the keys were first entered."""
    last: dict[str, Entry] = {}
    for entry in entries:
        last[entry.key] = entry
    return {key: entry for key, entry in last.items() if entry.value is not None}


def case_of(
    entries: Iterable[Entry],
    *,
    name: str = "visit",
    now: dt.datetime | None = None,
    file_path: Callable[[str], Path] | None = None,
) -> Case | tuple[Missing, ...]:
    """The case that a history comes to, or what it still lacks.

    Args:
        entries: The history of a visit, oldest first.
        name: What the case is called.
        now: The local time now, without a zone. A promise that has passed no longer binds the plan.
        file_path: Where a kept file lies, by its SHA-256; without it fill-ups and drive logs are left out.

    Raises:
        NotCovered: If the vehicle is a hybrid, a diesel or electric.
    """
    told = tuple(entries)
    stands = standing(told)
    before = work_done(told).before
    values = {key: _after_work(entry.value, before.get(key, ())) for key, entry in stands.items()}
    try:
        tables = _tables(values)
        tables["agreed"] += agreed_of(stands)
        tables["work_done"] += done_of(stands)
        _set_clock(tables, now)
        _find_files(tables, file_path)
        lacking = _lacking(values)
        if lacking:
            return (*_unusable(values), *lacking)
        return read_tables(tables, name=name, folder=Path())
    except BadInput as trouble:
        found = (*_unusable(values), *_lacking(values))
        return found or (Missing(key=_key_of(trouble.where), sentence=str(trouble)),)


def check_value(key: str, value: Any) -> None:
    """Refuse a value that no case could use, while the person who typed it is still there.

    Keys outside the sections of a case (consent, work done, words) are the caller's own and pass.

    Raises:
        BadInput: If the key is unknown in its section or the value can't be used.
        NotCovered: If the vehicle is a hybrid, a diesel or electric.
    """
    if value is not None:
        read_value(key, value)


def read_value(key: str, value: Any) -> Any:
    """What a case reads from one entry: a finding, the keys of a numbered kind, or the value of one key.

    Raises:
        BadInput: If the key is unknown in its section or the value can't be used.
        NotCovered: If the vehicle is a hybrid, a diesel or electric.
    """
    name, _, rest = key.partition(".")
    if name not in ENTERED or name == "evidence":
        return value
    keys = ENTERED[name]
    if name in NUMBERED:
        if not rest.isdigit() or not isinstance(value, dict):
            raise BadCase(key, found=repr(value), expected=f'a key like "{name}.1" and its keys with values')
        section = Section(f"[{name}] {rest}", _dated(keys, value, place=key), tuple(keys))
        return read_finding(section) if name == "finding" else read_keys(section, keys)
    if rest not in keys:
        raise BadCase(key, found=f"the unknown key {rest}{suggestion(rest, keys)}", expected=", ".join(keys))
    section = Section(f"[{name}]", _dated(keys, {rest: value}, place=f"[{name}]"), tuple(keys))
    return keys[rest].read(section, rest)


def _tables(values: Mapping[str, Any]) -> dict[str, Any]:
    tables: dict[str, Any] = {}
    repeated: dict[str, dict[int, Any]] = {name: {} for name in NUMBERED}
    for key, value in values.items():
        name, _, rest = key.partition(".")
        if name in NUMBERED:
            repeated[name][int(rest)] = _dated(ENTERED[name], value, place=key)
        elif name in KEYS:
            tables.setdefault(name, {}).update(_dated(KEYS[name], {rest: value}, place=f"[{name}]"))
    for name, numbered in repeated.items():
        tables[name] = [numbered[number] for number in sorted(numbered)]
    steps = tables.pop("step")
    if steps:
        tables.setdefault("booked", {})["steps"] = steps
    tables["finding"] = _read_on_known_gauges(tables["finding"], tables["gauge"])
    return tables


def _read_on_known_gauges(findings: Iterable[Any], gauges: Iterable[Mapping[str, Any]]) -> list[Any]:
    """Findings as they are; one whose gauge was taken back was read on a gauge that reads right."""
    known = {gauge.get("name") for gauge in gauges}
    return [
        {key: value for key, value in finding.items() if key != "gauge" or value in known}
        if isinstance(finding, dict)
        else finding
        for finding in findings
    ]


def _after_work(value: Any, done: tuple[str, ...]) -> Any:
    return {"after": list(done), **value} if done and isinstance(value, dict) else value


def _unusable(values: Mapping[str, Any]) -> list[Missing]:
    found = []
    for key, value in values.items():
        try:
            check_value(key, value)
        except BadInput as trouble:
            found.append(Missing(key=key, sentence=str(trouble)))
    return found


def _dated(keys: Mapping[str, Key], table: Mapping[str, Any], *, place: str) -> dict[str, Any]:
    return {name: _as_date(keys.get(name), value, where=f"{place} {name}") for name, value in table.items()}


def _as_date(key: Key | None, value: Any, *, where: str) -> Any:
    if key is None or key.written is None:
        return value
    read, example = {
        "day": (dt.date.fromisoformat, "a date like 2026-01-15"),
        "moment": (dt.datetime.fromisoformat, "a local time like 2026-01-15T16:30"),
    }[key.written]
    try:
        return read(value)
    except (TypeError, ValueError):
        raise BadCase(where, found=repr(value), expected=example) from None


def _set_clock(tables: dict[str, Any], now: dt.datetime | None) -> None:
    arrived = tables.get("visit", {})
    if now is not None and arrived:
        arrived["now"] = now.replace(tzinfo=None)
    if "now" in arrived and "promised" in arrived and arrived["promised"] <= arrived["now"]:
        del arrived["promised"]


def _find_files(tables: dict[str, Any], file_path: Callable[[str], Path] | None) -> None:
    told = {name: value for name, value in tables.get("evidence", {}).items() if isinstance(value, dict)}
    tables["evidence"] = {}
    if file_path is None:
        return
    for name, value in told.items():
        if "sha256" in value:
            with suppress(BadInput):
                # A log that was erased at the owner's wish is no evidence any more.
                tables["evidence"][name] = str(file_path(value["sha256"]))
    if "drive_log" in tables["evidence"]:
        _tell_of_drive(tables["evidence"], told["drive_log"], told.get("coasts", {}))


def _tell_of_drive(evidence: dict[str, Any], log: Mapping[str, Any], coasts: Mapping[str, Any]) -> None:
    """What was said of the recorded drive. Marks are of one log; another in its place has none."""
    if log.get("speed"):
        evidence["drive_speed"] = log["speed"]
    if coasts.get("of") == log["sha256"]:
        evidence["coasts"] = coasts["coasts"]


def _lacking(told: Collection[str]) -> list[Missing]:
    return [
        Missing(key=f"{section}.{name}", sentence=f"[{section}]: found no {name}; expected the key {name}")
        for section, keys in KEYS.items()
        if section not in REPEATED
        for name, key in keys.items()
        if key.required and f"{section}.{name}" not in told
    ]


def _key_of(where: str) -> str:
    return where.replace("[", "").replace("]", "").strip().replace(" ", ".")
