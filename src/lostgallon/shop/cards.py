"""What the catalogue says about a check, a state, a correction or a stop, as a person at the vehicle needs it."""

from dataclasses import dataclass
from typing import Literal

Form = Literal["question", "look", "measure", "record", "derived"]


@dataclass(frozen=True)
class ReadingChoice:
    """One thing a check can read, in words."""

    id: str
    text: str


@dataclass(frozen=True)
class Measure:
    """What a check measures: a kind of quantity (a key of units.BASE_UNITS) and the limit for orientation."""

    kind: str
    says: str
    limit: str


@dataclass(frozen=True)
class CheckCard:
    """One check as it is shown and entered. Texts are complete sentences or trade phrases, never ids.

    `in_full` is the long name where `name` was cut short for a small page; empty where it was not.
    """

    id: str
    name: str
    form: Form
    minutes: float
    wait_minutes: float
    tools: tuple[str, ...]
    needs: tuple[str, ...]
    positive: str
    note: str
    readings: tuple[ReadingChoice, ...]
    measure: Measure | None
    limits: tuple[str, ...]
    cautions: tuple[str, ...]
    ends: tuple[str, ...] = ()
    in_full: str = ""


@dataclass(frozen=True)
class StateCard:
    """A state of access.

    `blocks` are the ids of states that can't hold while this one does, `opened_by` words of booked jobs that open it.
    """

    id: str
    name: str
    blocks: tuple[str, ...]
    parent: str | None
    open_minutes: float | None
    close_minutes: float | None
    cautions: tuple[str, ...]
    opened_by: tuple[str, ...] = ()


@dataclass(frozen=True)
class OperationCard:
    """A correction as work."""

    id: str
    name: str
    text: str
    opens: tuple[str, ...]
    fill_in: tuple[str, ...]
    cautions: tuple[str, ...]
    follow_up: tuple[str, ...]
    re_measure: str | None


@dataclass(frozen=True)
class Cards:
    """All cards, by id and in the order of the catalogue."""

    checks: dict[str, CheckCard]
    states: dict[str, StateCard]
    operations: dict[str, OperationCard]
