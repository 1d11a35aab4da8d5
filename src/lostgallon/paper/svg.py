"""The few marks that every picture is drawn with: tags, a frame, patterns, and the style sheet they share.

A picture on a page has x in per cent, y in px and no viewBox, so that type and patterns never stretch; colors come
from the page's own variables. A picture on paper has one width in px and its colors written in.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from lostgallon.paper.look import Ground, KindLook, colors, kind_id, kind_looks

FACE = '"Atkinson Hyperlegible", "Verdana", "DejaVu Sans", system-ui, sans-serif'
PAPER_FACE = "Atkinson Hyperlegible"


def tag(name: str, *inside: str, **attributes: str | float) -> str:
    """A tag; names of attributes end in `_` where they are words of the language, and `_` inside reads `-`."""
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(value if isinstance(value, str) else number(value))}"'
        for key, value in attributes.items()
    )
    return f"<{name}{written}>{''.join(inside)}</{name}>" if inside else f"<{name}{written}/>"


def number(value: float) -> str:
    """A coordinate to a hundredth."""
    return f"{value:.2f}".rstrip("0").rstrip(".").replace("-0", "0" if abs(value) < 0.005 else "-0")


@dataclass(frozen=True)
class Frame:
    """Where a picture is drawn: a page of any width, or paper of one width.

    Attributes:
        width_px: Width on paper, or None on a page.
        deck_px: Height of the bridge's deck.
        ground: Colors written into a picture on paper.
    """

    width_px: float | None = None
    deck_px: float = 52.0
    ground: Ground = "print"

    def x(self, share: float) -> str:
        """A place along the width."""
        if self.width_px is None:
            return f"{number(share * 100.0)}%"
        return number(share * self.width_px)

    def bar(self, left: float, right: float) -> dict[str, str]:
        """The place and width of a bar between two shares of the width, in either order."""
        low, high = sorted((left, right))
        return {"x": self.x(low), "width": self.x(high - low)}

    def upright(self, share: float, top_px: float, bottom_px: float, *, class_: str = "") -> str:
        """An upright line."""
        kept = {"class_": class_} if class_ else {}
        return tag("line", x1=self.x(share), x2=self.x(share), y1=top_px, y2=bottom_px, **kept)

    def level(self, y_px: float, *, left: float = 0.0, right: float = 1.0, class_: str = "") -> str:
        """A level line."""
        kept = {"class_": class_} if class_ else {}
        return tag("line", x1=self.x(left), x2=self.x(right), y1=y_px, y2=y_px, **kept)

    def pinned(self, share: float, *inside: str) -> str:
        """Marks in px around a place along the width."""
        if self.width_px is None:
            return tag("svg", *inside, x=self.x(share), y=0, class_="pin")
        return tag("g", *inside, transform=f"translate({self.x(share)} 0)")

    def curve(self, points: Sequence[tuple[float, float]], *, class_: str) -> str:
        """A line through points, or an area where its class fills it; a point is a share of the width and a y in px."""
        wide = 1000.0 if self.width_px is None else self.width_px
        path = "M" + "L".join(f"{number(share * wide)} {number(y_px)}" for share, y_px in points)
        drawn = tag("path", d=path, class_=class_)
        if self.width_px is not None:
            return drawn
        # A page has any width: the path is stretched along it, its stroke is not (see `.curve`).
        low, high = min(y for _, y in points), max(y for _, y in points)
        box = f"0 {number(low)} 1000 {number(max(high - low, 1.0))}"
        return tag(
            "svg",
            drawn,
            x=0,
            y=low,
            width="100%",
            height=max(high - low, 1.0),
            viewBox=box,
            preserveAspectRatio="none",
        )

    def picture(self, *inside: str, height_px: float, says: str, class_: str = "") -> str:
        """The whole picture; on paper with its own patterns and styles."""
        if self.width_px is None:
            names = f"full {class_}".strip()
            return tag("svg", *inside, class_=names, height=height_px, role="img", aria_label=says)
        wide = number(self.width_px)
        return tag(
            "svg",
            tag("style", picture_css(self.ground)),
            tag("defs", *patterns()),
            *inside,
            xmlns="http://www.w3.org/2000/svg",
            width=wide,
            height=height_px,
            viewBox=f"0 0 {wide} {number(height_px)}",
            role="img",
            aria_label=says,
        )


def text(said: str, *, x: str, y: float, class_: str = "", dx: float = 0.0) -> str:
    """A line of text; `said` may hold tspans and is escaped by whoever makes it."""
    kept: dict[str, str | float] = {"class_": class_} if class_ else {}
    if dx:
        kept["dx"] = dx
    return tag("text", said, x=x, y=y, **kept)


def span(said: str, class_: str) -> str:
    """A part of a line of text."""
    return tag("tspan", escape(said), class_=class_)


def patterns() -> list[str]:
    """The patterns of the seven kinds, the soft edges and the hatch; they take their colors from the style sheet."""
    return [
        *(_pattern(look) for look in kind_looks().values()),
        tag(
            "pattern",
            tag("path", d="M0 4h8", class_="hatch"),
            id="outside",
            width=8,
            height=8,
            patternUnits="userSpaceOnUse",
            patternTransform="rotate(45)",
        ),
        *(_soft(name, stops) for name, stops in _SOFT_EDGES.items()),
    ]


_SOFT_EDGES = {
    # How much color is left at a point is the chance that the step reaches it: 95 % at the 5 % end, a half at the
    # median, 5 % at the far end. The paper is laid over the step with what is missing.
    "half": ((0.0, 0.0), (1.0, 0.5)),
    "rest": ((0.0, 0.5), (1.0, 1.0)),
    "half-back": ((0.0, 0.5), (1.0, 0.0)),
    "rest-back": ((0.0, 1.0), (1.0, 0.5)),
    "band": ((0.0, 0.0), (0.35, 1.0), (0.65, 1.0), (1.0, 0.0)),
}


def _soft(name: str, stops: tuple[tuple[float, float], ...]) -> str:
    kind = "stop-act" if name == "band" else "stop-paper"
    return tag(
        "linearGradient",
        *(tag("stop", offset=offset, stop_opacity=opacity, class_=kind) for offset, opacity in stops),
        id=name,
    )


def _pattern(look: KindLook) -> str:
    wide, high = look.tile
    name = kind_id(look.kind)
    marks = [tag("circle", cx=x, cy=y, r=radius, class_="k-dot") for x, y, radius in look.circles]
    if look.path:
        marks.append(tag("path", d=look.path, class_="k-line", stroke_width=look.stroke))
    return tag(
        "pattern",
        tag("rect", width=wide, height=high, class_=name),
        *marks,
        id=name,
        width=wide,
        height=high,
        patternUnits="userSpaceOnUse",
    )


_RULES = {
    "text": "font: 400 16px FACE; fill: {ink}; text-anchor: middle; font-variant-numeric: tabular-nums",
    "line": "stroke: {ink}; stroke-width: 2",
    ".strong": "font-weight: 700; font-size: 19px",
    ".bold": "font-weight: 700",
    ".start": "text-anchor: start",
    ".end": "text-anchor: end",
    ".quiet": "fill: {ink-2}",
    ".in": "fill: {paper}; font-weight: 700; font-size: 19px",
    ".on-act": "fill: {act-ink}",
    ".ground, .solid": "fill: {ink}",
    ".on": "paint-order: stroke; stroke: {shade}; stroke-width: 6px; stroke-linejoin: round",
    ".hollow": "fill: {paper}; stroke: {ink}; stroke-width: 1.5",
    ".torn": "fill: {paper}",
    ".steel": "fill: {shade}",
    ".act": "fill: {act}",
    ".open": "fill: none; stroke: {ink}; stroke-width: 2; stroke-dasharray: 5 4",
    ".open-on": "stroke: {paper}; stroke-width: 2; stroke-dasharray: 5 4",
    ".wait": "stroke: {edge-ink}; stroke-width: 2",
    ".edge": "stroke: {paper}; stroke-width: 2",
    ".notch": "stroke-width: 3",
    ".limit": "stroke-width: 5",
    ".hair": "stroke: {hair}; stroke-width: 1",
    ".curve": "fill: none; stroke: {ink}; stroke-width: 3; stroke-linejoin: round; vector-effect: non-scaling-stroke",
    ".dashed": "stroke-width: 2; stroke-dasharray: 5 4",
    ".likely": "fill: {act}; fill-opacity: .25",
    ".hatch": "stroke: {edge-ink}; stroke-width: 1.5",
    ".k-dot": "fill: {k-mark}",
    ".k-line": "fill: none; stroke: {k-mark}",
    ".stop-paper": "stop-color: {paper}",
    ".stop-act": "stop-color: {act}",
}


def picture_css(ground: Ground | None = None) -> str:
    """The style sheet of the pictures.

    Args:
        ground: Colors to write in; None leaves them to the page's variables (see `color_css`).
    """
    names = colors(ground or "bright")
    written = names if ground else {name: f"var(--{name})" for name in names}
    face = PAPER_FACE if ground else FACE
    scope = "" if ground else ".picture "
    rules = _RULES | {f".{kind_id(kind)}": f"fill: {{{kind_id(kind)}}}" for kind in kind_looks()}
    lines = []
    for selector, body in rules.items():
        scoped = ", ".join(f"{scope}{one}" for one in selector.split(", "))
        lines.append(f"{scoped} {{ {_colored(body, written).replace('FACE', face)} }}")
    return "\n".join(lines if ground else [*lines, _PAGE_CSS])


def _colored(body: str, written: dict[str, str]) -> str:
    for name, value in written.items():
        body = body.replace(f"{{{name}}}", value)
    return body


_PAGE_CSS = """\
.picture svg { display: block; overflow: visible; }
.picture .full { width: 100%; }
.picture .wide, .picture .wider { display: none; }
.picture ol { list-style: none; margin: 0; padding: 0; }
.picture li p { margin: 0; line-height: 1.3; }
.picture .swatch { display: inline-block; outline: 1px solid var(--edge-ink); }
.picture .kind { color: var(--ink-2); white-space: nowrap; }
.picture li { position: relative; }
@media (min-width: 700px) {
  .picture .wide { display: initial; }
  .picture li.beside p { position: absolute; clip-path: inset(50%); width: 1px; height: 1px; overflow: hidden; }
}
@media (min-width: 1080px) {
  .picture .wider { display: initial; }
  .picture li.beside-wider p { position: absolute; clip-path: inset(50%); width: 1px; height: 1px; overflow: hidden; }
}
@media (forced-colors: active) { .picture .plank, .picture .fade { forced-color-adjust: none; } }"""


_NOT_BRIGHT = ':root:not([data-bay="bright"])'


def color_css() -> str:
    """The colors as variables of a page: light, dark by the device's setting or the page's `data-bay`, and print."""

    def block(ground: Ground) -> str:
        return " ".join(f"--{name}: {value};" for name, value in colors(ground).items())

    return "\n".join(
        (
            f':root, :root[data-bay="bright"] {{ color-scheme: light; {block("bright")} }}',
            f"@media (prefers-color-scheme: dark) {{ {_NOT_BRIGHT} {{ color-scheme: dark; {block('dim')} }} }}",
            f':root[data-bay="dim"] {{ color-scheme: dark; {block("dim")} }}',
            f"@media print {{ :root, :root[data-bay] {{ {block('print')} }} }}",
        )
    )


def shared_defs() -> str:
    """The patterns once a page, before the first picture."""
    return tag("svg", tag("defs", *patterns()), class_="picture defs", width=0, height=0, aria_hidden="true")
