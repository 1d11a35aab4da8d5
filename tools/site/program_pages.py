"""Pages written from the program's own tables: commands and options, JSON keys, coefficients, decisions."""

import csv
import dataclasses
import inspect
import types
import typing
from collections.abc import Iterable, Iterator
from pathlib import Path

import click

from lostgallon.cli import COMMANDS, lostgallon
from lostgallon.shop import account, driven, filled, inflation, kept, learned, prediction, screened
from lostgallon.shop.wire import SCHEMA
from tools.catalogue_page import table

COMMANDS_HEAD = """# Commands

Written from the program when these pages are built. Exit status: 0 done; 1 only for `inspect-data` that found damage; 2
the input can't be used, with one line that says where, what was found and what was expected.
"""
JSON_HEAD = f"""# JSON results

Every command that prints a result takes `--json`. The result says `"schema": "{SCHEMA}"` first; units are in the keys,
money has one currency beside it, and a number that does not exist is `null`.
"""
PRINTED: dict[str, type] = {
    "account": account.Account,
    "predict": prediction.Prediction,
    "fillups": filled.FillVerdict,
    "screen": screened.Screening,
    "drive": driven.DriveVerdict,
    "tires": inflation.TireSetting,
    "learned": learned.Learned,
    "backup": kept.BackupMade,
    "restore": kept.Restored,
    "inspect-data": kept.Inspection,
    "self-check": kept.SelfCheck,
}
"""The record that `--json` prints, by command."""


def command_page() -> str:
    """Every command with its options, from the commands themselves."""
    return COMMANDS_HEAD + "".join(_command(name, said) for name, said in COMMANDS.items())


def _command(name: str, said: str) -> str:
    context = click.Context(lostgallon, info_name="lostgallon")
    command = lostgallon.get_command(context, name)
    if command is None:
        raise KeyError(name)
    own = click.Context(command, info_name=name, parent=context)
    usage = command.get_usage(own).removeprefix("Usage: ").replace("\n", " ")
    rows = [pair for option in command.params if (pair := option.get_help_record(own))]
    told = inspect.cleandoc(command.help or said)
    return f"\n## {name}\n\n{told}\n\n    {' '.join(usage.split())}\n\n" + table(
        ("option", "does"), ((f"`{option}`", does) for option, does in rows)
    )


def json_page() -> str:
    """Every key that a command prints with --json, from the records that are printed."""
    return JSON_HEAD + "".join(_printed(name, record) for name, record in PRINTED.items())


def records_in(record: type) -> list[type]:
    """A record and every record it holds, each once, outermost first."""
    seen = [record]
    for one in seen:
        for kind in typing.get_type_hints(one).values():
            seen += [inner for inner in _records(kind) if inner not in seen]
    return seen


def _records(kind: object) -> Iterator[type]:
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        yield kind
    for inner in typing.get_args(kind):
        yield from _records(inner)


def _printed(name: str, record: type) -> str:
    return f"\n## {name}\n" + "".join(map(_record, records_in(record)))


def _record(record: type) -> str:
    hints = typing.get_type_hints(record)
    rows = ((f"`{field.name}`", _kind(hints[field.name])) for field in dataclasses.fields(record))
    return f"\n### {_words(record)}\n\n{inspect.getdoc(record)}\n\n" + table(("key", "holds"), rows)


def _words(record: type) -> str:
    letters = (f" {letter.lower()}" if letter.isupper() else letter for letter in record.__name__)
    return "".join(letters).strip().capitalize()


PLAIN = {float: "number", int: "whole number", bool: "true or false", str: "text"}


def _kind(kind: object) -> str:
    """A type in words."""
    inside = typing.get_args(kind)
    origin = typing.get_origin(kind)
    if origin is typing.Literal:
        return " / ".join(f"`{one}`" for one in inside)
    if origin in (typing.Union, types.UnionType):
        return " or ".join("null" if one is types.NoneType else _kind(one) for one in inside)
    if origin in (tuple, list):
        return f"list of {_kind(inside[0])}"
    if origin is not None and inside:
        return f"{_kind(inside[-1])} by name"
    if isinstance(kind, type) and dataclasses.is_dataclass(kind):
        return f"[{_words(kind)}](#{_words(kind).lower().replace(' ', '-')})"
    return PLAIN.get(typing.cast("type", kind), getattr(kind, "__name__", str(kind)))


def coefficient_page(path: Path) -> str:
    """The one table of coefficients, as it ships."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    head = (
        "# Coefficients\n\nThe physics has one table of numbers, `data/coefficients.csv`; this is it. *data*: fitted to"
        " records; *derived*: arithmetic on sources; *memory*: judged, to be checked.\n\n"
    )
    return head + table(rows[0], (row.values() for row in rows))


def decision_page(folder: Path) -> str:
    """The decisions that are costly to reverse, in order."""
    return (
        "# Decisions\n\nWhat was chosen, why, and what was given up.\n\n"
        + "\n".join(_titles(sorted(folder.glob("*.md"))))
        + "\n"
    )


def _titles(papers: Iterable[Path]) -> Iterator[str]:
    for paper in papers:
        title = paper.read_text("utf-8").partition("\n")[0].lstrip("# ")
        yield f"- [{title}]({paper.name})"
