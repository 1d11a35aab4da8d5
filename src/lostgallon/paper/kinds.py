"""The seven kinds of cause as they look: order, three letters, colors and patterns, from one table."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from lostgallon.shop.account import ENTRY_KINDS, EntryKind


@dataclass(frozen=True)
class KindLook:
    """How one kind of cause is drawn.

    Attributes:
        kind: The kind.
        order: Its place on the bridge, from 0.
        code: Three letters for a terminal without color.
        terminal: Index of a 256-color terminal, -1 for the terminal's own ink.
        bright: Color on light paper and in print.
        dim: Color on dark paper.
        tile: Width and height of the pattern, px.
        circles: Dots of the pattern, each x, y, radius in px.
        path: Lines of the pattern, as path data.
        stroke: Width of those lines, px.
    """

    kind: EntryKind
    order: int
    code: str
    terminal: int
    bright: str
    dim: str
    tile: tuple[float, float]
    circles: tuple[tuple[float, float, float], ...] = ()
    path: str = ""
    stroke: float = 0.0


@cache
def kind_looks() -> dict[EntryKind, KindLook]:
    """The table of looks, in the order of the bridge."""
    text = resources.files("lostgallon.data").joinpath("kinds.toml").read_text("utf-8")
    rows = tomllib.loads(text)
    known: dict[str, EntryKind] = {kind: kind for kind in ENTRY_KINDS}
    return {
        kind: KindLook(
            kind=kind,
            order=order,
            code=row["code"],
            terminal=row["terminal"],
            bright=row["bright"],
            dim=row["dim"],
            tile=tuple(row["tile"]),
            circles=tuple(tuple(circle) for circle in row.get("circles", ())),
            path=row.get("path", ""),
            stroke=row.get("stroke", 0.0),
        )
        for order, (name, row) in enumerate(rows.items())
        for kind in (known[name],)
    }
