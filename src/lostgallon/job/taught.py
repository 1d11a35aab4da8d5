"""What each sealed visit teaches: worked out once and kept, for a shop has thousands of them.

What is kept is a visit's sums (learning/sums.py) under the mark of its newest seal and entry, in the folder of
calibrations: no name, vehicle or date is in it, and it can be thrown away at any time.
"""

import datetime as dt
import json
from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from lostgallon import __version__
from lostgallon.causes.bearing import after_what_bears
from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.evidence import Piece, piece_of
from lostgallon.job.proof import prove
from lostgallon.learning.sums import sums_of_one
from lostgallon.shop.account import Account
from lostgallon.shop.filled import CameBack
from lostgallon.shop.learned import Brought, Looked, Outcome, ReadAs
from lostgallon.shop.proven import LATER_FILLS, ProofQuestion, later_fill
from lostgallon.shop.trouble import BadInput
from lostgallon.shop.visit import Case
from lostgallon.shop.wire import record_from
from lostgallon.store import Store, case_of, standing

Z90 = 1.6449
MOST_ODDS = 50.0
"""A proof multiplies the odds that a corrected cause was there by no more than this. Chosen."""
MOST_VISITS = 20_000
"""The newest of them; older ones say little about the shop of today."""
RESET = "learning.reset"
"""The setting that holds when learning last began anew."""
KEPT = "taught.json"

OneVisit = Mapping[str, float]


def taught(store: Store, known: Catalogue, *, folder: Path | None) -> Iterator[OneVisit]:
    """The sums of every sealed visit that can be read.

    Args:
        store: The shop's data.
        known: The catalogue.
        folder: Where they are kept, with calibrations of vehicles; None keeps none.
    """
    since = store.setting(RESET)
    seals = store.last_seals(limit=MOST_VISITS)
    if since:
        seals = tuple(each for each in seals if each.sealed_at > dt.datetime.fromisoformat(since))
    kept = _kept(folder)
    found = {each.mark: kept[each.mark] if each.mark in kept else _sums(store, each.visit_id, known, folder=folder)
             for each in seals}  # fmt: skip
    if folder is not None and not found.keys() <= kept.keys():
        _keep(folder, kept | found)
    yield from (one for one in found.values() if one is not None)


def _kept(folder: Path | None) -> dict[str, OneVisit | None]:
    """What this version of the program kept."""
    try:
        told = json.loads((folder / KEPT).read_text("utf-8")) if folder else {}
        return dict(told["visits"]) if told.get("version") == __version__ else {}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def _keep(folder: Path, found: Mapping[str, OneVisit | None]) -> None:
    newest = dict(list(found.items())[-MOST_VISITS:])
    text = json.dumps({"version": __version__, "visits": newest})
    with suppress(OSError):  # a folder that can't be written makes the next look slow, nothing else
        folder.mkdir(parents=True, exist_ok=True)
        unfinished = folder / f"{KEPT}.new"
        unfinished.write_text(text, "utf-8")
        unfinished.replace(folder / KEPT)


def _sums(store: Store, visit_id: str, known: Catalogue, *, folder: Path | None) -> OneVisit | None:
    """What one visit adds; None where its account or its case can't be read by this version."""
    account = account_from(store.seals(visit_id)[-1].account_json)
    entries = store.history(visit_id)
    case = case_of(entries, file_path=store.file_path)
    if account is None or not isinstance(case, Case):
        return None
    case = after_what_bears(case, known)
    told = {key: entry.value for key, entry in standing(entries).items()}
    came_back = _proof(case, account, told, store=store, folder=folder)
    done = tuple(work.operation for work in case.work_done)
    return sums_of_one(outcome_of(case, account, known, done=done, came_back=came_back), known)


def account_from(text: str) -> Account | None:
    """A sealed account; None where another version of the program wrote one that this one can't read."""
    try:
        account: Account = record_from(Account, json.loads(text))
    except (ValueError, KeyError, TypeError):
        return None
    return account


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
