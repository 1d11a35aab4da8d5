"""`lostgallon drive --from-port`: records at the terminal until Ctrl+C or the end of the drive."""

import datetime as dt
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lostgallon.job.port import CAUTIONS, READS_ONLY, Watch, check_channel, file_name, record_drive, source_from
from lostgallon.shop.trouble import BadArgument

if TYPE_CHECKING:
    from lostgallon.port.recording import Progress


def record_first(channel: str, log: Path | None, *, vehicle: Path | None) -> Path:
    """Record a drive and hand over its log; everything said goes to standard error.

    Raises:
        BadArgument: If the log is there already.
        Trouble: If the port can't be read.
    """
    check_channel(channel)
    now = dt.datetime.now().astimezone()
    into = log or Path(file_name(now))
    if into.exists():
        raise BadArgument(str(into), found="a file that is there already", expected="a new name for the recording")
    for caution in CAUTIONS:
        click.echo(f"CAUTION  {caution}", err=True)
    click.echo(f"{READS_ONLY} Ctrl+C ends the recording; what is read by then is kept.", err=True)
    source = source_from(channel, vehicle)
    with _keyboard() as stop:
        done = record_drive(source, into, Watch(stop.is_set, _Line(watched=sys.stderr.isatty())), now=now)
    click.echo(f"\r{into}: {done.says}; {done.rows} lines, {done.rounds_hz:.1f} a second", err=True)
    for remark in done.remarks:
        click.echo(f"  {remark}", err=True)
    return into


@contextmanager
def _keyboard() -> Iterator[threading.Event]:
    """Ctrl+C as a wish to stop, not as an end of the program."""
    stop = threading.Event()
    before = signal.signal(signal.SIGINT, lambda *_: stop.set())
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, before)


class _Line:
    """One line at a terminal, written over once a second of the drive; nothing where nobody watches."""

    def __init__(self, *, watched: bool) -> None:
        self._watched, self._said_s = watched, -1.0

    def __call__(self, progress: "Progress") -> None:
        """Say how far it is."""
        seconds, rows = progress.seconds, progress.rows
        if self._watched and seconds - self._said_s >= 1.0:
            self._said_s = seconds
            click.echo(f"\r{seconds // 60:.0f}:{seconds % 60:02.0f}  {rows} lines", nl=False, err=True)
