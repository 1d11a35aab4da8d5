"""What the handlers act on: the shop's data, the accounts, the catalogue, the clock."""

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from lostgallon.paper.words import Language, Words
from lostgallon.shop.cards import Cards
from lostgallon.shop.hand_back import Letterhead
from lostgallon.shop.trouble import BadInput, NotCovered
from lostgallon.shop.visit import Case
from lostgallon.store import Entry, OwnerCard, Store, VehicleCard, VisitSummary, case_of, local, standing, work_done
from lostgallon.web.accounts import Accounts, Proofs
from lostgallon.web.devices import Devices
from lostgallon.web.gauges import with_its_gauge
from lostgallon.web.proving import question_of
from lostgallon.web.recorder import Recorder
from lostgallon.web.sealed import sealed_account
from lostgallon.web.settings import ONLY_HERE, Network
from lostgallon.web.sheet import Line, Recorded, Sheet
from lostgallon.web.told_cards import told_cards

LETTERHEAD = "papers.letterhead"
"""The setting of the shop's name and lines."""


class NotThere(Exception):
    """No visit, check or correction of this name."""


@dataclass(frozen=True)
class Desk:
    """The shop as the pages see it.

    Attributes:
        store: The shop's data.
        accounts: The accounts, computed beside the pages.
        proofs: What the fills after a visit say, computed there too.
        load_cards: Hands over the catalogue.
        clock: Local time, without a zone.
        currency: The shop's currency.
        recorder: Recordings at the diagnostic port.
        guide: Whether the guided first visit of the demo is offered.
        network: How the shop's network reaches the program.
    """

    store: Store
    accounts: Accounts
    proofs: Proofs
    load_cards: Callable[[], Cards]
    clock: Callable[[], dt.datetime]
    currency: str = "USD"
    recorder: Recorder = field(default_factory=Recorder)
    guide: bool = False
    network: Network = ONLY_HERE

    @cached_property
    def devices(self) -> Devices:
        """The devices that were let in."""
        return Devices(self.store)

    @cached_property
    def cards(self) -> Cards:
        """The catalogue."""
        return self.load_cards()

    @property
    def letterhead(self) -> Letterhead | None:
        """The shop as it signs, or None where it never said."""
        told = self.store.setting(LETTERHEAD) or {}
        return Letterhead(name=told["name"], lines=tuple(told["lines"])) if told.get("name") else None

    @cached_property
    def _told_cards(self) -> dict[Language, Cards]:
        return {}

    def cards_in(self, words: Words) -> Cards:
        """The catalogue in a language."""
        if words.language not in self._told_cards:
            self._told_cards[words.language] = told_cards(self.cards, words)
        return self._told_cards[words.language]

    def summary(self, visit_id: str) -> VisitSummary:
        """A visit as in a list.

        Raises:
            NotThere: If there is none.
        """
        try:
            return self.store.visit(visit_id)
        except BadInput:
            raise NotThere(visit_id) from None

    def sheet(self, visit_id: str, *, with_history: bool = False) -> Sheet:
        """A visit as the pages read it; asks for its account where the newest does not include everything."""
        summary = self.summary(visit_id)
        entries = self.store.history(visit_id)
        now = self.clock()
        stands = standing(entries)
        case, lacking = self._case(entries, summary, now)
        sheet = Sheet(
            id=visit_id,
            vehicle=summary.vehicle.description,
            plate=summary.vehicle.plate,
            owner=summary.owner.name if summary.owner else "",
            stage=summary.stage,
            standing={key: _recorded(entry) for key, entry in stands.items()},
            case=case,
            lacking=lacking,
            account=None,
            fresh=True,
            trouble="",
            now=now,
            history=_lines(entries, stands) if with_history else (),
            owner_language=summary.owner.language if summary.owner else "",
            letterhead=self.letterhead,
        )
        return self._with_proof(self._with_account(sheet, entries), entries)

    def _with_account(self, sheet: Sheet, entries: tuple[Entry, ...]) -> Sheet:
        seals = self.store.seals(sheet.id) if sheet.sealed else ()
        handed_back = sealed_account(seals[-1]) if seals else None
        if handed_back is not None:
            # After the hand-back the account is the one the owner was given.
            return replace(sheet, account=handed_back)
        mark = _newest(entry for entry in entries if not entry.key.startswith(_UNTOLD))
        if sheet.stage == IN_BAY:
            # The plan is told against the clock: after a while it is another plan, though nothing was entered.
            mark = f"{mark} at {(sheet.now - dt.datetime.min) // OLD_PLAN}"  # noqa: DTZ901 - only to count
        if sheet.case is not None:
            self.accounts.want(sheet.id, mark, sheet.case)
        known = self.accounts.known(sheet.id)
        fresh = sheet.case is None or (known is not None and known.mark == mark)
        if known is None:
            return replace(sheet, fresh=fresh)
        return replace(sheet, account=known.record, fresh=fresh, trouble=known.trouble)

    def _with_proof(self, sheet: Sheet, entries: tuple[Entry, ...]) -> Sheet:
        asked = question_of(sheet, self.store.file_path) if sheet.sealed else None
        if asked is None:
            return sheet
        mark = _newest(entry for entry in entries if entry.key.startswith(PROOF))
        self.proofs.want(sheet.id, mark, asked)
        known = self.proofs.known(sheet.id)
        fresh = known is not None and known.mark == mark
        if known is None:
            return replace(sheet, proof_fresh=fresh)
        return replace(sheet, proven=known.record, proof_fresh=fresh, proof_trouble=known.trouble)

    def _case(
        self, entries: tuple[Entry, ...], summary: VisitSummary, now: dt.datetime
    ) -> tuple[Case | None, tuple[str, ...]]:
        told = entries
        if summary.stage != IN_BAY:
            # After the hand-back time stands still: the account is the one the owner was given.
            told = tuple(entry for entry in entries if not entry.key.startswith(PROOF))
            now = local(told[-1].at) if told else now
        try:
            found = case_of(told, name=summary.vehicle.description or "visit", now=now, file_path=self.store.file_path)
        except NotCovered as trouble:
            return None, (str(trouble),)
        if isinstance(found, Case):
            return found, ()
        return None, tuple(lack.key for lack in found)

    def record(self, visit_id: str, key: str, value: Any, *, who: str, mark: str) -> Entry:
        """Keep one entry; it is on the disk when this returns."""
        return self.store.record(visit_id, key, value, who=who, idempotency_key=mark)

    def add(self, visit_id: str, name: str, value: Any, *, who: str, mark: str) -> Entry:
        """Keep one more entry of a numbered kind: finding, state, wait, tank, photo."""
        return self.store.add(visit_id, name, value, who=who, idempotency_key=mark)

    def finding(self, visit_id: str, value: Mapping[str, Any], *, who: str, mark: str) -> Entry:
        """Keep a finding; a second of the same check stands in place of the first, but not of one before work was done.

        How it was found stays in the account beside how it came out. The gauge it names comes into the visit with it.
        """
        told = {key: [each] if key in LISTED and isinstance(each, str) else each for key, each in value.items()}
        with_its_gauge(self.store, visit_id, told, who=who, mark=mark)
        history = self.store.history(visit_id)
        work = work_done(history)
        for key, entry in standing(history).items():
            if not key.startswith("finding.") or entry.value.get("check") != told["check"]:
                continue
            if set(work.before.get(key, ())) == set(work.by_now):
                return self.record(visit_id, key, told, who=who, mark=mark)
        return self.add(visit_id, "finding", told, who=who, mark=mark)

    def undo(self, entry_id: str, *, who: str) -> Entry:
        """Take an entry back; that is an entry too."""
        return self.store.undo(entry_id, who=who)

    def start(
        self, vehicle: VehicleCard | str, owner: OwnerCard | None, first: Mapping[str, Any], *, who: str, mark: str
    ) -> VisitSummary:
        """Open a visit and keep its first entries; the same mark twice opens one."""
        visit = self.store.new_visit(who=who, idempotency_key=mark, vehicle=vehicle, owner=owner)
        for key, value in first.items():
            self.record(visit.id, key, value, who=who, mark=f"{mark}-{key}")
        return visit


LISTED = ("value", "place", "reading", "codes")
"""Keys of a finding that are lists; one text by itself counts as a list of one, as in a case file."""

PROOF = ("tank.", "proof.")
"""Kinds of entry that come after the hand-back: the owner's later fills, one at a time or as a file."""

IN_BAY = "in the bay"
OLD_PLAN = dt.timedelta(minutes=10)
"""How long a plan stands while the clock runs; chosen."""

_UNTOLD = (
    *PROOF,
    "release.",
    "owner.",
    "photo.",
    "memory.",
    "wait.",
    "stage.",
    "left.",
    "fill_in.",
)
"""Kinds of entry that no account depends on."""


def _newest(entries: Iterable[Entry]) -> str:
    return str(max((entry.number for entry in entries), default=0))


def _recorded(entry: Entry) -> Recorded:
    return Recorded(id=entry.id, key=entry.key, value=entry.value, who=entry.who, at=local(entry.at))


def _lines(entries: tuple[Entry, ...], stands: Mapping[str, Entry]) -> tuple[Line, ...]:
    return tuple(
        Line(
            id=entry.id,
            number=entry.number,
            key=entry.key,
            value=entry.value,
            who=entry.who,
            at=local(entry.at),
            undo=entry.undo,
            stands=stands.get(entry.key) is entry,
        )
        for entry in entries
    )
