"""What a shop adds when a vehicle is handed back: its letterhead, the owner's words, what was done and agreed.

All of it is optional: a letter written from the case alone says what can be corrected, not what was done.
"""

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Letterhead:
    """The shop as it signs: name, then address, telephone, license number as it wants them."""

    name: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True)
class Done:
    """Work that was done, what it brought, what it cost and how the owner agreed to it.

    `charge_money` is None where the booked job's own bill says it, 0.0 for no charge.
    """

    what: str
    brought: str = ""
    charge_money: float | None = None
    agreed: str = ""
    operation: str = ""


@dataclass(frozen=True)
class LeftUndone:
    """What was left and why, with the trigger to come back."""

    what: str
    why: str
    come_back: str = ""


@dataclass(frozen=True)
class Photo:
    """A photo of a finding; it is printed only where the owner agreed to share photos."""

    file: Path
    caption: str


@dataclass(frozen=True)
class Shares:
    """What the owner agreed to have printed beside the account itself."""

    own_words: bool = False
    photos: bool = False
    prices: bool = True


@dataclass(frozen=True)
class HandBack:
    """The release of a vehicle, as far as paper needs it.

    Attributes:
        letterhead: The shop; a blank line to fill in without one.
        visit_number: The shop's number for this visit, printed on the fill card; empty without one.
        vehicle: How the owner calls the vehicle; the case's description without one.
        owner_said: The owner's own words about the concern.
        done: What was done.
        left: What was left, and why.
        photos: Photos of findings, for the annex page.
        shares: What the owner agreed to have printed.
    """

    letterhead: Letterhead | None = None
    visit_number: str = ""
    vehicle: str = ""
    owner_said: str = ""
    done: tuple[Done, ...] = ()
    left: tuple[LeftUndone, ...] = ()
    photos: tuple[Photo, ...] = ()
    shares: Shares = Shares()
