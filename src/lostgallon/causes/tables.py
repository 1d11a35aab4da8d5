"""The smaller tables of the catalogue as frozen records: sources, cautions, stops, codes, patterns, numbers."""

from dataclasses import dataclass


@dataclass(frozen=True)
class SourceClass:
    """A class of source and what it means."""

    id: str
    means: str


@dataclass(frozen=True)
class Source:
    """A published source."""

    id: str
    what: str
    says: str
    class_of_source: str


@dataclass(frozen=True)
class Caution:
    """A caution in words, printed beside and before the step."""

    id: str
    text: str


@dataclass(frozen=True)
class RaisedBy:
    """The readings of a check that raise a stop."""

    check: str
    readings: tuple[str, ...]


@dataclass(frozen=True)
class SafetyStop:
    """A safety stop and the look that clears it; None: nothing but the repair."""

    id: str
    what: str
    raised_by: tuple[RaisedBy, ...]
    cautions: tuple[str, ...]
    cleared_by: str | None = None


@dataclass(frozen=True)
class LookAlike:
    """Something harmless that makes every check of one physical thing read positive."""

    id: str
    what: str
    prior: float
    detect: float
    source: str


@dataclass(frozen=True)
class TrimPattern:
    """A pattern of total trims at idle, cruise and load."""

    id: str
    idle: str
    cruise: str
    load: str
    banks: str
    causes: tuple[str, ...]
    why: str
    fuel_effect: str
    next_check: str
    source: str


@dataclass(frozen=True)
class CodeGroup:
    """SAE J2012 codes that stand for one reading of the kept memory; a range is written P0300-P0312."""

    reading: str
    codes: tuple[str, ...]
    means: str
    source: str


@dataclass(frozen=True)
class Interaction:
    """A fact about causes that act on each other."""

    id: str
    fact: str
    involves: tuple[str, ...]
    source: str


@dataclass(frozen=True)
class MethodNumber:
    """A number of the method that belongs to no single cause or check."""

    id: str
    value: float
    source: str
    why: str
