"""What works on this computer: each thing the program needs is tried, not looked up."""

import datetime as dt
import platform
import shutil
import tempfile
from collections.abc import Callable
from importlib import metadata, resources
from pathlib import Path

from lostgallon import __version__
from lostgallon.paper.typeset import pdf_of
from lostgallon.shop.kept import SelfCheck, Works
from lostgallon.shop.trouble import Trouble
from lostgallon.store import VehicleCard, look_into, open_store

LITTLE_ROOM_BYTES = 500_000_000
PACKAGES = ("numpy", "polars", "pint", "sqlalchemy", "alembic", "typst", "ortools")
EXTRAS = {
    "fast": ("numba", "machine code"),
    "postgres": ("psycopg", "PostgreSQL (--database)"),
    "mdf": ("asammdf", "MDF4 logs (drive LOG.mf4)"),
    "port": ("python-can", "the port (drive --from-port)"),
    "fleet": ("distributed", "more than one machine (screen --engine)"),
}
"""What each extra of the package brings, and what it is for."""


def self_check(*, place: Path, database: str | None, now: dt.datetime) -> SelfCheck:
    """Try everything the program needs; a failure is a line, never a stop."""
    tries: dict[str, Callable[[], str]] = {
        "Python": _python,
        "packages": _packages,
        "extras": _extras,
        "data folder": lambda: _folder(place),
        "the shop's data": lambda: _data(place, database, now),
        "database": lambda: _database(now),
        "fonts": _fonts,
        "PDF": lambda: _pdf(now),
    }
    return SelfCheck(version=__version__, checks=tuple(_tried(name, work) for name, work in tries.items()))


def _tried(name: str, work: Callable[[], str]) -> Works:
    try:
        return Works(name, works=True, says=work())
    except Trouble as trouble:
        return Works(name, works=False, says=str(trouble))
    except Exception as error:  # noqa: BLE001 - whatever fails here is what the person wants to read
        return Works(name, works=False, says=f"{type(error).__name__}: {' '.join(str(error).split())}")


def _python() -> str:
    return f"{platform.python_version()} on {platform.system()} {platform.machine()}"


def _packages() -> str:
    return ", ".join(f"{name} {metadata.version(name)}" for name in PACKAGES)


def _extras() -> str:
    return "; ".join(f"{what}: {_version_or_how(name, extra)}" for extra, (name, what) in EXTRAS.items())


def _version_or_how(name: str, extra: str) -> str:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return f"not installed (pip install 'lostgallon[{extra}]')"


def _folder(place: Path) -> str:
    there = next(folder for folder in (place, *place.absolute().parents) if folder.exists())
    with tempfile.NamedTemporaryFile(dir=there, prefix=".lostgallon-check-") as trial:
        trial.write(b"written")
        trial.flush()
    free_bytes = shutil.disk_usage(there).free
    room = "little room left" if free_bytes < LITTLE_ROOM_BYTES else "room"
    made = "" if there == place else " (is made when it is first used)"
    return f"{place}{made}: can be written; {room}: {free_bytes / 1e9:.1f} GB free"


def _data(place: Path, database: str | None, now: dt.datetime) -> str:
    if database is None and not (place.exists() and any(place.iterdir())):
        return "none yet"
    with look_into(place, clock=lambda: now, database=database) as store:
        listed = store.visits(limit=1)
        remark = store.clock_remark()
    said = (
        f"they open; the newest visit is from {listed[0].opened_at:%Y-%m-%d}" if listed else "they open; no visit yet"
    )
    return f"{said}. {remark}" if remark else said


def _database(now: dt.datetime) -> str:
    with tempfile.TemporaryDirectory() as folder, open_store(Path(folder), clock=lambda: now) as store:
        visit = store.new_visit(who="self-check", idempotency_key="1", vehicle=VehicleCard(description="none"))
        entry = store.record(visit.id, "words.try", "kept", who="self-check", idempotency_key="1")
        if store.history(visit.id) != (entry,):
            raise Trouble("found another entry than was kept; expected the same")
        name = store.engine.dialect.name
        version = ".".join(map(str, store.engine.dialect.server_version_info or ()))
    return f"an entry kept and read back; {name} {version}"


def _fonts() -> str:
    folder = resources.files("lostgallon.data") / "fonts"
    names = sorted(font.name for font in folder.iterdir() if font.name.endswith((".ttf", ".otf")))
    if not names:
        raise Trouble("found no typeface in the package; expected the one it is shipped with")
    return ", ".join(names)


def _pdf(now: dt.datetime) -> str:
    made = pdf_of("trial", {"says": "Lost Gallon"}, day=now.date())
    return f"a page was set, {len(made)} bytes"
