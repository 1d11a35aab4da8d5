"""The catalogue of causes, checks and corrections, read from data/catalogue/ and refused where it is wrong."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from importlib import resources
from typing import Any

from lostgallon.causes import records, tables
from lostgallon.causes.strict import build
from lostgallon.causes.wholeness import require_whole
from lostgallon.shop.trouble import BadFile, BadInput, suggestion

FILES: Mapping[str, tuple[type, tuple[str, ...]]] = {
    "causes": (
        records.Cause,
        ("causes_circumstances.yaml", "causes_engine.yaml", "causes_chassis_and_electrical.yaml"),
    ),
    "checks": (records.Check, ("checks_questions.yaml", "checks_chassis.yaml", "checks_engine.yaml")),
    "states": (records.State, ("states.yaml",)),
    "cautions": (tables.Caution, ("cautions.yaml",)),
    "stops": (tables.SafetyStop, ("safety_stops.yaml",)),
    "operations": (records.Operation, ("operations.yaml",)),
    "jobs": (records.BookedJob, ("booked_jobs.yaml",)),
    "trim_patterns": (tables.TrimPattern, ("trim_patterns.yaml",)),
    "codes": (tables.CodeGroup, ("codes.yaml",)),
    "look_alikes": (tables.LookAlike, ("look_alikes.yaml",)),
    "interactions": (tables.Interaction, ("interactions.yaml",)),
    "sources": (tables.Source, ("sources.yaml",)),
    "method": (tables.MethodNumber, ("method.yaml",)),
    "source_classes": (tables.SourceClass, ("source_classes.yaml",)),
}
"""The record each file holds; several files of one kind are read in the order given."""


@dataclass(frozen=True)
class Catalogue:
    """The whole catalogue. Everything refers to everything else by id, and every id is known to exist."""

    causes: tuple[records.Cause, ...]
    checks: tuple[records.Check, ...]
    states: tuple[records.State, ...]
    cautions: tuple[tables.Caution, ...]
    stops: tuple[tables.SafetyStop, ...]
    operations: tuple[records.Operation, ...]
    jobs: tuple[records.BookedJob, ...]
    trim_patterns: tuple[tables.TrimPattern, ...]
    codes: tuple[tables.CodeGroup, ...]
    look_alikes: tuple[tables.LookAlike, ...]
    interactions: tuple[tables.Interaction, ...]
    sources: tuple[tables.Source, ...]
    method: tuple[tables.MethodNumber, ...]
    source_classes: tuple[tables.SourceClass, ...]

    @cached_property
    def cause(self) -> Mapping[str, records.Cause]:
        """Causes by id."""
        return {entry.id: entry for entry in self.causes}

    @cached_property
    def check(self) -> Mapping[str, records.Check]:
        """Checks by id."""
        return {entry.id: entry for entry in self.checks}

    @cached_property
    def state(self) -> Mapping[str, records.State]:
        """States by id and by every other name a case file may use."""
        named = {other: entry for entry in self.states for other in entry.also_called}
        return named | {entry.id: entry for entry in self.states}

    @cached_property
    def operation(self) -> Mapping[str, records.Operation]:
        """Operations by id."""
        return {entry.id: entry for entry in self.operations}

    @cached_property
    def caution(self) -> Mapping[str, str]:
        """Caution texts by id."""
        return {entry.id: entry.text for entry in self.cautions}

    @cached_property
    def number(self) -> Mapping[str, float]:
        """Numbers of the method by id."""
        return {entry.id: entry.value for entry in self.method}

    def state_named(self, name: str, *, where: str) -> records.State:
        """A state by its id or another name for it.

        Raises:
            BadInput: If there is none; the nearest is suggested.
        """
        if name not in self.state:
            raise BadInput(where, found=f"{name!r}{suggestion(name, self.state)}", expected="an access state")
        return self.state[name]

    def check_named(self, name: str, *, where: str) -> records.Check:
        """A check by its id.

        Raises:
            BadInput: If there is none; the nearest is suggested.
        """
        if name not in self.check:
            raise BadInput(where, found=f"{name!r}{suggestion(name, self.check)}", expected="a check of the catalogue")
        return self.check[name]

    def operation_named(self, name: str, *, where: str) -> records.Operation:
        """A correction by its id.

        Raises:
            BadInput: If there is none; the nearest is suggested.
        """
        if name not in self.operation:
            raise BadInput(where, found=f"{name!r}{suggestion(name, self.operation)}", expected="a correction's id")
        return self.operation[name]

    def cautions_for(self, ids: Iterable[str], *, states: Iterable[str] = ()) -> tuple[str, ...]:
        """Caution texts of a step and of the states it needs, each once, the states' first.

        Args:
            ids: Ids of cautions the step carries itself.
            states: Ids of states the step needs or opens.
        """
        wanted = [caution for state in states for caution in self.state[state].cautions]
        return tuple(self.caution[caution] for caution in dict.fromkeys([*wanted, *ids]))


def read_catalogue(texts: Mapping[str, str]) -> Catalogue:
    """A catalogue from the text of its files.

    Args:
        texts: Text of every file named in FILES, by file name.

    Raises:
        BadFile: If a file is unreadable, an id is unknown or repeated, an entry names no class of source, or a check
            moves no belief. The sentence names the file and the entry.
    """
    parts: dict[str, tuple[Any, ...]] = {}
    for part, (record, names) in FILES.items():
        entries: list[Any] = []
        for name in names:
            entries.extend(_entries(record, texts[name], name))
        parts[part] = tuple(entries)
    whole = Catalogue(**parts)
    require_whole(whole)
    return whole


def _entries(record: type, text: str, name: str) -> list[Any]:
    import yaml  # noqa: PLC0415 - the commands that need no catalogue must not wait for it

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        data = yaml.load(text, Loader=loader)  # noqa: S506 - both choices are safe loaders
    except yaml.YAMLError as trouble:
        raise BadFile(name, found=" ".join(str(trouble).split()), expected="YAML") from None
    if not isinstance(data, list):
        raise BadFile(name, found="no list", expected="a list of entries")
    return [build(record, entry, where=f"{name}: {_title(entry, number)}") for number, entry in enumerate(data, 1)]


def _title(entry: object, number: int) -> str:
    if isinstance(entry, Mapping):
        return str(entry.get("id", entry.get("reading", f"entry {number}")))
    return f"entry {number}"


@cache
def catalogue() -> Catalogue:
    """The catalogue that comes with the program, read once."""
    folder = resources.files("lostgallon.data") / "catalogue"
    names = [name for _, files in FILES.values() for name in files]
    return read_catalogue({name: (folder / name).read_text("utf-8") for name in names})
