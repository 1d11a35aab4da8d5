"""What a shop has learned: its sealed visits with proof, and the sums of other shops, into numbers of its own."""

import datetime as dt
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from lostgallon.causes.bearing import after_what_bears
from lostgallon.causes.catalogue import Catalogue, catalogue
from lostgallon.causes.evidence import Piece, piece_of
from lostgallon.job.proof import prove
from lostgallon.learning.exchange import MOST_BY_ONE_VISIT, read, text_of, with_noise, write
from lostgallon.learning.learned import learned_from, own_numbers
from lostgallon.learning.sums import Sums, pooled, sums_of
from lostgallon.shop.account import Account
from lostgallon.shop.filled import CameBack
from lostgallon.shop.learned import Brought, Learned, Looked, Outcome, ReadAs
from lostgallon.shop.proven import LATER_FILLS, ProofQuestion, later_fill
from lostgallon.shop.trouble import BadInput
from lostgallon.shop.visit import Case
from lostgallon.shop.wire import record_from
from lostgallon.store import Store, case_of, look_into, open_store, standing

Z90 = 1.6449
MOST_ODDS = 50.0
"""A proof multiplies the odds that a corrected cause was there by no more than this. Chosen."""
MOST_VISITS = 20_000
"""The newest of them; older ones say little about the shop of today."""
RESET = "learning.reset"
"""The setting that holds when learning last began anew."""


@dataclass(frozen=True)
class Place:
    """Where a shop's data lie, and where calibrations of vehicles are kept."""

    data: Path
    database: str | None
    calibrations: Path | None


def learned_here(place: Place, files: Sequence[Path], *, now: dt.datetime) -> Learned:
    """What the shop's own visits say, together with the sums of other shops.

    Args:
        place: The shop.
        files: Sums of other shops.
        now: The local time, with its zone.

    Raises:
        Trouble: If there are no data, or a file can't be used.
    """
    known = catalogue()
    return learned_from(pooled([_sums_here(place, now=now), *(read(path, known) for path in files)]), known)


def learned_in(store: Store, calibrations: Path | None) -> Learned:
    """What the visits of an open shop say.

    Args:
        store: The shop's data.
        calibrations: Where calibrations of vehicles are kept; None keeps none.
    """
    known = catalogue()
    return learned_from(sums_of(_outcomes(store, known, calibrations), known), known)


def _sums_here(place: Place, *, now: dt.datetime, private: bool = False) -> Sums:
    """The sums of the shop's own visits; `private`: one visit adds so little that noise can hide it."""
    known = catalogue()
    with look_into(place.data, clock=lambda: now, database=place.database) as store:
        outcomes = list(_outcomes(store, known, place.calibrations))
    return sums_of(outcomes, known, most=MOST_BY_ONE_VISIT if private else None)


def _outcomes(store: Store, known: Catalogue, calibrations: Path | None) -> Iterator[Outcome]:
    since = store.setting(RESET)
    for summary in store.visits(limit=MOST_VISITS):
        seals = store.seals(summary.id)
        if not seals or (since and seals[-1].sealed_at <= dt.datetime.fromisoformat(since)):
            continue
        account = account_from(seals[-1].account_json)
        entries = store.history(summary.id)
        case = case_of(entries, file_path=store.file_path)
        if account is None or not isinstance(case, Case):
            continue
        case = after_what_bears(case, known)
        told = {key: entry.value for key, entry in standing(entries).items()}
        came_back = _proof(case, account, told, store=store, folder=calibrations)
        yield outcome_of(case, account, known, done=_done(told), came_back=came_back)


def account_from(text: str) -> Account | None:
    """A sealed account; None where another version of the program wrote one that this one can't read."""
    try:
        account: Account = record_from(Account, json.loads(text))
    except (ValueError, KeyError, TypeError):
        return None
    return account


def _done(told: dict[str, Any]) -> tuple[str, ...]:
    return tuple(key.removeprefix("done.") for key, value in told.items() if key.startswith("done.") and value)


def _proof(case: Case, account: Account, told: dict[str, Any], *, store: Store, folder: Path | None) -> CameBack | None:
    kept = told.get(LATER_FILLS)
    fills = tuple(later_fill(value) for key, value in told.items() if key.startswith("tank."))
    if not (kept or fills):
        return None
    log = store.file_path(kept["sha256"]) if kept else None
    try:
        question = ProofQuestion(case, account.proof, work_done=case.visit.date, fills=fills, log=log)
        return prove(question, folder=folder).came_back
    except (BadInput, OSError):
        return None  # fills that can't be read prove nothing


def outcome_of(
    case: Case, account: Account, known: Catalogue, *, done: tuple[str, ...], came_back: CameBack | None
) -> Outcome:
    """What one sealed visit teaches.

    Args:
        case: The visit.
        account: As it was sealed.
        known: The catalogue.
        done: Corrections that were done.
        came_back: The proof; None where there is none yet.
    """
    pieces = _pieces(case, known)
    looked_at = {cause for piece in pieces for cause in _seen_by(piece, known)}
    corrected = {known.operation[name].id for name in done if name in known.operation}
    decided = came_back is not None and came_back.says != "too early"
    looked = [
        Looked(entry.cause, _after_proof(entry.present, entry.cause, corrected, came_back, known))
        for entry in account.entries
        if entry.cause in known.cause and (entry.cause in looked_at or known.cause[entry.cause].operation in corrected)
    ]
    readings = [
        ReadAs(piece.check, reading, positive)
        for piece in pieces
        if not piece.after and decided
        for positive, names in ((True, piece.seen), (False, piece.unseen))
        for reading in names
    ]
    brought: tuple[Brought, ...] = ()
    if came_back is not None and came_back.share_pct is not None and len(corrected) == 1:
        share = came_back.share_pct
        spread = max((share.p95 - share.p05) / (200.0 * Z90), 0.02)
        brought = (Brought(next(iter(corrected)), share.mean / 100.0, spread),)
    return Outcome(case.vehicle.body, case.vehicle.odometer_km, tuple(looked), tuple(readings), brought)


def _after_proof(
    present: float, cause: str, corrected: set[str], came_back: CameBack | None, known: Catalogue
) -> float:
    """The chance that a cause was there once the fills after its correction have spoken.

    Only one correction at a time can be told apart; the odds move by how much likelier the fills are with half or more
    of the promised fuel back than with none.
    """
    if came_back is None or len(corrected) != 1 or known.cause[cause].operation not in corrected:
        return present
    factor = min(max(came_back.evidence_back, 1.0 / MOST_ODDS), MOST_ODDS)
    return present * factor / (present * factor + 1.0 - present) if present > 0.0 else 0.0


def _pieces(case: Case, known: Catalogue) -> list[Piece]:
    found = []
    for finding in case.findings:
        check = known.check.get(finding.check)
        if check is None:
            continue
        try:
            piece = piece_of(finding, check, case=case, catalogue=known, where="")
        except BadInput:
            continue  # a finding of an older catalogue teaches nothing
        found += [piece] if piece is not None else []
    return found


def _seen_by(piece: Piece, known: Catalogue) -> set[str]:
    told = {*piece.seen, *piece.unseen, *piece.any_of}
    readings = [reading for reading in known.check[piece.check].readings if reading.id in told]
    gauge = piece.measured.gauge.sees if piece.measured else ()
    return {cause for reading in readings for cause, _ in reading.finds} | set(gauge)


def begin_anew(place: Place, *, now: dt.datetime) -> None:
    """From now on only visits sealed later teach; nothing else is touched, and the record of it stays.

    Raises:
        Trouble: If the data can't be written.
    """
    with open_store(place.data, clock=lambda: now, database=place.database) as store:
        store.set(RESET, now.isoformat(), who="learned")


def write_numbers(found: Learned, path: Path) -> None:
    """What was learned as a shop's own numbers (causes/own.py).

    Raises:
        CantKeep: If the place can't be written.
    """
    import yaml  # noqa: PLC0415 - only who writes a file waits for it

    head = "# Made by `lostgallon learned`: what this shop's visits say; read it with `lostgallon account --numbers`.\n"
    write(path, head + yaml.safe_dump(own_numbers(found, catalogue()), sort_keys=False, default_flow_style=None))


def export_sums(place: Place, path: Path, *, noise: float | None, now: dt.datetime) -> None:
    """The shop's sums for other shops (learning/exchange.py).

    Args:
        place: The shop.
        path: Where to.
        noise: Epsilon of the noise; None adds none.
        now: The local time, with its zone.

    Raises:
        CantKeep: If the place can't be written.
    """
    sums = _sums_here(place, now=now, private=noise is not None)
    if noise is not None:
        # fresh noise each time: noise that could be drawn again hides nothing
        sums = with_noise(sums, catalogue(), epsilon=noise, rng=np.random.default_rng())
    write(path, text_of(sums, noise=noise))
