"""What the commands about the shop's data say (keys of backup, restore, inspect-data and self-check with --json)."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Damage:
    """Something stored that does not match its own record."""

    where: str
    found: str
    expected: str


@dataclass(frozen=True)
class Inspection:
    """Every record, file and seal, read. Remarks are worth knowing and no damage."""

    place: str
    version: str
    visits: int
    entries: int
    files: int
    seals: int
    damage: tuple[Damage, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class BackupMade:
    """One archive with the whole shop in it. `not_readable` names kept files that were lost before it was made."""

    archive: str
    made_at: str
    size_bytes: int
    visits: int
    entries: int
    files: int
    not_readable: tuple[str, ...]


@dataclass(frozen=True)
class Restored:
    """A shop brought back. `set_aside` is where the data that stood there before lie now, or None."""

    place: str
    made_at: str
    visits: int
    entries: int
    files: int
    set_aside: str | None
    not_readable: tuple[str, ...]


@dataclass(frozen=True)
class Works:
    """One thing the program needs, whether it works here, and what was found."""

    name: str
    works: bool
    says: str


@dataclass(frozen=True)
class SelfCheck:
    """What works here and what does not."""

    version: str
    checks: tuple[Works, ...]
