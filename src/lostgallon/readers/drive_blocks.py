"""The data lines of a log in blocks of bounded size, each checked for its number of cells before it is parsed."""

import csv
import hashlib
import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
import polars as pl
from numpy.typing import NDArray

from lostgallon.readers.drive_layout import Layout
from lostgallon.shop.ahead import ahead
from lostgallon.shop.filled import Rejected
from lostgallon.shop.trouble import BadFile

BLOCK_BYTES = 1 << 23
SAMPLE_BYTES = 1 << 16
NEWLINE, QUOTE = 10, 34
UNCLOSED = -1
Progress = Callable[[int, int], None]
"""Called with bytes read so far and bytes in all."""


@dataclass(frozen=True)
class Block:
    """Whole data lines: a frame of the wanted columns, the line number of each row, and what was not used."""

    frame: pl.DataFrame
    lines: NDArray[np.int64]
    rejected: tuple[Rejected, ...]


@dataclass(frozen=True)
class _Checked:
    """Lines as UTF-8 of which each has the right number of cells, their line numbers, what was left out, bytes read."""

    text: bytes
    lines: NDArray[np.int64]
    rejected: tuple[Rejected, ...]
    read: int


@dataclass(frozen=True)
class Wanted:
    """The columns to parse: places of numbers and places of text."""

    numbers: tuple[int, ...]
    texts: tuple[int, ...]


def blocks(
    path: Path,
    layout: Layout,
    *,
    wanted: Wanted,
    digest: "hashlib._Hash",
    progress: Progress | None = None,
) -> Iterator[Block]:
    """Read the data lines from front to back.

    Args:
        path: The log.
        layout: Its layout.
        wanted: Which columns to parse and how.
        digest: Takes every byte of the file as it lies.
        progress: Told how far the reading is.
    """
    total = path.stat().st_size
    done = 0
    for checked in ahead(_checked(path, layout, digest)):
        done += checked.read
        frame = _frame(checked.text, layout, wanted) if len(checked.lines) else pl.DataFrame()
        yield Block(frame, checked.lines, checked.rejected)
        if progress:
            progress(min(done, total), total)


def sample_rows(path: Path, layout: Layout) -> list[tuple[str, ...]]:
    """Rows as text from the head and from four later places of the file, for the recognition of columns."""
    rows = list(layout.head)
    size = path.stat().st_size
    if size <= 2 * SAMPLE_BYTES or layout.encoding == "utf-16":
        return rows + _tail_rows(path, layout)
    with path.open("rb") as file:
        for share in (0.25, 0.5, 0.75, 1.0):
            file.seek(max(int(share * size) - SAMPLE_BYTES, layout.offset))
            lines = file.read(SAMPLE_BYTES).decode(layout.encoding, errors="replace").splitlines()[1:-1]
            rows += _split_rows(lines[:: max(len(lines) // 150, 1)], layout)
    return rows


def _tail_rows(path: Path, layout: Layout) -> list[tuple[str, ...]]:
    lines = path.read_bytes().decode(layout.encoding, errors="replace").splitlines()[layout.line - 1 :]
    later = lines[len(layout.head) :]
    return _split_rows(later[:: max(len(later) // 600, 1)], layout)


def _split_rows(lines: list[str], layout: Layout) -> list[tuple[str, ...]]:
    split = csv.reader(lines, delimiter=layout.separator)
    return [tuple(cell.strip() for cell in row) for row in split if len(row) == layout.cells]


def _checked(path: Path, layout: Layout, digest: "hashlib._Hash") -> Iterator[_Checked]:
    line = layout.line
    for text, read in _whole_lines(path, layout, digest):
        checked, count = _check(text, layout, first_line=line, read=read)
        line += count
        yield checked


def _whole_lines(path: Path, layout: Layout, digest: "hashlib._Hash") -> Iterator[tuple[bytes, int]]:
    """Blocks that end at a line's end, as UTF-8, without the heading, with the bytes read from the file for each."""
    if layout.encoding == "utf-16":
        raw = path.read_bytes()
        digest.update(raw)
        text = raw.decode("utf-16", errors="replace").removeprefix("\ufeff")
        yield _cut_head(text, layout).encode(), len(raw)
        return
    with path.open("rb") as file:
        digest.update(file.read(layout.offset))
        while block := _to_a_lines_end(file):
            digest.update(block)
            yield _as_utf8(block, layout.encoding), len(block)


def _to_a_lines_end(file: BinaryIO) -> bytes:
    """The next block of a file and the rest of its last line, read at once and never joined from pieces."""
    start = file.tell()
    file.seek(BLOCK_BYTES, os.SEEK_CUR)
    file.readline()
    size = file.tell() - start
    file.seek(start)
    return file.read(size)


def _cut_head(text: str, layout: Layout) -> str:
    return "".join(text.splitlines(keepends=True)[layout.line - 1 :])


def _as_utf8(block: bytes, encoding: str) -> bytes:
    if block.find(b"\r") >= 0:
        block = block.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return block if encoding == "utf-8" else block.decode(encoding, errors="replace").encode()


def _check(text: bytes, layout: Layout, *, first_line: int, read: int) -> tuple[_Checked, int]:
    """One block without its blank lines and those with the wrong number of cells, which are named; its line count."""
    if not text.endswith(b"\n"):
        text += b"\n"
    text, unclosed = _without_quotes(text, layout) if b'"' in text else (text, None)
    cells, blank = _cells_a_line(text, layout.separator)
    count = len(cells)
    lines = first_line + np.arange(count)
    if unclosed is not None:
        cells[unclosed] = UNCLOSED
    wrong = (cells != layout.cells) & ~blank
    rejected: tuple[Rejected, ...] = ()
    if wrong.any() or blank.any():
        kept = text.split(b"\n")[:-1]
        rejected = tuple(_why(int(lines[at]), int(cells[at]), layout) for at in np.flatnonzero(wrong))
        good = ~wrong & ~blank
        text = b"\n".join(kept[at] for at in np.flatnonzero(good)) + b"\n"
        lines = lines[good]
    return _Checked(text, lines, rejected, read), count


def _without_quotes(text: bytes, layout: Layout) -> tuple[bytes, NDArray[np.bool_]]:
    """The block with its quotation marks taken off, and which lines leave one open.

    Where every cell of every line is quoted there is nothing to tell apart. Else a separator between quotation marks
    is no separator: it becomes the decimal point it stands for, else a space.
    """
    separators = text.count(layout.separator.encode())
    if text.count(f'"{layout.separator}"'.encode()) == separators:
        lines = text.count(b"\n")
        if text.count(b'"') == 2 * (separators + lines):
            return text.translate(None, b'"'), np.zeros(lines, bool)
    raw = np.frombuffer(text, np.uint8).copy()
    ends = np.flatnonzero(raw == NEWLINE)
    marks = raw == QUOTE
    in_line = _a_line(marks.view(np.uint8), ends)
    before = np.repeat(np.append(0, np.cumsum(in_line)[:-1]), np.diff(ends, prepend=-1))
    inside = ((np.cumsum(marks, dtype=np.int64) - before) & 1).astype(bool)
    raw[inside & (raw == ord(layout.separator))] = ord("." if layout.decimal == layout.separator else " ")
    return raw[~marks].tobytes(), in_line % 2 == 1


def _cells_a_line(text: bytes, separator: str) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    raw = np.frombuffer(text, np.uint8)
    ends = np.flatnonzero(raw == NEWLINE)
    counts = _a_line((raw == ord(separator)).view(np.uint8), ends)
    lengths = np.diff(ends, prepend=-1) - 1
    blank = lengths == 0
    for at in np.flatnonzero((lengths > 0) & (lengths < 4)):
        start = ends[at] - lengths[at]
        blank[at] = not text[start : ends[at]].strip()
    return counts + 1, blank


def _a_line(marks: NDArray[np.uint8], ends: NDArray[np.int64]) -> NDArray[np.int64]:
    """Marks (0 or 1) a line. They are added up in bytes, which is quick, and again in full where a byte ran over."""
    starts = np.append(0, ends[:-1] + 1)
    counts = np.add.reduceat(marks, starts, dtype=np.uint8).astype(np.int64)
    if counts.sum() == np.count_nonzero(marks):
        return counts
    return np.asarray(np.add.reduceat(marks, starts, dtype=np.int64), np.int64)


def _why(line: int, cells: int, layout: Layout) -> Rejected:
    if cells == UNCLOSED:
        return Rejected(line=line, why="a quotation mark that is not closed")
    kind = "cut short" if cells < layout.cells else "too long"
    return Rejected(line=line, why=f"{kind}: {cells} cells where the lines of this log have {layout.cells}")


def _frame(text: bytes, layout: Layout, wanted: Wanted) -> pl.DataFrame:
    schema = {f"c{place}": pl.String if place in wanted.texts else pl.Float64 for place in range(layout.cells)}
    chosen = sorted({*wanted.numbers, *wanted.texts})
    try:
        return pl.read_csv(
            text,
            has_header=False,
            separator=layout.separator,
            decimal_comma=layout.decimal == "," and layout.separator != ",",
            quote_char=None,
            schema=schema,
            columns=chosen,
            ignore_errors=True,
            raise_if_empty=False,
        )
    except pl.exceptions.PolarsError as problem:
        sentence = str(problem).splitlines()[0]
        raise BadFile("the log", found=f"a block that can't be parsed ({sentence})", expected="plain CSV") from None
