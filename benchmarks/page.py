"""docs/benchmarks.md from what one run of all benchmarks found."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from benchmarks.rooms import BARS, ROOMS, YARDSTICKS, met

Row = dict[str, str | float | bool | None]
"""One figure: figure, measured, bar, met, yardstick."""
NAMED_BY = ("command", "what", "name")
PASSED_OVER = ("benchmark", "schema", "goals")
HEAD = """# Benchmarks

Written by `python -m benchmarks` on an idle machine, each benchmark in a process of its own, one after the other; what
it found is in `benchmarks/found.json`, and `python -m benchmarks --page` writes this page from there again. A ratio
compares with its yardstick within the same run, so it carries over to another machine; seconds do not. A figure's name
ends with its unit.

"""


def rows_of(room: str, told: Mapping[str, Any]) -> list[Row]:
    """Every figure of one room in the one shape that the page and --json use."""
    return [
        {
            "figure": path.removeprefix(f"{room}."),
            "measured": value,
            "bar": (bar := BARS.get(path)),
            "met": met(value, bar) if bar and not isinstance(value, str) else None,
            "yardstick": YARDSTICKS.get(path),
        }
        for path, value in flat(told, room)
    ]


def flat(value: object, path: str) -> Iterator[tuple[str, float | str]]:
    """Every figure with its place: keys joined by dots; rows by the name they carry, rows without one left out."""
    if isinstance(value, Mapping):
        for key, inner in value.items():
            if key not in PASSED_OVER:
                yield from flat(inner, path if key in ("rows", "summary") else f"{path}.{key}")
    elif isinstance(value, list):
        for row in value:
            named = next((key for key in NAMED_BY if isinstance(row, Mapping) and key in row), None)
            if named:
                rest = {key: inner for key, inner in row.items() if key != named}
                yield from flat(rest, f"{path}.{row[named].lstrip('-')}")
    elif isinstance(value, float | int | str):
        yield path, value


def page(found: Mapping[str, Any]) -> str:
    """The whole page as Markdown."""
    rooms: Mapping[str, Mapping[str, Any]] = found["rooms"]
    every = [(name, row) for name, room in rooms.items() for row in room["rows"]]
    failed = [name for name, room in rooms.items() if room["failed"]]
    barred = [row for _, row in every if row["bar"]]
    missed = [
        f"{name}: {row['figure']} {said(row['measured'])} ({row['bar']})" for name, row in every if row["met"] is False
    ]
    parts = [
        HEAD,
        f"{found['machine']}\n\n{len(barred)} figures have a bar; missed: {'; '.join(missed) or 'none'}.\n",
        f"\nNot measured, as their run ended early: {', '.join(failed)}.\n" if failed else "",
        "\n![How cost grows with work, each curve against its smallest size](pictures/growth.svg)\n",
        "\n## Against a yardstick\n\n",
        _table(
            ("room", "ratio", "measured", "bar", "yardstick"),
            (
                (name, row["figure"], said(row["measured"]), row["bar"], row["yardstick"])
                for name, row in every
                if row["yardstick"]
            ),
        ),
    ]
    for name, room in rooms.items():
        parts.append(f"\n## {name}\n\n{room['failed'] or ''}{'' if room['failed'] else _figures(room['rows'])}")
    return "".join(parts).rstrip() + "\n"


def _figures(rows: Iterable[Row]) -> str:
    marks = {True: "yes", False: "**no**", None: ""}
    return _table(
        ("figure", "measured", "bar", "met"),
        ((row["figure"], said(row["measured"]), row["bar"], marks[row["met"]]) for row in rows),  # type: ignore[index]
    )


def _table(head: tuple[str, ...], rows: Iterable[tuple[Any, ...]]) -> str:
    lines = [f"| {' | '.join(head)} |", f"|{'|'.join('---:' if name == 'measured' else '---' for name in head)}|"]
    lines += [f"| {' | '.join('' if cell is None else str(cell) for cell in row)} |" for row in rows]
    return "\n".join(lines) + "\n"


def said(value: object) -> str:
    """A figure as the page writes it."""
    return f"{value:.4g}" if isinstance(value, float | int) and not isinstance(value, bool) else str(value)


def names() -> tuple[str, ...]:
    """The rooms that can be asked for."""
    return tuple(room.name for room in ROOMS)
