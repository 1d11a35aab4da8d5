"""From cells to a channel: units, words such as "closed loop", readings that can't be, readings not supported."""

import re
from dataclasses import dataclass

import numpy as np
import polars as pl

from lostgallon.readers.drive_columns import Taken
from lostgallon.readers.drive_units import Line, line_of
from lostgallon.shop.channels import Channel
from lostgallon.shop.spread import Floats

CODE = re.compile(r"\b[PCBU][0-3][0-9A-F]{3}\b")
BEYOND_ANYTHING = 1e15
STATUS_WORDS = (
    (re.compile(r"closed.*fault|cl[ _-]?fault"), 16.0),
    (re.compile(r"open.*fault|ol[ _-]?fault"), 8.0),
    (re.compile(r"open.*(driv|decel|load|power)|ol[ _-]?(drive|decel|load)"), 4.0),
    (re.compile(r"closed|^cl\b|cl$"), 2.0),
    (re.compile(r"open|^ol\b|ol$"), 1.0),
    (re.compile(r"^(on|yes|true|applied|locked|pressed|active)$"), 1.0),
    (re.compile(r"^(off|no|false|released|unlocked|inactive)$"), 0.0),
)
"""Words of a status cell and the number the port sends for it (SAE J1979 fuel system status, one bit a state)."""


@dataclass(frozen=True)
class Signal:
    """A channel's samples in the unit it is kept in, and what has to be said about them."""

    values: Floats
    supported: bool
    note: str


def status_numbers(cells: pl.Series) -> Floats:
    """Status cells as the number the port sends, NaN where a cell says nothing. Shape (rows,)."""
    number = cells.cast(pl.Float64, strict=False)
    if number.null_count() == cells.null_count():
        return number.to_numpy().astype(np.float64)
    words = {word: _status(word) for word in cells.unique().drop_nulls().to_list()}
    return np.array([words.get(cell, np.nan) for cell in cells.to_list()], np.float64)


def _status(word: str) -> float:
    plain = word.strip().lower()
    try:
        return float(plain)
    except ValueError:
        return next((value for pattern, value in STATUS_WORDS if pattern.search(plain)), np.nan)


def codes_in(cells: pl.Series) -> set[str]:
    """Trouble codes of SAE J2012 form in text cells."""
    return {code for cell in cells.unique().drop_nulls().to_list() for code in CODE.findall(cell.upper())}


def signal(raw: Floats, taken: Taken) -> Signal:
    """A column as a channel: converted, freed of what can't be, judged for support.

    Args:
        raw: The cells as numbers in the unit read; NaN where missing. Changed in place. Shape (rows,).
        taken: The column.
    """
    channel = taken.channel
    name = f"{channel.name} ({taken.record.heading})"
    low, high = _bounds(raw)
    if not low <= high:
        return Signal(raw, supported=False, note=f"{name}: no readings")
    line = line_of(taken.unit, channel.kind)
    if low == high and (reason := _never_sent(low, channel, line)):
        return Signal(raw, supported=False, note=f"{name}: {reason}, taken as not supported")
    if channel.zero_never and low <= 0.0:
        raw[raw == 0.0] = np.nan
    if (line.factor, line.offset) != (1.0, 0.0):
        raw *= line.factor
        raw += line.offset
    bounds = (line.factor * low + line.offset, line.factor * high + line.offset)
    note = _drop_impossible(raw, channel, name=name, bounds=bounds)
    if note and not np.isfinite(raw).any():
        return Signal(raw, supported=False, note=note)
    return Signal(raw, supported=True, note=note)


def _bounds(raw: Floats) -> tuple[float, float]:
    """Lowest and highest reading, what no quantity reaches being taken out; NaN where there is none."""
    low, high = float(np.fmin.reduce(raw)), float(np.fmax.reduce(raw))
    if low > -BEYOND_ANYTHING and high < BEYOND_ANYTHING:
        return low, high
    raw[~(np.abs(raw) < BEYOND_ANYTHING)] = np.nan
    return float(np.fmin.reduce(raw)), float(np.fmax.reduce(raw))


def _never_sent(value: float, channel: Channel, line: Line) -> str:
    """Why a column that is always this value is no reading, in words; empty where it is one."""
    if channel.zero_never and value == 0.0:
        return "always 0, which can't be"
    port = line_of(channel.unit, channel.kind)
    sent = (line.factor * value + line.offset - port.offset) / port.factor
    return f"always {value:g}" if channel.empty is not None and abs(sent - channel.empty) < 1e-6 else ""


def _drop_impossible(raw: Floats, channel: Channel, *, name: str, bounds: tuple[float, float]) -> str:
    if channel.low is None or channel.high is None:
        return ""
    port = line_of(channel.unit, channel.kind)
    low = port.factor * channel.low + port.offset - 1e-6
    high = port.factor * channel.high + port.offset + 1e-6
    if low <= bounds[0] and bounds[1] <= high:
        return ""
    wrong = (raw < low) | (raw > high)
    count = int(np.count_nonzero(wrong))
    if not count:
        return ""
    raw[wrong] = np.nan
    return f"{name}: {count} readings outside {channel.low:g} to {channel.high:g} {channel.unit} left out"
