"""`lostgallon demo`: the invented shop in the browser, thrown away afterwards."""

import datetime as dt
import signal
import sys
import tempfile
import threading
import webbrowser
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import click

from lostgallon.cli.serve import local_now
from lostgallon.readers.cast import write_cast
from lostgallon.store import open_store
from lostgallon.web.demo import Clock, Writer
from lostgallon.web.person import Person
from lostgallon.web.say import Say
from lostgallon.web.serving import Wanted, open_desk, run
from lostgallon.web.words import page_words

AFTER_FIRST_PAGE_S = 1.0
"""Nobody's first page waits for the visits that come after the guided one."""


@click.command(name="demo", help="The built-in demo shop in the browser; nothing to configure, nothing kept.")
@click.option("--port", type=int, default=0, help="The port; any free one if not given.")
@click.option("--no-browser", is_flag=True, help="Don't open the browser.")
@click.option("--files", type=click.Path(path_type=Path), help="Only write the demo's cases and logs to this folder.")
def command(port: int, *, no_browser: bool, files: Path | None) -> None:
    """Write the shop into a throw-away folder and serve it."""
    if files:
        click.echo("\n".join(map(str, write_cast(files))))
        return
    # Ended from outside, it throws its folder away too.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))

    def ready(address: str) -> None:
        click.echo(f"Lost Gallon, invented shop: {address}   Ctrl+C ends it and throws it away")
        if not no_browser:
            webbrowser.open(address)

    serve_demo(port, clock=local_now, aware=lambda: dt.datetime.now(dt.UTC), ready=ready)


def serve_demo(
    port: int,
    *,
    clock: Callable[[], dt.datetime],
    aware: Callable[[], dt.datetime],
    ready: Callable[[str], None],
) -> None:
    """Serve the invented shop until it is ended, by the clock that is given; `ready` is told its address."""
    with tempfile.TemporaryDirectory(prefix="lostgallon-demo-", ignore_cleanup_errors=True) as folder:
        past, say = Clock(clock), Say(page_words("en"), Person())
        wanted = Wanted(folder=Path(folder), port=port, clock=clock, guide=True)
        opened = open_desk(wanted, aware=aware)
        writer = replace(opened.desk, store=open_store(wanted.folder, clock=past.aware), clock=past)
        clerk = Writer(writer, past, say, submit=opened.worker.submit)
        opened.desk.sheet(clerk.first())  # asks for its account
        others = threading.Timer(AFTER_FIRST_PAGE_S, clerk.rest)
        others.daemon = True
        others.start()
        run(opened, wanted, ready=ready)
