"""The seven kinds of cause as they look: order, three letters, colors and patterns, from one table."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

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


Ground = Literal["bright", "dim", "print"]


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(resources.files("lostgallon.data").joinpath("look.toml").read_text("utf-8"))


@cache
def kind_looks() -> dict[EntryKind, KindLook]:
    """The looks of the kinds, in the order of the bridge."""
    known: dict[str, EntryKind] = {kind: kind for kind in ENTRY_KINDS}
    return {
        known[name]: KindLook(
            kind=known[name],
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
        for order, (name, row) in enumerate(_table()["kind"].items())
    }


def kind_id(kind: EntryKind) -> str:
    """The name of a kind's pattern and color: `k-season`, `k-brakes`."""
    return f"k-{kind.split('_')[0]}"


@cache
def colors(ground: Ground) -> dict[str, str]:
    """Every color by its name on a page (`ink`, `k-season`, ...), for light paper, dark paper or print."""
    kinds = {kind_id(kind): look.dim if ground == "dim" else look.bright for kind, look in kind_looks().items()}
    return dict(_table()["ground"][ground]) | kinds
