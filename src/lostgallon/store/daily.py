"""A backup a day, made by the program itself; the oldest go."""

import datetime as dt
import re
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from lostgallon.shop.kept import BackupMade
from lostgallon.shop.trouble import Trouble
from lostgallon.store.backup import back_up
from lostgallon.store.plainly import said_plainly
from lostgallon.store.store import Store

LOOK_EVERY_S = 3600.0
_NAME = re.compile(r"lostgallon-\d{4}-\d{2}-\d{2}\.zip")


@dataclass(frozen=True)
class Daily:
    """The setting "backup.daily": whether, where (None: `backups` in the data folder), and how many are kept."""

    on: bool = True
    folder: str | None = None
    keep: int = 14


def daily_setting(store: Store) -> Daily:
    """The setting as it stands."""
    return Daily(**store.setting("backup.daily", {}))


def backups_kept(store: Store) -> tuple[str, ...]:
    """The names of the daily backups that are there, the oldest first; none where the folder can't be read."""
    try:
        return tuple(sorted(path.name for path in _folder(store).iterdir() if _NAME.fullmatch(path.name)))
    except OSError:
        return ()


def _folder(store: Store) -> Path:
    wanted = daily_setting(store)
    return Path(wanted.folder) if wanted.folder else store.place / "backups"


def daily_backup(store: Store) -> BackupMade | None:
    """Make today's backup if the setting "backup.daily" wants it and it is not there yet; let go of the oldest.

    It costs nothing when there is nothing to do.

    Raises:
        CantKeep: If it can't be written.
    """
    wanted = daily_setting(store)
    if not wanted.on:
        return None
    folder = _folder(store)
    target = folder / f"lostgallon-{_local_day(store.clock())}.zip"
    if target.exists():
        return None
    with said_plainly(folder):
        folder.mkdir(parents=True, exist_ok=True)
    made = back_up(store, target)
    dated = sorted(path for path in folder.iterdir() if _NAME.fullmatch(path.name))
    with said_plainly(folder):
        for old in dated[: -max(wanted.keep, 1)]:
            old.unlink()
    return made


def _local_day(moment: dt.datetime) -> str:
    return moment.astimezone().date().isoformat()


def back_up_every_day(
    store: Store, *, stop: threading.Event, on_trouble: Callable[[Trouble], None]
) -> threading.Thread:
    """Look every hour whether today's backup is due, in a thread of its own, until told to stop.

    Args:
        store: The shop, open; writers are not held up.
        stop: Ends the thread when set.
        on_trouble: Told when a backup can't be written; the next hour tries again.
    """

    def work() -> None:
        while not stop.is_set():
            try:
                daily_backup(store)
            except Trouble as trouble:
                on_trouble(trouble)
            stop.wait(LOOK_EVERY_S)

    thread = threading.Thread(target=work, name="daily backup", daemon=True)
    thread.start()
    return thread
