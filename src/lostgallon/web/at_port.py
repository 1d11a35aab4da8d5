"""What the port gave, as entries of a visit: a recorded drive, the memory, the number on the vehicle's card."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from lostgallon.job.port import MemoryRead, findings_of_memory
from lostgallon.shop.recorded import Recorded
from lostgallon.shop.vin import vin_trouble
from lostgallon.shop.wire import plain
from lostgallon.web.desk import Desk

CHANNEL = "port.channel"
MEMORY = "memory"


def keep_drive(desk: Desk, visit_id: str, done: Recorded, *, who: str) -> None:
    """A recorded drive as the visit's evidence, like a log that was sent; the raw answers beside it.

    Raises:
        Trouble: If it can't be kept.
    """
    told = {key: value for key, value in plain(done).items() if key not in {"log", "raw"}}
    _keep_files(desk, visit_id, Path(done.log), told, who=who)


def keep_unfinished(desk: Desk, visit_id: str, log: Path, *, who: str) -> None:
    """The same for a recording that was cut off by the program's own end.

    Raises:
        Trouble: If it can't be kept.
    """
    _keep_files(desk, visit_id, log, {"ended_by": "cut off"}, who=who)
    desk.recorder.forget(log)


def _keep_files(desk: Desk, visit_id: str, log: Path, told: dict[str, Any], *, who: str) -> None:
    raw = log.with_suffix(".raw.csv")
    if raw.exists() and raw.stat().st_size:
        told = {**told, "raw": {"sha256": _kept(desk, raw)}}
    name = log.name.removeprefix(f"{visit_id}-")[3:]
    value = {"sha256": _kept(desk, log), "name": name, "port": told}
    desk.record(visit_id, "evidence.drive_log", value, who=who, mark=f"port-{log.stem}"[:180])


def _kept(desk: Desk, path: Path) -> str:
    with path.open("rb") as file:
        return desk.store.keep_file(file, suffix=".csv")


def keep_memory(desk: Desk, visit_id: str, read: MemoryRead, *, who: str, mark: str) -> None:
    """The memory whole, what it says as findings, and the identification number on the vehicle's card alone."""
    value = {**plain(read.memory), "vin": _keep_vin(desk, visit_id, read.vin)}
    desk.add(visit_id, MEMORY, value, who=who, mark=f"{mark}-memory")
    for finding in findings_of_memory(read.memory):
        desk.finding(visit_id, finding, who=who, mark=f"{mark}-{finding['check']}")


def _keep_vin(desk: Desk, visit_id: str, vin: str) -> str:
    """What became of the number: a word, never the number."""
    if not vin:
        return "not_told"
    if vin_trouble(vin):
        return "wrong"
    card = desk.store.vehicle(desk.summary(visit_id).vehicle.id)
    if card.vin:
        return "same" if card.vin == vin else "differs"
    desk.store.keep_vehicle(replace(card, vin=vin))
    return "kept"
