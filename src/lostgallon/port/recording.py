"""A drive recorded from start to end, whatever ends it: what was read up to there is kept, and says so."""

import datetime as dt
import errno
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from lostgallon.port.channel import Channel, Connected, Opens, connected
from lostgallon.port.gate import PortLost
from lostgallon.port.kept_memory import codes_by_service
from lostgallon.port.line import Strays
from lostgallon.port.log_files import LogFiles
from lostgallon.port.polling import Poller
from lostgallon.shop.recorded import EndedBy, Recorded
from lostgallon.shop.trouble import CantKeep

LONGEST_S = 4 * 3600.0
WAIT_BACK_S = 30.0
"""A stop for fuel or a stalled engine is waited out; a vehicle that was left is not."""

SAYS: dict[EndedBy, str] = {
    "stopped": "stopped by hand",
    "silent": "the vehicle no longer answered: ignition off, or the plug came out",
    "lost": "the adapter was lost",
    "full": "the disk is full",
    "long": "four hours are the limit",
}


@dataclass(frozen=True)
class Wish:
    """What to record.

    Attributes:
        channel: The adapter.
        log: Where the table goes; the raw answers go beside it.
        started: The time of day with its zone.
        wait_back_s: How long a vehicle that fell silent is waited for.
    """

    channel: Channel
    log: Path
    started: dt.datetime
    wait_back_s: float = WAIT_BACK_S

    @property
    def raw(self) -> Path:
        """Where the raw answers go."""
        return self.log.with_suffix(".raw.csv")


@dataclass(frozen=True)
class Progress:
    """How far a recording is: seconds, lines, and the newest values by channel in the port's units."""

    seconds: float
    rows: int
    newest: dict[str, float]


@dataclass(frozen=True)
class Edges:
    """What a recording is given from outside: how an adapter is opened, the clock, the person's wish to stop."""

    opens: Opens
    clock_s: Callable[[], float]
    stop: Callable[[], bool]
    progress: Callable[[Progress], None]


def record(wish: Wish, edges: Edges) -> Recorded:
    """Record until somebody stops it or nothing answers any more.

    Args:
        wish: What to record, and where to.
        edges: The adapter, the clock, the person.

    Returns:
        What was recorded and why it ended; its files are complete up to the end.

    Raises:
        NothingAnswers: If no module answered from the start.
        PortLost: If the adapter could not be used from the start.
        CantKeep: If nothing can be written there.
    """
    with connected(wish.channel, edges.opens, edges.clock_s) as there:
        poller = Poller(there.line, there.vehicle, wish.wait_back_s)
        codes = codes_by_service(there, services=(0x03, 0x07))
        try:
            files = LogFiles(wish.log, wish.raw, channel_ids=poller.channels, codes=codes)
        except OSError as error:
            raise CantKeep(f"{wish.log}: {error.strerror or error}; expected a folder that can be written") from error
        running = _Running(there, poller, files, edges)
        try:
            ended_by, why = running.run()
        finally:
            files.close()
        if not files.rows:
            for path in (wish.log, wish.raw):
                path.unlink(missing_ok=True)
            raise PortLost(f"{why}; no value was read")
        return _recorded(wish, running, ended_by, why)


class _Running:
    """A recording while it runs."""

    def __init__(self, there: Connected, poller: Poller, files: LogFiles, edges: Edges) -> None:
        self.there, self.poller, self.files, self.edges = there, poller, files, edges
        self.began_s = there.line.clock_s()
        self.last_s = self.began_s
        self.strays = Strays()
        self._newest: dict[str, float] = {}

    def run(self) -> tuple[EndedBy, str]:
        """Rounds into lines; why it ended, and in words."""
        files, began_s = self.files, self.began_s
        self.there.line.raw = lambda at_s, module, request, answer: files.answer(
            at_s - began_s, module, request, answer
        )
        try:
            return self._rounds()
        except PortLost as lost:
            return "lost", str(lost)
        except OSError as error:
            if error.errno not in {errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EROFS}:
                raise
            return "full", SAYS["full"]
        finally:
            self.there.line.raw = None

    def _rounds(self) -> tuple[EndedBy, str]:
        for one in self.poller.rounds():
            at_s = one.at_s - self.began_s
            if one.values:
                self.files.row(at_s, one.values)
                self.last_s = one.at_s
                self.strays.counts = self.there.line.strays.counts.copy()
                self._newest |= one.values
            self.edges.progress(Progress(at_s, self.files.rows, self._newest))
            if self.edges.stop():
                return "stopped", SAYS["stopped"]
            if at_s > LONGEST_S:
                return "long", SAYS["long"]
        return "silent", SAYS["silent"]


def _recorded(wish: Wish, running: _Running, ended_by: EndedBy, why: str) -> Recorded:
    seconds = running.last_s - running.began_s
    return Recorded(
        log=str(wish.log),
        raw=str(wish.raw),
        started=wish.started.isoformat(timespec="seconds"),
        seconds=seconds,
        rows=running.files.rows,
        rounds_hz=(running.files.rows - 1) / seconds if seconds > 0.0 else 0.0,
        connection=running.there.connection,
        channels=running.poller.channels,
        ended_by=ended_by,
        says=f"{seconds / 60.0:.0f} min recorded; {why}" + ("" if ended_by == "stopped" else "; that part is kept"),
        remarks=(
            *running.there.vehicle.remarks,
            *running.poller.remarks,
            *_strays(running.strays),
        ),
    )


def _strays(strays: Strays) -> tuple[str, ...]:
    return tuple(f"{reason}: {count}" for reason, count in strays.counts.most_common())
