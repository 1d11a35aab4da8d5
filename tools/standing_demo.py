"""The invented shop on a clock that stands, for pictures that are the same every day: python -m tools.standing_demo."""

import datetime as dt
import signal
import sys

from lostgallon.cli.demo import serve_demo

HOUR = dt.datetime(2026, 1, 13, 13, 0)  # noqa: DTZ001 - the clock on the shop's wall

if __name__ == "__main__":
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    serve_demo(
        0,
        clock=lambda: HOUR,
        aware=lambda: HOUR.replace(tzinfo=dt.UTC),
        ready=lambda address: print(address, flush=True),
    )
