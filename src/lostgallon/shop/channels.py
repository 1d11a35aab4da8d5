"""The channels that a recorded drive can hold: a table read by whoever decodes, names or checks them."""

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources


@dataclass(frozen=True)
class Channel:
    """One channel of data/headings.csv, where the columns are explained.

    `unit`, `low`, `high`, `top_low`, `top_high` and `step` are in the port's unit; `scale` and `offset` turn the raw
    bytes of service 01 into it.
    """

    id: str
    name: str
    kind: str
    unit: str
    pid: str
    bytes: int
    scale: float
    offset: float
    step: float | None
    low: float | None
    high: float | None
    top_low: float | None
    top_high: float | None
    empty: float | None
    zero_never: bool
    abbreviations: tuple[str, ...]
    words: tuple[tuple[frozenset[str], ...], ...]
    excluded: frozenset[str]


def table(name: str) -> Iterator[Mapping[str, str]]:
    """Rows of a packaged CSV table whose comment lines start with #."""
    text = resources.files("lostgallon.data").joinpath(name).read_text("utf-8")
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    return iter(csv.DictReader(lines))


@cache
def channels() -> Mapping[str, Channel]:
    """All channels by id, in the order of the table."""
    return {row["channel"]: _channel(row) for row in table("headings.csv")}


def _channel(row: Mapping[str, str]) -> Channel:
    def number(key: str) -> float | None:
        return float(row[key]) if row[key] else None

    return Channel(
        id=row["channel"],
        name=row["name"],
        kind=row["kind"],
        unit=row["unit"],
        pid=row["pid"],
        bytes=int(row["bytes"] or 0),
        scale=float(row["scale"] or 1.0),
        offset=float(row["offset"] or 0.0),
        step=number("step"),
        low=number("low"),
        high=number("high"),
        top_low=number("top_low"),
        top_high=number("top_high"),
        empty=number("empty"),
        zero_never=row["zero"] == "never",
        abbreviations=tuple(part for part in row["abbreviations"].split("|") if part),
        words=tuple(_words(part) for part in row["words"].split("|") if part),
        excluded=frozenset((row["not"] or "").split()),
    )


def _words(text: str) -> tuple[frozenset[str], ...]:
    return tuple(frozenset(word.split("/")) for word in text.split())
