"""The decoding table: which bytes are which quantity, from data/port_parameters.csv and data/headings.csv."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

from lostgallon.shop.channels import channels, table

Turn = Literal["fast", "slow", "kept"]


@dataclass(frozen=True)
class Parameter:
    """One parameter of service 01 or 02: value = scale * raw + offset, raw being `size` bytes from `start` on.

    Attributes:
        pid: The parameter.
        length: Bytes of the whole answer; 0 where that is not certain, so that it is asked alone.
        turn: How often it is asked for.
        channel: The channel of a drive it becomes; empty where it is none.
        start: First byte used.
        size: Bytes used; 0 where the bytes are flags and no number.
        scale: Unit a step.
        offset: Value of raw 0.
        name: Its name in words.
        unit: Its unit as the port sends it.
    """

    pid: int
    length: int
    turn: Turn
    channel: str
    start: int
    size: int
    scale: float
    offset: float
    name: str
    unit: str

    def value(self, data: bytes) -> float:
        """The value that an answer's bytes stand for, in `unit`.

        Source: SAE J1979 / ISO 15031-5, service 01; the table says which rows are from memory.
        """
        return self.scale * int.from_bytes(data[self.start : self.start + self.size], "big") + self.offset

    def holds(self, data: bytes) -> bool:
        """Whether an answer is long enough to be read."""
        return len(data) >= max(self.length, self.start + self.size)


@cache
def parameters() -> Mapping[int, Parameter]:
    """All parameters by number, in the order of need."""
    return {found.pid: found for found in map(_parameter, table("port_parameters.csv"))}


def _parameter(row: Mapping[str, str]) -> Parameter:
    channel = channels().get(row["channel"])

    def number(key: str, otherwise: float) -> float:
        return float(row[key]) if row[key] else otherwise

    turn = row["turn"]
    assert turn in {"fast", "slow", "kept"}, row  # noqa: S101 - a packaged table
    return Parameter(
        pid=int(row["pid"], 16),
        length=int(row["bytes"]),
        turn=turn,  # type: ignore[arg-type]
        channel=row["channel"],
        start=int(number("start", 0)),
        size=int(number("size", channel.bytes if channel else 0)),
        scale=number("scale", channel.scale if channel else 1.0),
        offset=number("offset", channel.offset if channel else 0.0),
        name=row["name"] or (channel.name if channel else ""),
        unit=row["unit"] or (channel.unit if channel else ""),
    )


LARGEST_VALUES, LARGEST_AIR_FLOW = 0x4F, 0x50
_RATIOS, _MANIFOLD, _AIR = (0x24, 0x34, 0x44), 0x0B, 0x10
_RATIO_BITS, _MANIFOLD_BITS, _AIR_BITS = 65535.0, 255.0, 65535.0


def rescaled(known: Mapping[int, Parameter], largest: Mapping[int, bytes]) -> Mapping[int, Parameter]:
    """The table with the scales that a module states for itself.

    A module whose readings don't fit the usual range states the largest value of the range instead: equivalence ratio
    and manifold pressure (parameter 4F, bytes A and D), air flow (parameter 50, byte A). Zero means as usual.

    Args:
        known: The table.
        largest: What the module answered to 4F and 50, as far as it supports them.

    Source: SAE J1979, parameters 4F and 50; from memory.
    """
    scales: dict[int, float] = {}
    values, air = largest.get(LARGEST_VALUES, b""), largest.get(LARGEST_AIR_FLOW, b"")
    if len(values) == 4:
        scales |= {pid: values[0] / _RATIO_BITS for pid in _RATIOS if values[0]}
        scales |= {_MANIFOLD: 10.0 * values[3] / _MANIFOLD_BITS} if values[3] else {}
    if air and air[0]:
        scales[_AIR] = 10.0 * air[0] / _AIR_BITS
    return {pid: replace(one, scale=scales.get(pid, one.scale)) for pid, one in known.items()}
