"""A sheet of fixed-width text: marks put at columns, printed with or without color."""

import textwrap
from collections.abc import Iterable

PLAIN = -1
"""The terminal's own ink."""


class Line:
    """One line of a terminal, written by column.

    Args:
        width: Columns.
        text: What stands at its left end to begin with.
    """

    def __init__(self, width: int, text: str = "") -> None:
        self._marks = [" "] * width
        self._inks = [PLAIN] * width
        self.put(0, text)

    def put(self, column: int, text: str, *, ink: int = PLAIN) -> None:
        """Writes text from a column on; what does not fit on the line is left out."""
        for place, mark in enumerate(text, start=column):
            if 0 <= place < len(self._marks):
                self._marks[place] = mark
                self._inks[place] = ink

    def put_if_free(self, column: int, text: str, *, clear: int = 1) -> None:
        """Writes text where nothing stands yet, with `clear` blanks kept on both sides."""
        around = self._marks[max(0, column - clear) : column + len(text) + clear]
        if column >= 0 and column + len(text) <= len(self._marks) and not "".join(around).strip():
            self.put(column, text)

    def printed(self, *, color: bool) -> str:
        """The line as a string without blanks at its end; with color, runs of ink are 256-color codes."""
        text = "".join(self._marks).rstrip()
        if not color:
            return text
        parts, ink = [], PLAIN
        for mark, wanted in zip(text, self._inks, strict=False):
            if wanted != ink and mark != " ":
                parts.append("\x1b[39m" if wanted == PLAIN else f"\x1b[38;5;{wanted}m")
                ink = wanted
            parts.append(mark)
        return "".join(parts) + ("\x1b[39m" if ink != PLAIN else "")


def wrapped(text: str, width: int, *, first: str = " ", rest: str | None = None) -> list[Line]:
    """A paragraph broken into lines.

    Args:
        text: The paragraph.
        width: Columns of the line.
        first: What stands before the first line.
        rest: What stands before the others; as `first` without it.
    """
    rows = textwrap.wrap(
        " ".join(text.split(" ")),
        width - 1,
        initial_indent=first,
        subsequent_indent=first if rest is None else rest,
        break_on_hyphens=False,
    )
    return [Line(width, row) for row in rows]


def heading(left: str, right: str, width: int) -> list[Line]:
    """A heading with a figure at the right end; on more lines where one is too short."""
    if len(left) + len(right) + 4 <= width:
        line = Line(width, f" {left}")
        line.put(width - 1 - len(right), right)
        return [line]
    lines = wrapped(left, width, rest="   ")
    return [*lines, Line(width, f" {right:>{width - 2}}")] if right else lines


def printed(lines: Iterable[Line], *, color: bool) -> str:
    """Lines as one text."""
    return "\n".join(line.printed(color=color) for line in lines)
