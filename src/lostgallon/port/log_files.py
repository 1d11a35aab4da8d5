"""A recording on the disk: a table that the drive reader reads, and every answer byte by byte beside it.

Both grow line by line and are whole after every line, so that a pulled plug costs one round.
"""

import os
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TextIO

from lostgallon.shop.channels import channels

SYNC_S = 2.0
"""How much of a recording a power cut may cost."""


def heading_of(channel: str) -> str:
    """A channel as its column is headed: its name and the unit the port sends."""
    known = channels()[channel]
    unit = "" if known.unit in {"1", "status", "text"} else f" ({known.unit})"
    return f"{known.name}{unit}"


class LogFiles:
    """The two files while they grow.

    Args:
        log: Where the table goes.
        raw: Where the answers go.
        channel_ids: Columns of the table.
        codes: Trouble codes, written into the first line: a reader takes them from there.
        wall_s: The clock by which the disk is told to keep what it has; a simulated drive has a faster one of its own.

    Raises:
        OSError: If a file can't be written.
    """

    def __init__(
        self,
        log: Path,
        raw: Path,
        *,
        channel_ids: Sequence[str],
        codes: Sequence[str] = (),
        wall_s: Callable[[], float] = time.monotonic,
    ) -> None:
        self.rows = 0
        self._wall_s = wall_s
        self._channels, self._codes = tuple(channel_ids), " ".join(codes)
        self._synced_s = wall_s()
        self._log = log.open("w", encoding="utf-8", newline="")
        self._raw = raw.open("w", encoding="utf-8", newline="")
        headings = ["Time (s)", *map(heading_of, self._channels)]
        self._log.write(",".join([*headings, "Trouble codes"] if codes else headings) + "\n")
        self._raw.write("time_s,module,request,answer\n")

    def row(self, at_s: float, values: dict[str, float]) -> None:
        """One line of the table.

        Raises:
            OSError: If the disk is full.
        """
        cells = [f"{at_s:.3f}", *(_plain(values.get(channel)) for channel in self._channels)]
        if self._codes:
            cells.append(self._codes if self.rows == 0 else "")
        self._log.write(",".join(cells) + "\n")
        self.rows += 1
        if self._wall_s() - self._synced_s >= SYNC_S:
            self._synced_s = self._wall_s()
            for file in (self._log, self._raw):
                file.flush()
                os.fsync(file.fileno())

    def answer(self, at_s: float, module: str, request: bytes, answer: bytes) -> None:
        """One answer, in base 16.

        Raises:
            OSError: If the disk is full.
        """
        self._raw.write(f"{at_s:.4f},{module},{request.hex()},{answer.hex()}\n")

    def close(self) -> None:
        """Finish both; a full disk keeps what it has."""
        for file in (self._log, self._raw):
            _close(file)


def _close(file: TextIO) -> None:
    with suppress(OSError):
        file.close()


def _plain(value: float | None) -> str:
    return "" if value is None else f"{value:.6g}"
