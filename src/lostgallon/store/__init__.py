"""The shop's data: append-only entries, photos and logs by content, seals, backup (docs/store.md)."""

from lostgallon.store.backup import back_up
from lostgallon.store.daily import back_up_every_day, backups_kept, daily_backup, daily_setting
from lostgallon.store.erasure import Erased, erase_owner
from lostgallon.store.export import export_owner, export_vehicle, visits_of_owner
from lostgallon.store.extra_work import work_done
from lostgallon.store.folding import Missing, case_of, check_value, read_value, standing
from lostgallon.store.inspection import inspect_store
from lostgallon.store.opening import look_into, open_store
from lostgallon.store.records import Entry, KeptFile, OwnerCard, Seal, VehicleCard, VisitSummary
from lostgallon.store.restore import restore
from lostgallon.store.store import Store
from lostgallon.store.written import local

__all__ = [
    "Entry",
    "Erased",
    "KeptFile",
    "Missing",
    "OwnerCard",
    "Seal",
    "Store",
    "VehicleCard",
    "VisitSummary",
    "back_up",
    "back_up_every_day",
    "backups_kept",
    "case_of",
    "check_value",
    "daily_backup",
    "daily_setting",
    "erase_owner",
    "export_owner",
    "export_vehicle",
    "inspect_store",
    "local",
    "look_into",
    "open_store",
    "read_value",
    "restore",
    "standing",
    "visits_of_owner",
    "work_done",
]
