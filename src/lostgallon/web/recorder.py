"""Recordings at the port in the background: one at a time, kept whatever ends them, found again after a restart."""

import datetime as dt
import logging
import tempfile
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from lostgallon.job.port import Source, Watch, file_name, record_drive
from lostgallon.shop.recorded import Recorded
from lostgallon.shop.trouble import BadInput, Trouble

if TYPE_CHECKING:
    from lostgallon.port.recording import Progress

_log = logging.getLogger(__name__)
CLOSE_S = 10.0
RAW = ".raw.csv"
LEAST_LINES = 20
"""A recording of fewer lines says nothing and is not offered."""


@dataclass
class Run:
    """A recording of a visit while it runs and after it.

    Attributes:
        visit_id: The visit.
        channel: The channel as typed.
        log: Where its table grows.
        seconds: How long it is; a simulated vehicle lives faster than the wall's clock.
        rows: Lines so far.
        newest: The newest values by channel, in the port's units.
        done: What was recorded, once it is kept.
        trouble: Why it is not; empty where it is.
        own_fault: Whether the program itself broke.
    """

    visit_id: str
    channel: str
    log: Path
    seconds: float = 0.0
    rows: int = 0
    newest: Mapping[str, float] = field(default_factory=dict)
    done: Recorded | None = None
    trouble: str = ""
    own_fault: bool = False
    wanted_end: threading.Event = field(default_factory=threading.Event)
    over: threading.Event = field(default_factory=threading.Event)

    @property
    def runs(self) -> bool:
        """Whether it is still recording or being kept."""
        return not self.over.is_set()

    def note(self, progress: "Progress") -> None:
        """Take over how far it is."""
        self.seconds, self.rows, self.newest = progress.seconds, progress.rows, dict(progress.newest)


class Recorder:
    """The recordings of a shop.

    Args:
        folder: Where they grow until they are kept; None for a throw-away folder.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = folder
        self._lock = threading.Lock()
        self._newest: dict[str, Run] = {}

    @property
    def folder(self) -> Path:
        """Where recordings grow; made when it is first asked for."""
        if self._folder is None:
            self._folder = Path(tempfile.mkdtemp(prefix="lostgallon-recordings-"))
        self._folder.mkdir(parents=True, exist_ok=True)
        return self._folder

    def of(self, visit_id: str) -> Run | None:
        """The newest recording of a visit since the program started."""
        return self._newest.get(visit_id)

    def running(self) -> Run | None:
        """The recording that runs now: there is one adapter."""
        return next((run for run in list(self._newest.values()) if run.runs), None)

    def start(self, visit_id: str, source: Source, *, now: dt.datetime, keep: Callable[[Recorded], None]) -> Run:
        """Start one; the same visit twice is started once.

        Args:
            visit_id: The visit.
            source: The port.
            now: The time of day with its zone.
            keep: Called with what was recorded; its files go once it returns.

        Raises:
            BadInput: If another visit is being recorded.
        """
        with self._lock:
            running = self.running()
            if running is not None and running.visit_id == visit_id:
                return running
            if running is not None:
                raise BadInput(
                    "", found="a recording of another vehicle that still runs", expected="it to be ended first"
                )
            run = Run(visit_id, source.channel, self.folder / f"{visit_id}-{now:%S}-{file_name(now)}")
            self._newest[visit_id] = run
        threading.Thread(target=self._work, args=(run, source, now, keep), daemon=True).start()
        return run

    def stop(self, visit_id: str) -> None:
        """Ask a recording to end; what it has is kept."""
        run = self.of(visit_id)
        if run is not None:
            run.wanted_end.set()

    def unfinished(self, visit_id: str) -> Path | None:
        """A recording that nobody kept: the program ended while it ran, or keeping it failed."""
        run = self.of(visit_id)
        if self._folder is None or not self._folder.is_dir() or (run is not None and run.runs):
            return None
        there = sorted(path for path in self._folder.glob(f"{visit_id}-*.csv") if not path.name.endswith(RAW))
        return next((path for path in reversed(there) if _holds_lines(path)), None)

    def forget(self, log: Path) -> None:
        """Let go of the files of a recording that is kept."""
        for path in (log, log.with_suffix(RAW)):
            path.unlink(missing_ok=True)

    def close(self) -> None:
        """End what runs and wait until it is kept."""
        run = self.running()
        if run is not None:
            run.wanted_end.set()
            run.over.wait(CLOSE_S)

    def _work(self, run: Run, source: Source, now: dt.datetime, keep: Callable[[Recorded], None]) -> None:
        try:
            done = record_drive(source, run.log, Watch(run.wanted_end.is_set, run.note), now=now)
            keep(done)
            self.forget(run.log)
            run.done = done
        except Trouble as trouble:
            run.trouble = str(trouble)
        except Exception:  # noqa: BLE001 - see below
            # A thread of its own: nobody else would hear of it, and the page must not wait forever.
            _log.exception("a recording broke")
            run.own_fault = True
        finally:
            run.over.set()


def _holds_lines(log: Path) -> bool:
    with log.open("rb") as file:
        return file.read(100_000).count(b"\n") >= LEAST_LINES
