"""Logs with one reading a line: a time, what was read, its value, perhaps its unit."""

import hashlib
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl

from lostgallon.readers.drive_blocks import Progress, Wanted, blocks
from lostgallon.readers.drive_clock import Clock, seconds, timeline
from lostgallon.readers.drive_layout import Layout
from lostgallon.readers.drive_series import Series, Source
from lostgallon.shop.filled import Rejected

NAME_WORDS = {"name", "pid", "parameter", "signal", "channel", "item", "quantity"}
VALUE_WORDS = {"value", "reading", "values"}
UNIT_WORDS = {"unit", "units"}
MOST_COLUMNS = 6


@dataclass(frozen=True)
class Places:
    """Where name, value and unit stand in a line; unit is None where the log gives none."""

    name: int
    value: int
    unit: int | None


def one_reading_a_line(layout: Layout) -> Places | None:
    """The places of name and value if this log has one reading a line, else None."""
    words = [set(re.findall(r"[a-z]+", text.lower())) for text in layout.headings]
    name = next((at for at, found in enumerate(words) if found & NAME_WORDS), None)
    value = next((at for at, found in enumerate(words) if found & VALUE_WORDS), None)
    if name is None or value is None or name == value or len(words) > MOST_COLUMNS:
        return None
    unit = next((at for at, found in enumerate(words) if found & UNIT_WORDS and at not in {name, value}), None)
    return Places(name, value, unit)


def read_long(
    path: Path, layout: Layout, places: Places, *, clock: Clock, progress: Progress | None
) -> tuple[list[Series], Source]:
    """Read such a log into one series a name.

    Args:
        path: The file.
        layout: Its layout.
        places: Where name and value stand.
        clock: Its clock.
        progress: Told how far the reading is.
    """
    texts = [places.name, *([places.unit] if places.unit is not None else [])]
    texts += [clock.taken.place] if clock.is_text else []
    plain = [places.value, *([] if clock.is_text else [clock.taken.place])]
    digest = hashlib.sha256()
    frames, raw_s, lines = [], [], []
    rejected: list[Rejected] = []
    rows = 0
    for block in blocks(path, layout, wanted=Wanted(tuple(plain), tuple(texts)), digest=digest, progress=progress):
        rejected += block.rejected
        rows += len(block.rejected) + len(block.lines)
        if len(block.lines):
            frames.append(_named(block.frame, places))
            raw_s.append(seconds(block.frame, clock))
            lines.append(block.lines)
    if not frames:
        frames, raw_s, lines = [_nothing()], [np.empty(0)], [np.empty(0, np.int64)]
    times = timeline(np.concatenate(raw_s), np.concatenate(lines), clock)
    rejected += times.rejected
    frame = pl.concat(frames)[times.rows].with_columns(time_s=pl.Series(times.time_s))
    record = clock.taken.record
    source = Source(path, record, tuple(rejected), times.notes, rows, digest.hexdigest())
    return _by_name(frame), source


def _named(frame: pl.DataFrame, places: Places) -> pl.DataFrame:
    unit = pl.lit("") if places.unit is None else pl.col(f"c{places.unit}").fill_null("")
    return frame.select(
        name=pl.col(f"c{places.name}").str.strip_chars(), unit=unit.str.strip_chars(), value=pl.col(f"c{places.value}")
    )


def _nothing() -> pl.DataFrame:
    return pl.DataFrame(schema={"name": pl.String, "unit": pl.String, "value": pl.Float64})


def _by_name(frame: pl.DataFrame) -> list[Series]:
    """One series a name; readings of one stamp are averaged."""
    readable = frame.drop_nulls(["name", "value"])
    found = []
    for (name,), part in readable.group_by("name", maintain_order=True):
        even = part.group_by("time_s", maintain_order=True).agg(pl.col("value").mean())
        found.append(Series(str(name), part["unit"][0], even["time_s"].to_numpy(), even["value"].to_numpy()))
    return found
