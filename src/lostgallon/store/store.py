"""The shop's data, open: every method is one transaction, and what it returns is on the disk."""

import datetime as dt
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext, suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import IO, Any, BinaryIO, Self, TypeVar

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import IntegrityError

from lostgallon.shop.trouble import BadInput, ChangedMeanwhile
from lostgallon.store import cards, entries, file_rows, seals, settings, visits, written
from lostgallon.store.engine import database_name, is_server
from lostgallon.store.files import Shelf, check_suffix
from lostgallon.store.folding import check_value
from lostgallon.store.plainly import said_plainly
from lostgallon.store.records import Entry, KeptFile, LastSeal, OwnerCard, Seal, VehicleCard, VisitSummary
from lostgallon.store.turns import Turns

T = TypeVar("T")

_TRIES = 3
CLOCK_PLAY = dt.timedelta(minutes=2)
"""A clock that is set by the network steps back by seconds; that is not worth a word."""
NOT_GIVEN = "not given"
"""For `seen`: the writer does not say what it has seen, and the newest entry is replaced."""


@dataclass(frozen=True)
class Store:
    """The shop's data, open. Safe to use from many threads."""

    place: Path
    engine: Engine
    clock: Callable[[], dt.datetime]
    random_bytes: Callable[[int], bytes]
    _turns: Turns = field(default_factory=Turns)
    _hold: IO[bytes] | None = None

    @property
    def shelf(self) -> Shelf:
        """Where photos, logs and letters lie."""
        return Shelf(self.place / "files")

    def new_visit(
        self,
        *,
        who: str,
        idempotency_key: str,
        vehicle: VehicleCard | str,
        owner: OwnerCard | str | None = None,
    ) -> VisitSummary:
        """Open a visit; the same mark twice opens one.

        Args:
            who: Who opens it.
            idempotency_key: The mark of the device.
            vehicle: The id of a known vehicle, or the card of a new one.
            owner: The id of a known owner, the card of a new one, or None where nobody asked.
        """
        _check_mark(idempotency_key)

        def work(connection: Connection) -> VisitSummary:
            ids = (self._new_id(), self._new_id(), self._new_id())
            draft = visits.VisitDraft(*ids, vehicle, owner, who, self.clock(), idempotency_key)
            return visits.open_visit(connection, draft)

        return self.write(work)

    def record(  # noqa: PLR0913 - each is a fact that the entry keeps
        self,
        visit_id: str,
        key: str,
        value: Any,
        *,
        who: str,
        idempotency_key: str,
        at: dt.datetime | None = None,
        seen: str | None = NOT_GIVEN,
    ) -> Entry:
        """Keep one entry; it is on the disk when this returns.

        Args:
            visit_id: The visit.
            key: What is entered, for example "vehicle.curb_weight".
            value: As typed, in shapes that JSON knows; None takes the key back.
            who: Who enters it.
            idempotency_key: The mark of the device; the same mark twice is the same entry.
            at: When it was entered; the shop's clock where the device does not say.
            seen: The id of the entry that the person saw under this key (None: nothing stood there).

        Raises:
            BadInput: If the key is unknown in its section or the value can't be used.
            ChangedMeanwhile: If `seen` is given and something else stands there by now.
        """
        check_value(entries.check_key(key), value)

        def work(connection: Connection) -> Entry:
            entries.lock_visit(connection, visit_id)
            draft = self._draft(visit_id, key, value, who=who, mark=idempotency_key, at=at)
            known = entries.same_mark(connection, draft)
            if known:
                return known
            file_rows.require_kept(connection, key, value)
            before = entries.standing_row(connection, visit_id, key)
            if seen != NOT_GIVEN:
                entries.require_unchanged(before, key=key, seen=seen)
            return entries.append(connection, draft, replaces=before.number if before else None)

        return self.write(work)

    def add(
        self,
        visit_id: str,
        name: str,
        value: Any,
        *,
        who: str,
        idempotency_key: str,
        at: dt.datetime | None = None,
    ) -> Entry:
        """Keep one more of a kind: `add(visit, "finding", {...})` becomes "finding.4" where three are there.

        Two devices that add at once get two numbers.

        Raises:
            BadInput: If the value can't be used, or the key is none.
        """
        entries.check_key(f"{name}.1")
        check_value(f"{name}.1", value)

        def work(connection: Connection) -> Entry:
            entries.lock_visit(connection, visit_id)
            draft = self._draft(visit_id, name, value, who=who, mark=idempotency_key, at=at)
            known = entries.same_mark(connection, draft, numbered=True)
            if known:
                return known
            file_rows.require_kept(connection, name, value)
            key = f"{name}.{entries.next_number(connection, visit_id, name)}"
            return entries.append(connection, replace(draft, key=key), replaces=None)

        return self.write(work)

    def undo(self, entry_id: str, *, who: str, at: dt.datetime | None = None) -> Entry:
        """Take an entry back by a new one that says what stood before it; twice is the same as once.

        Raises:
            ChangedMeanwhile: If another entry stands under its key by now: that one has to be taken back first.
        """

        def work(connection: Connection) -> Entry:
            visit_id = entries.entry_at(connection, entry_id).visit_id
            entries.lock_visit(connection, visit_id)
            row = entries.entry_at(connection, entry_id)
            before = entries.entry_at(connection, f"{visit_id}.{row.replaces}").value if row.replaces else None
            draft = self._draft(visit_id, row.key, None, who=who, mark=f"undo {entry_id}", at=at)
            draft = replace(draft, value_text=before, undo=True)
            known = entries.same_mark(connection, draft)
            if known:
                return known
            entries.require_unchanged(entries.standing_row(connection, visit_id, row.key), key=row.key, seen=entry_id)
            return entries.append(connection, draft, replaces=row.number)

        return self.write(work)

    def history(self, visit_id: str) -> tuple[Entry, ...]:
        """Every entry of a visit, oldest first: who, when, what, and what it replaced."""
        return self.read(lambda connection: entries.history(connection, visit_id))

    def visits(
        self, *, search: str = "", open_only: bool = False, vehicle_id: str | None = None, limit: int = 200
    ) -> tuple[VisitSummary, ...]:
        """Visits, open ones first by the promised time, then the newest.

        Args:
            search: Words that all stand in vehicle, plate, number, owner, phone or booked job; a date as 2026-01-15.
            open_only: Only those still in the bay.
            vehicle_id: Only those of one vehicle.
            limit: At most so many.
        """
        return self.read(
            lambda connection: visits.list_visits(
                connection, search=search, open_only=open_only, vehicle_id=vehicle_id, limit=limit
            )
        )

    def visit(self, visit_id: str) -> VisitSummary:
        """One visit as the list shows it.

        Raises:
            BadInput: If there is none of this id.
        """
        return self.read(lambda connection: visits.one_visit(connection, visit_id))

    def vehicle(self, vehicle_id: str) -> VehicleCard:
        """One vehicle.

        Raises:
            BadInput: If there is none of this id.
        """
        return self.read(lambda connection: cards.vehicle_card(connection, vehicle_id))

    def owner(self, owner_id: str) -> OwnerCard:
        """One owner.

        Raises:
            BadInput: If there is none of this id.
        """
        return self.read(lambda connection: cards.owner_card(connection, owner_id))

    def vehicles(self, search: str = "", *, limit: int = 50) -> tuple[VehicleCard, ...]:
        """Known vehicles whose description, number, plate, owner or phone holds every word."""
        return self.read(lambda connection: cards.find_vehicles(connection, search, limit))

    def keep_owner(self, card: OwnerCard) -> OwnerCard:
        """Keep a new owner, or correct a known one (`id` given)."""
        new_id = self._new_id()
        return self.write(lambda connection: cards.keep_owner(connection, card, new_id))

    def keep_vehicle(self, card: VehicleCard) -> VehicleCard:
        """Keep a new vehicle, or correct a known one (`id` given)."""
        new_id = self._new_id()
        return self.write(lambda connection: cards.keep_vehicle(connection, card, new_id))

    def keep_file(self, data: bytes | BinaryIO, *, suffix: str = "") -> str:
        """Keep a photo, a log or a letter, and hand back its SHA-256; the same content is kept once.

        Args:
            data: The bytes, or a stream of them.
            suffix: What kind of file it is, like ".jpg"; the caller has looked at the content.
        """
        check_suffix(suffix)
        with said_plainly(self.shelf.folder):
            kept = self.shelf.put(data, suffix)
        self.write(lambda connection: file_rows.keep(connection, kept, suffix=suffix, at=self.clock()))
        return kept[0]

    def file(self, sha256: str) -> KeptFile | None:
        """What is known of a kept file, or None."""
        return self.read(lambda connection: file_rows.find(connection, sha256))

    def file_path(self, sha256: str) -> Path:
        """Where a kept file lies.

        Raises:
            BadInput: If no such file is kept, or it was erased.
        """
        found = self.file(sha256)
        if found is None or found.erased:
            raise BadInput("", found=f"no file {sha256[:12]!r}", expected="a file that is kept")
        return self.shelf.path(found.sha256, found.suffix)

    def seal(
        self, visit_id: str, account_json: str, pdf_bytes: bytes, *, who: str, at: dt.datetime | None = None
    ) -> Seal:
        """Seal a visit: the account, the letter and the history up to now. Again after a change: a new version.

        Args:
            visit_id: The visit.
            account_json: The account, without a name of the owner in it.
            pdf_bytes: The owner's letter.
            who: Who hands the vehicle back.
            at: When; the shop's clock where nothing is said.
        """
        letter = self.keep_file(pdf_bytes, suffix=".pdf")
        draft = seals.SealDraft(visit_id, account_json, letter, who, at or self.clock())

        def work(connection: Connection) -> Seal:
            entries.lock_visit(connection, visit_id)
            return seals.append_seal(connection, draft)

        return self.write(work)

    def seals(self, visit_id: str) -> tuple[Seal, ...]:
        """Every sealed version of a visit, oldest first."""
        return self.read(lambda connection: seals.seals_of(connection, visit_id))

    def last_seals(self, *, limit: int) -> tuple[LastSeal, ...]:
        """The newest seal of each sealed visit, the newest of them first, at most so many."""
        return self.read(lambda connection: seals.last_seals(connection, limit=limit))

    def setting(self, key: str, default: Any = None) -> Any:
        """A setting of the shop as it stands."""
        return self.read(lambda connection: settings.setting(connection, key, default))

    def set(self, key: str, value: Any, *, who: str) -> None:
        """Change a setting; what it was before stays on record. None brings the default back."""
        values = {
            "key": entries.check_key(key),
            "value": None if value is None else written.as_value_text(key, value),
            "who": written.check_text("who", who),
            "at": written.as_text(self.clock()),
        }
        self.write(lambda connection: settings.change(connection, values))

    @contextmanager
    def snapshot(self) -> Iterator[Connection]:
        """One view of the whole database that later writes do not change; for the modules of this room."""
        alike = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True} if is_server(self.engine) else {}
        with said_plainly(database_name(self.engine)), self.engine.connect() as connection:
            yield connection.execution_options(**alike)

    def clock_remark(self) -> str | None:
        """A sentence for the person if the clock stands before the newest entry; the order of entries holds."""
        newest = self.read(entries.last_kept)
        now = self.clock()
        if newest is None or newest <= now + CLOCK_PLAY:
            return None
        return (
            f"The clock of this computer says {now.astimezone():%Y-%m-%d %H:%M}, but the last entry was kept at "
            f"{newest.astimezone():%Y-%m-%d %H:%M}. Set the clock. Nothing is lost: entries keep their order."
        )

    def close(self) -> None:
        """Let go of the database and the folder."""
        self.engine.dispose()
        if self._hold:
            self._hold.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _draft(
        self, visit_id: str, key: str, value: Any, *, who: str, mark: str, at: dt.datetime | None
    ) -> entries.Draft:
        now = self.clock()
        return entries.Draft(
            visit_id=visit_id,
            key=key,
            value_text=None if value is None else written.as_value_text(key, value),
            who=written.check_text("who", who),
            at=at or now,
            kept_at=now,
            idempotency_key=_check_mark(mark),
            salt=self.random_bytes(16).hex(),
        )

    def _new_id(self) -> str:
        return self.random_bytes(8).hex()

    def read(self, work: Callable[[Connection], T]) -> T:
        """Run one reading transaction; for the modules of this room."""
        with said_plainly(database_name(self.engine)), self.engine.connect() as connection:
            return work(connection)

    def write(self, work: Callable[[Connection], T]) -> T:
        """Run one writing transaction, again where another writer was first; for the modules of this room."""
        turn = nullcontext() if is_server(self.engine) else self._turns
        with said_plainly(database_name(self.engine)), turn:
            for _ in range(_TRIES):
                # Two devices that send one new mark at once: the second finds the first's entry when it tries again.
                with suppress(IntegrityError), self.engine.execution_options(writes=True).begin() as connection:
                    return work(connection)
            raise ChangedMeanwhile("found the same entry sent many times at once; expected it once; look again")


def _check_mark(mark: str) -> str:
    if not 0 < len(mark) <= 200:
        raise BadInput("", found=f"a mark of {len(mark)} characters", expected="1 to 200 characters")
    return written.check_text("mark", mark)
