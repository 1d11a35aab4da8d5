"""Bringing a backup back: unpacked beside the place, verified to the last hash, and only then moved into it."""

import datetime as dt
import tempfile
from collections.abc import Callable
from pathlib import Path

from sqlalchemy import func, select, text

from lostgallon.shop.kept import Inspection, Restored
from lostgallon.shop.trouble import BadArgument, BadFile, NewerData
from lostgallon.store import archive, files, hold, schema
from lostgallon.store.backup import copy_rows
from lostgallon.store.inspection import inspect_store
from lostgallon.store.opening import DATABASE_NAME, open_store
from lostgallon.store.plainly import said_plainly
from lostgallon.store.schema import REVISIONS
from lostgallon.store.store import Store

Clock = Callable[[], dt.datetime]


def restore(source: Path, place: Path, *, clock: Clock, database: str | None = None, replace: bool = False) -> Restored:
    """Bring a backup back into a data folder, or into an empty server database and a data folder.

    Args:
        source: The archive.
        place: The data folder; new, empty, or with `replace` a shop's folder, which is set aside and not removed.
        clock: Hands over the time now.
        database: The URL of an empty server database, or None for SQLite in the folder.
        replace: Whether data that stand at the place may be set aside.

    Raises:
        BadFile: If this is no backup, or what is in it is not what was backed up.
        NewerData: If it was made by a newer program.
        BadArgument: If there are data at the place already.
        CantKeep: If a program has the place open, or it can't be written.
    """
    manifest = archive.read_manifest(source)
    if manifest.revision not in REVISIONS:
        raise NewerData(
            f"{source}: found a backup of version {manifest.revision}, made by a newer program; "
            f"expected {REVISIONS[-1]} or older; restore it with the newer program"
        )
    place = place.absolute()
    _require_room(place, replace=replace or database is not None)
    with said_plainly(place):
        place.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=place.parent, prefix=hold.scratch_prefix(place)) as scratch:
            fresh = Path(scratch) / "shop"
            archive.unpack(source, manifest, fresh)
            found = _verify(source, fresh, manifest, clock)
            set_aside = _into_place(fresh, place, clock()) if database is None else None
            if database is not None:
                _into_server(fresh, place, database, clock)
    return Restored(
        place=str(place),
        made_at=manifest.made_at,
        visits=found.visits,
        entries=found.entries,
        files=len(manifest.parts) - 1,
        set_aside=None if set_aside is None else str(set_aside),
        not_readable=manifest.not_readable,
    )


def _require_room(place: Path, *, replace: bool) -> None:
    if not place.exists() or (place.is_dir() and not any(place.iterdir())):
        return
    if not replace:
        raise BadArgument(
            "--data", found=f"data at {place}", expected="a new folder, or --replace to set what is there aside"
        )
    if not (place / DATABASE_NAME).exists() and not (place / "files").exists():
        raise BadArgument("--data", found=f"something else at {place}", expected="a new folder or a shop's data folder")


def _verify(source: Path, fresh: Path, manifest: archive.Manifest, clock: Clock) -> Inspection:
    with open_store(fresh, clock=clock) as store:
        found = inspect_store(store)
    known = {str(fresh / name) for name in manifest.not_readable}
    damage = [one for one in found.damage if one.where not in known]
    if damage:
        first = damage[0]
        raise BadFile(f"{source}: {first.where}", found=first.found, expected=f"{first.expected}; use another backup")
    return found


def _into_place(fresh: Path, place: Path, now: dt.datetime) -> Path | None:
    for folder in sorted(path for path in fresh.rglob("*") if path.is_dir()):
        files.sync_folder(folder)
    files.sync_folder(fresh)
    set_aside = None
    if place.exists() and any(place.iterdir()):
        with hold.hold_alone(place):
            set_aside = place.with_name(f"{place.name}-before-{now:%Y%m%dT%H%M%S}")
            place.rename(set_aside)
    elif place.exists():
        place.rmdir()
    try:
        fresh.rename(place)
    except OSError:
        if set_aside:
            set_aside.rename(place)
        raise
    files.sync_folder(place.parent)
    return set_aside


def _into_server(fresh: Path, place: Path, database: str, clock: Clock) -> None:
    with open_store(fresh, clock=clock) as source, open_store(place, clock=clock, database=database) as target:
        _require_empty(target)
        for path in source.shelf.names():
            with path.open("rb") as stream:
                target.shelf.put(stream, path.suffix)
        with source.snapshot() as rows, target.engine.execution_options(writes=True).begin() as connection:
            copy_rows(rows, connection)
            connection.execute(
                text(
                    "SELECT setval(pg_get_serial_sequence('setting', 'number'), "
                    "(SELECT coalesce(max(number), 0) + 1 FROM setting), false)"
                )
            )


def _require_empty(store: Store) -> None:
    with store.snapshot() as connection:
        for table in schema.tables.sorted_tables:
            if connection.scalar(select(func.count()).select_from(table)):
                raise BadArgument(
                    "--database", found=f"a database with a {table.name} in it", expected="a new, empty database"
                )
