"""What the store hands over. Times are aware; a value is as it was typed, in the shapes that JSON knows."""

import datetime as dt
from dataclasses import dataclass
from typing import Any, Literal

Stage = Literal["in the bay", "handed back", "proof", "closed"]


@dataclass(frozen=True)
class Entry:
    """One line of a visit's history; it is never changed.

    Args:
        id: The visit and its number in it.
        visit_id: The visit.
        number: 1, 2, 3 ... without a gap: the order of the history.
        key: What was entered, for example "vehicle.curb_weight" or "finding.3".
        value: As typed; None where the key was taken back or the value was erased.
        who: Who entered it.
        at: When it was entered, by the device it was entered on.
        kept_at: When it was kept, by the shop's own clock.
        idempotency_key: The mark of the device; the same mark twice is the same entry.
        replaces: The entry that stood before under this key.
        undo: It takes `replaces` back.
        erased: The value was personal and has been erased at the owner's wish.
    """

    id: str
    visit_id: str
    number: int
    key: str
    value: Any
    who: str
    at: dt.datetime
    kept_at: dt.datetime
    idempotency_key: str
    replaces: str | None = None
    undo: bool = False
    erased: bool = False


@dataclass(frozen=True)
class OwnerCard:
    """An owner: personal data, kept outside every sealed part. `id` is empty until it is kept."""

    name: str = ""
    phone: str = ""
    email: str = ""
    language: str = ""
    id: str = ""


@dataclass(frozen=True)
class VehicleCard:
    """A vehicle as a shop finds it again; number and plate are personal data. `id` is empty until it is kept."""

    description: str = ""
    vin: str = ""
    plate: str = ""
    id: str = ""
    owner_id: str | None = None


@dataclass(frozen=True)
class VisitSummary:
    """A visit in a list: whose, which vehicle, which job, promised when, how far."""

    id: str
    vehicle: VehicleCard
    owner: OwnerCard | None
    booked_job: str
    date: dt.date | None
    promised: dt.datetime | None
    stage: Stage
    opened_at: dt.datetime
    last_entry_at: dt.datetime | None
    entries: int


@dataclass(frozen=True)
class Seal:
    """One sealed version of a visit: the account and the letter as handed back, and the history up to then.

    `sha256` covers every other field and the seal before it.
    """

    visit_id: str
    version: int
    account_json: str
    account_sha256: str
    letter_sha256: str
    entries: int
    history_sha256: str
    sealed_at: dt.datetime
    sealed_by: str
    sha256: str


@dataclass(frozen=True)
class LastSeal:
    """The newest seal of a visit; `mark` differs once anything is sealed or entered there anew."""

    visit_id: str
    sealed_at: dt.datetime
    mark: str


@dataclass(frozen=True)
class KeptFile:
    """A photo, log or letter: its content is its name."""

    sha256: str
    suffix: str
    size_bytes: int
    kept_at: dt.datetime
    erased: bool = False
