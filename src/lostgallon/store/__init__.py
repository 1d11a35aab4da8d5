"""The shop's data: append-only entries, photos and logs by content, seals, backup (docs/store.md)."""

from lostgallon.store.folding import Missing, case_of, standing
from lostgallon.store.opening import open_store
from lostgallon.store.records import Entry, KeptFile, OwnerCard, Seal, VehicleCard, VisitSummary
from lostgallon.store.store import Store

__all__ = [
    "Entry",
    "KeptFile",
    "Missing",
    "OwnerCard",
    "Seal",
    "Store",
    "VehicleCard",
    "VisitSummary",
    "case_of",
    "open_store",
    "standing",
]
