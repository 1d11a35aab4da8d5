"""What a sealed visit teaches, and what a shop has learned (keys of `lostgallon learned --json`)."""

from dataclasses import dataclass

from lostgallon.shop.spread import Spread


@dataclass(frozen=True)
class Looked:
    """A cause that was looked at in a visit: the chance that it was there and new, all evidence and the proof in."""

    cause: str
    there: float


@dataclass(frozen=True)
class ReadAs:
    """One reading of a check in a visit whose proof is decided, and whether it read as described."""

    check: str
    reading: str
    positive: bool


@dataclass(frozen=True)
class Brought:
    """A correction and the share of its promised fuel that came back, with the standard deviation of that share."""

    operation: str
    share: float
    share_sd: float


@dataclass(frozen=True)
class Outcome:
    """One sealed visit as far as it teaches. Nothing in it says whose vehicle it was.

    `readings` is empty while the proof is not decided: what a check is worth needs a truth from outside itself.
    """

    body: str
    odometer_km: float
    looked: tuple[Looked, ...] = ()
    readings: tuple[ReadAs, ...] = ()
    brought: tuple[Brought, ...] = ()


@dataclass(frozen=True)
class LearnedNumber:
    """One number of the catalogue: the expert's, the shop's, and from how many visits (their weight).

    Attributes:
        what: What it is, for people.
        part: causes, operations or checks.
        id: The entry of the catalogue.
        key: The key in it: prior_new.BAND, cures_share, READING.false_alarm or READING.finds.CAUSE.
        expert: The catalogue's number.
        learned: The shop's, with its interval; as a share, 0 to 1.
        visits: Weight of the visits behind it.
    """

    what: str
    part: str
    id: str
    key: str
    expert: float
    learned: Spread
    visits: float


@dataclass(frozen=True)
class ByBody:
    """What a correction brought back on one kind of vehicle, as a share of what was promised."""

    operation: str
    body: str
    share: Spread
    visits: float


@dataclass(frozen=True)
class Learned:
    """What a shop has learned. `says` is the word beside an account, like "from 41 visits here"."""

    visits: float
    shops: int
    says: str
    numbers: tuple[LearnedNumber, ...]
    by_body: tuple[ByBody, ...]
