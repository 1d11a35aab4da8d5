"""The columns file: which column is what, written by the program and edited by a person where something stayed open."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from lostgallon.readers.drive_columns import Recognized
from lostgallon.readers.drive_layout import Layout
from lostgallon.readers.drive_units import unit_of, units_of
from lostgallon.shop.channels import Channel, channels
from lostgallon.shop.trouble import BadFile, one_of, suggestion

HEAD = """# Which column of {log} is what. Edit a line, then: lostgallon drive {log} --columns {map}
# taken_as is one of the names below, or "" to leave the column out; unit is the one the column is written in.
"""


def read_map(path: Path, layout: Layout) -> dict[int, tuple[Channel, str]]:
    """Columns as a person chose them: place in the line to channel and unit.

    Raises:
        BadFile: If the file can't be read, or names a heading, channel or unit that is not there.
    """
    tables = _tables(path)
    chosen: dict[int, tuple[Channel, str]] = {}
    for number, row in enumerate(tables, start=1):
        where = f"{path.name} column {number}"
        place = _place(str(row.get("heading", "")), layout, where)
        taken_as = str(row.get("taken_as", ""))
        if not taken_as:
            continue
        if taken_as not in channels():
            expected = f"one of the names at the end of the file{suggestion(taken_as, channels())}"
            raise BadFile(f"{where} taken_as", found=repr(taken_as), expected=expected)
        channel = channels()[taken_as]
        if any(channel is other for other, _ in chosen.values()):
            raise BadFile(f"{where} taken_as", found=f"{taken_as!r} a second time", expected="one column a name")
        chosen[place] = (channel, _unit(row, channel, where=where))
    return chosen


def _tables(path: Path) -> list[Mapping[str, Any]]:
    expected = "a columns file as --write-columns writes it"
    try:
        data = tomllib.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        raise BadFile(str(path), found="no such file", expected=expected) from None
    except (OSError, UnicodeDecodeError) as problem:
        raise BadFile(str(path), found=f"a file that can't be read ({problem})", expected=expected) from None
    except tomllib.TOMLDecodeError as problem:
        raise BadFile(path.name, found=f"TOML that can't be read ({problem})", expected=expected) from None
    tables = data.get("column")
    if not isinstance(tables, list) or not all(isinstance(row, dict) for row in tables):
        raise BadFile(path.name, found="no [[column]] tables", expected=expected)
    return tables


def _place(heading: str, layout: Layout, where: str) -> int:
    plain = [text.strip() for text in layout.headings]
    if heading.strip() not in plain:
        expected = f"a heading of the log{suggestion(heading, plain)}"
        raise BadFile(f"{where} heading", found=repr(heading), expected=expected)
    return plain.index(heading.strip())


def _unit(row: Mapping[str, Any], channel: Channel, *, where: str) -> str:
    text = str(row.get("unit", "")) or channel.unit
    if text == channel.unit:
        return text
    unit = unit_of(text, channel.kind)
    if unit is None:
        raise BadFile(f"{where} unit", found=repr(text), expected=one_of(units_of(channel.kind)) or channel.unit)
    return unit


def write_map(path: Path, layout: Layout, *, found: Recognized, log: str) -> None:
    """Write what was recognized, and what stayed open, for a person to edit.

    Raises:
        BadFile: If the file can't be written.
    """
    taken = {one.place: one for one in (*found.clocks, *found.taken)}
    opened = {one.heading.strip(): one for one in found.open}
    parts = [HEAD.format(log=log, map=path.name)]
    for place, heading in enumerate(layout.headings):
        name = heading.strip()
        one = taken.get(place)
        parts.append(f'\n[[column]]\nheading = "{_escaped(name)}"')
        if one:
            parts.append(f'taken_as = "{one.channel.id}"\nunit = "{one.unit}"\n# {one.record.why}')
        elif name in opened:
            question = opened[name]
            parts.append(f'taken_as = "{question.channel}"\nunit = ""   # open: {one_of(question.choices)}')
        else:
            parts.append('taken_as = ""')
    parts.append("\n# Names: " + ", ".join(f"{one.id} ({one.name})" for one in channels().values()))
    try:
        path.write_text("\n".join(parts) + "\n", "utf-8")
    except OSError as problem:
        found_text = f"a place that can't be written ({problem.strerror})"
        raise BadFile(str(path), found=found_text, expected="a file name in a folder that is there") from None


def _escaped(text: str) -> str:
    return text.replace("\\", "\\\\").replace('"', '\\"')
