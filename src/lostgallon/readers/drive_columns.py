"""Which column is taken as what, and why: by its heading and unit, checked against what is physically possible.

Where a heading gives no unit, the numbers may tell: a unit is taken if it alone puts the readings in the possible
range, or if they step as the port sends them and nothing else in the file speaks against it. What stays open is said,
not guessed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from lostgallon.readers.drive_headings import Candidate, Heading, candidates, read_heading
from lostgallon.readers.drive_layout import Layout
from lostgallon.readers.drive_units import line_of, unit_of, units_of
from lostgallon.shop.channels import Channel, channels
from lostgallon.shop.filled import ColumnTaken
from lostgallon.shop.spread import Floats

IMPERIAL = {"mi/h", "degF", "psi", "inHg", "lb/min", "gal/h", "mi", "ft"}
_BY_TEXT = {"text", "status", "clock"}
_NO_UNIT_NEEDED = {"count", "ratio", "status", "text", "share", "voltage", "angle", "rotation", "time", "clock"}


@dataclass(frozen=True)
class Taken:
    """A column in use: its place in the line, the channel, the unit read, and the record that says why."""

    place: int
    channel: Channel
    unit: str
    record: ColumnTaken


@dataclass(frozen=True)
class Open:
    """A column that could be several things: what is missing, in words a person can answer."""

    place: int
    heading: str
    channel: str
    choices: tuple[str, ...]
    question: str


@dataclass(frozen=True)
class Recognized:
    """All columns judged. `clocks` are the columns that could carry the time, best heading first."""

    taken: tuple[Taken, ...]
    clocks: tuple[Taken, ...]
    open: tuple[Open, ...]


def numbers(cells: Sequence[str], decimal: str) -> Floats:
    """Cells as numbers, NaN where a cell is none. Shape (cells,)."""
    return np.array([_number(cell, decimal) for cell in cells])


def recognize(layout: Layout, sample: Sequence[Sequence[str]]) -> Recognized:
    """Judge every column from its heading, its unit and a sample of its cells.

    Args:
        layout: The layout of the file.
        sample: Rows from the whole length of the file, each with a cell for every heading.
    """
    headings = [read_heading(text, unit) for text, unit in zip(layout.headings, layout.units, strict=False)]
    columns = [[row[place] if place < len(row) else "" for row in sample] for place in range(len(headings))]
    states_imperial = any(_states_imperial(heading) for heading in headings)
    judge = _Judge(layout.decimal, states_imperial=states_imperial)
    verdicts: list[_Verdict] = []
    for place, heading in enumerate(headings):
        named = judge.columns(place, heading, candidates(heading)[:3], cells=columns[place])
        verdicts += named or judge.columns(place, heading, _by_unit_alone(heading), cells=columns[place])
    return _assign(verdicts)


UNIT_TELLS = {"speed": "speed_m_s", "rotation": "rpm", "mass flow": "air_flow_g_s", "fuel rate": "fuel_rate_l_h"}
"""Kinds that one channel alone is usually logged in, so that the unit names it where the heading does not."""


def _by_unit_alone(heading: Heading) -> list[Candidate]:
    return [
        Candidate(channels()[name], 0.01, f"the heading says nothing known, but its unit {unit} is one of {kind}")
        for kind, name in UNIT_TELLS.items()
        if (unit := unit_of(heading.unit, kind)) and heading.unit.lower() != "gps"
    ]


def _states_imperial(heading: Heading) -> bool:
    return any(
        unit_of(heading.unit, kind) in IMPERIAL
        for kind in ("speed", "temperature", "pressure", "mass flow", "distance")
    )


@dataclass(frozen=True)
class _Verdict:
    place: int
    score: float
    taken: Taken | None
    open: Open | None
    channel: Channel


def _assign(verdicts: list[_Verdict]) -> Recognized:
    """Give every channel its best column and every column its best channel."""
    taken: dict[str, Taken] = {}
    opened: dict[str, Open] = {}
    clocks: list[tuple[float, Taken]] = []
    used: set[int] = set()
    for verdict in sorted(verdicts, key=lambda verdict: (-verdict.score, verdict.place)):
        channel = verdict.channel.id
        if channel in {"time_s", "run_time_s"} and verdict.taken:
            clocks.append((verdict.score, verdict.taken))
        if verdict.place in used or channel in taken or channel in opened:
            continue
        used.add(verdict.place)
        if verdict.taken:
            alike = [other for other in verdicts if _alike(verdict, other)]
            taken[channel] = _said(verdict.taken, alike)
        elif verdict.open:
            opened[channel] = verdict.open
    named = [one for name, one in taken.items() if name not in {"time_s", "run_time_s"}]
    kept = tuple(sorted(named, key=lambda one: one.place))
    return Recognized(kept, tuple(clock for _, clock in clocks), tuple(opened.values()))


def _alike(chosen: _Verdict, other: _Verdict) -> bool:
    same = other.channel is chosen.channel and other.score == chosen.score
    return same and other.place != chosen.place and other.taken is not None


def _said(taken: Taken, alike: list[_Verdict]) -> Taken:
    """The column with a word on others that read the same; a choice between them is said, never silent."""
    if not alike:
        return taken
    others = ", ".join(repr(other.taken.record.heading) for other in alike if other.taken)
    record = replace(taken.record, why=f"{taken.record.why}; the first of several that read alike (also {others})")
    return replace(taken, record=record)


class _Judge:
    """Judges one column for one channel, with what the rest of the file says about units."""

    def __init__(self, decimal: str, *, states_imperial: bool) -> None:
        self.decimal = decimal
        self.states_imperial = states_imperial

    def columns(
        self, place: int, heading: Heading, found: Sequence[Candidate], *, cells: Sequence[str]
    ) -> list[_Verdict]:
        """What a column may be, by each of its candidates."""
        judged = [self.column(place, heading, candidate=candidate, cells=cells) for candidate in found]
        return [verdict for verdict in judged if verdict is not None]

    def column(self, place: int, heading: Heading, *, candidate: Candidate, cells: Sequence[str]) -> _Verdict | None:
        channel = candidate.channel
        if channel.kind == "clock" and (stated := unit_of(heading.unit, "clock")):
            return self._accept(place, heading, candidate, unit=stated, why=f"the unit {stated} is stated")
        if channel.kind in _BY_TEXT:
            return self._accept(place, heading, candidate, unit=channel.unit, why="")
        values = numbers(cells, self.decimal)
        values = values[np.isfinite(values)]
        if heading.unit:
            unit = unit_of(heading.unit, channel.kind)
            if unit is None:
                return None
            if heading.mended and not _possible(values, channel, unit):
                return None
            return self._accept(place, heading, candidate, unit=unit, why=f"the unit {unit} is stated")
        return self._without_unit(place, heading, candidate, values)

    def _without_unit(self, place: int, heading: Heading, candidate: Candidate, values: Floats) -> _Verdict | None:
        channel = candidate.channel
        still = not np.any(values != 0.0)
        if channel.kind in _NO_UNIT_NEEDED or still:
            fits = channel.kind == "time" or still or _possible(values, channel, channel.unit)
            why = f"no unit stated; the port sends {channel.unit}" if channel.unit not in {"1", "%"} else ""
            return self._accept(place, heading, candidate, unit=channel.unit, why=why) if fits else None
        fitting = [unit for unit in units_of(channel.kind) if _possible(values, channel, unit)]
        if not fitting:
            return None
        if fitting == [channel.unit]:
            why = f"no unit stated; only {channel.unit} puts the readings where they can be"
            return self._accept(place, heading, candidate, unit=channel.unit, why=why)
        if channel.unit in fitting and _steps_as_sent(values, channel) and not self.states_imperial:
            why = f"no unit stated; the readings step as the port sends {channel.unit}"
            return self._accept(place, heading, candidate, unit=channel.unit, why=why)
        if len(fitting) == 1:
            why = f"no unit stated; only {fitting[0]} puts the readings where they can be"
            return self._accept(place, heading, candidate, unit=fitting[0], why=why)
        question = f"the column {heading.text.strip()!r} without a unit"
        opened = Open(place, heading.text, channel.id, tuple(fitting), question)
        return _Verdict(place, candidate.score - 1.0, None, opened, channel)

    def _accept(self, place: int, heading: Heading, candidate: Candidate, *, unit: str, why: str) -> _Verdict:
        reason = f"{candidate.why}; {why}" if why else candidate.why
        record = ColumnTaken(taken_as=candidate.channel.id, heading=heading.text.strip(), unit=unit, why=reason)
        taken = Taken(place, candidate.channel, unit, record)
        return _Verdict(place, candidate.score, taken, None, candidate.channel)


def _possible(values: Floats, channel: Channel, unit: str) -> bool:
    """Whether at least 95 % of the readings, and the highest of them, can be that quantity in that unit."""
    kept, port = line_of(unit, channel.kind), line_of(channel.unit, channel.kind)
    seen = (kept.factor * values + kept.offset - port.offset) / port.factor
    if channel.low is not None and channel.high is not None:
        inside = (seen >= channel.low - 1e-6) & (seen <= channel.high + 1e-6)
        if np.mean(inside) < 0.95:
            return False
    if channel.top_low is None or channel.top_high is None:
        return True
    top = float(np.quantile(seen, 0.99))
    return bool(channel.top_low <= top <= channel.top_high)


def _steps_as_sent(values: Floats, channel: Channel) -> bool:
    """Whether the readings are whole multiples of the port's step."""
    if channel.step is None or channel.step < 0.05:
        return False
    multiples = values / channel.step
    return bool(np.mean(np.abs(multiples - np.round(multiples)) < 0.02) > 0.98)


def _number(cell: str, decimal: str) -> float:
    try:
        return float(cell.replace(",", ".") if decimal == "," else cell)
    except ValueError:
        return np.nan


def by_map(layout: Layout, chosen: Mapping[int, tuple[Channel, str]]) -> Recognized:
    """The columns as a person chose them: place to channel and unit."""
    taken = [
        Taken(
            place,
            channel,
            unit,
            ColumnTaken(channel.id, layout.headings[place].strip(), unit, "chosen in the columns file"),
        )
        for place, (channel, unit) in chosen.items()
    ]
    clocks = tuple(one for one in taken if one.channel.id in {"time_s", "run_time_s"})
    return Recognized(tuple(one for one in taken if one not in clocks), clocks, ())
