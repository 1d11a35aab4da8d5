"""From the bytes of an answer to what they say. Bytes that don't fit are refused, never guessed at.

Source of every layout: SAE J1979 / ISO 15031-5 as used on CAN (ISO 15765-4), from memory where no published example
is at hand (docs/port.md says which).
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from lostgallon.port.parameters import Parameter
from lostgallon.shop.driven import Code
from lostgallon.shop.recorded import Misfires, Readiness
from lostgallon.shop.trouble_codes import code_of, spelled

GROUP = 0x20
"""Which parameters are supported is told for 32 at a time."""
BITMAP_BYTES = 4


class Garbled(Exception):
    """An answer whose bytes don't fit what was asked."""


def supported(payload: bytes) -> tuple[int, ...]:
    """Numbers supported of the 32 after the one asked for, from an answer to service 01, 06 or 09.

    Raises:
        Garbled: If it is not two bytes and a bitmap.
    """
    base, bits = payload[1] if len(payload) > 1 else 0, payload[2:]
    if len(bits) != BITMAP_BYTES or base % GROUP:
        raise Garbled(payload.hex(" "))
    word = int.from_bytes(bits, "big")
    return tuple(base + number for number in range(1, GROUP + 1) if word >> (GROUP - number) & 1)


def values_of(payload: bytes, asked: Collection[int], known: Mapping[int, Parameter]) -> dict[int, bytes]:
    """The bytes of each parameter in an answer to service 01.

    Raises:
        Garbled: If a parameter was not asked for, comes twice or does not fill its bytes.
    """
    found: dict[int, bytes] = {}
    rest = payload[1:]
    while rest:
        pid, data = rest[0], rest[1:]
        if pid not in asked or pid in found or pid not in known:
            raise Garbled(payload.hex(" "))
        parameter = known[pid]
        # Asked alone, an answer may be longer than its first edition: further banks, further sensors.
        length = len(data) if len(asked) == 1 else parameter.length
        if not length or len(data) < length or not parameter.holds(data[:length]):
            raise Garbled(payload.hex(" "))
        found[pid], rest = data[:length], data[length:]
    return found


def codes_of(payload: bytes) -> tuple[Code, ...]:
    """Codes of an answer to service 03, 07 or 0A: a count, then two bytes each.

    Raises:
        Garbled: If the count and the bytes differ.
    """
    count, data = payload[1] if len(payload) > 1 else -1, payload[2:]
    if count * 2 != len(data):
        raise Garbled(payload.hex(" "))
    pairs = (data[at : at + 2] for at in range(0, len(data), 2))
    return tuple(code_of(spelled(pair)) for pair in pairs if pair != b"\0\0")


def frozen_value(payload: bytes, parameter: Parameter) -> float | None:
    """The value of one parameter in frame 0; None where the module keeps none.

    Raises:
        Garbled: If it is another parameter or frame, or too short.
    """
    data = frozen_bytes(payload, parameter.pid)
    if not data:
        return None
    if not parameter.holds(data):
        raise Garbled(payload.hex(" "))
    return parameter.value(data)


def frozen_bytes(payload: bytes, pid: int) -> bytes:
    """The bytes of one parameter in frame 0.

    Raises:
        Garbled: If it is another parameter or frame.
    """
    if payload[1:3] != bytes([pid, 0]):
        raise Garbled(payload.hex(" "))
    return payload[3:]


def frozen_code(payload: bytes) -> str:
    """The code that kept frame 0; empty where there is none.

    Raises:
        Garbled: If it is not two bytes.
    """
    data = frozen_bytes(payload, 0x02)
    if data and len(data) != 2:
        raise Garbled(payload.hex(" "))
    return "" if data in (b"", b"\0\0") else spelled(data)


CONTINUOUS = ("misfire", "fuel system", "components")
BY_SPARK = (
    "catalyst",
    "heated catalyst",
    "evaporative system",
    "secondary air",
    "particulate filter",
    "oxygen sensor",
    "oxygen sensor heater",
    "exhaust recirculation or valve timing",
)
"""Monitors of a spark engine, bits 0 to 7 (bit 4 was the air conditioning's refrigerant in early editions)."""
LAMP_BIT, COUNT_BITS, COMPRESSION_BIT = 0x80, 0x7F, 0x08


def by_compression(data: bytes) -> bool:
    """Whether parameter 01 tells of a compression-ignition engine, which this program does not cover."""
    return len(data) == BITMAP_BYTES and bool(data[1] & COMPRESSION_BIT)


def readiness_of(data: bytes) -> Readiness:
    """The four bytes of parameter 01.

    Raises:
        Garbled: If there are not four.
    """
    if len(data) != BITMAP_BYTES:
        raise Garbled(data.hex(" "))
    lamp, steady, has, lacks = data
    has_run = [(name, steady >> bit & 1, steady >> bit + 4 & 1) for bit, name in enumerate(CONTINUOUS)]
    if not by_compression(data):
        has_run += [(name, has >> bit & 1, lacks >> bit & 1) for bit, name in enumerate(BY_SPARK)]
    return Readiness(
        lamp_on=bool(lamp & LAMP_BIT),
        codes=lamp & COUNT_BITS,
        complete=tuple(name for name, there, open_ in has_run if there and not open_),
        incomplete=tuple(name for name, there, open_ in has_run if there and open_),
    )


@dataclass(frozen=True)
class TestResult:
    """One result of service 06: monitor, test, scale and raw value."""

    monitor: int
    test: int
    scale: int
    raw: int


RESULT_BYTES = 9
FIRST_CYLINDER, LAST_CYLINDER = 0xA2, 0xAD
TEN_DRIVES, THIS_DRIVE, COUNTS = 0x0B, 0x0C, 0x24


def results_of(payload: bytes) -> tuple[TestResult, ...]:
    """Results of one monitor: monitor, test, scale, then value, lowest and highest allowed in two bytes each.

    Raises:
        Garbled: If the bytes are no whole results, or results of several monitors.
    """
    data = payload[1:]
    pieces = [data[at : at + RESULT_BYTES] for at in range(0, len(data), RESULT_BYTES)]
    if not pieces or len(pieces[-1]) != RESULT_BYTES or {piece[0] for piece in pieces} != {payload[1]}:
        raise Garbled(payload.hex(" "))
    return tuple(TestResult(one[0], one[1], one[2], int.from_bytes(one[3:5], "big")) for one in pieces)


def misfires_of(results: Collection[TestResult]) -> Misfires | None:
    """Counts of one cylinder, from the results of its monitor; None where they are no counts.

    Source: SAE J1979 appendix D: monitors A2 to AD are cylinders 1 to 12, test 0B the mean of the last ten drives, 0C
    this or the last drive, scale 24 plain counts.
    """
    counts = {one.test: float(one.raw) for one in results if one.scale == COUNTS}
    cylinder = next(iter(results)).monitor - FIRST_CYLINDER + 1 if results else 0
    if not counts.keys() & {TEN_DRIVES, THIS_DRIVE}:
        return None
    return Misfires(cylinder, counts.get(TEN_DRIVES), counts.get(THIS_DRIVE))


VIN_BYTES = 17


def vin_of(payload: bytes) -> str:
    """The vehicle identification number, as sent: one item of 17 letters, perhaps with zeros before it.

    Raises:
        Garbled: If there are not 17 letters and digits.
    """
    text = payload[3:].strip(b"\0 ")
    if len(text) != VIN_BYTES or not text.isalnum() or not text.isascii():
        raise Garbled("an answer that is no vehicle identification number")
    return text.decode("ascii").upper()
