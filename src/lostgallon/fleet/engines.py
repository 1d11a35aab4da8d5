"""Who weighs the parts: this process, several processes, or an existing Dask cluster. The answer is the same.

An engine takes a part and hands back something to wait on; `ahead` says how many it likes to have waiting, so that a
fleet beyond memory never stands there whole.
"""

import multiprocessing
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from typing import Any, Protocol

from lostgallon.fleet.parts import Part, weighed
from lostgallon.shop.spread import Floats
from lostgallon.shop.trouble import BadArgument, CantKeep

AHEAD = 3
"""Parts waiting for each worker."""
TRIES = 3
CONNECT_S = 10
DASK = "dask://"


class Waiting(Protocol):
    """Rows that are being worked out."""

    def result(self) -> Floats:
        """The rows; waits for them."""


@dataclass(frozen=True)
class Done:
    """Rows that are there already."""

    rows: Floats

    def result(self) -> Floats:
        """The rows."""
        return self.rows


@dataclass(frozen=True)
class Engine:
    """How a part is handed out, and how many may wait."""

    submit: Callable[[Part], Waiting]
    ahead: int


def engine_of(address: str, workers: int) -> AbstractContextManager[Engine]:
    """The engine asked for.

    Args:
        address: dask://HOST:PORT of a scheduler; empty for this machine.
        workers: Processes of this machine.
    """
    if address:
        return _dask(address)
    return _processes(workers) if workers > 1 else _here()


@contextmanager
def _here() -> Iterator[Engine]:
    yield Engine(lambda part: Done(weighed(part)), ahead=0)


@contextmanager
def _processes(count: int) -> Iterator[Engine]:
    # spawn: a forked copy of threads that hold locks can hang
    workers = ProcessPoolExecutor(count, mp_context=multiprocessing.get_context("spawn"))
    try:
        yield Engine(lambda part: workers.submit(weighed, part), ahead=count * AHEAD)
    finally:
        workers.shutdown(cancel_futures=True)


@contextmanager
def _dask(address: str) -> Iterator[Engine]:
    """The workers of an existing cluster.

    A part travels with its task, so that a part whose worker dies is weighed again by another.

    Raises:
        BadArgument: If the package is not installed or nothing answers there.
    """
    try:
        from distributed import Client  # noqa: PLC0415 - an extra; only who asks for a cluster needs it
    except ImportError:
        raise BadArgument("--engine", found=address, expected="the extra 'fleet' installed (distributed)") from None
    try:
        client = Client(f"tcp://{address.removeprefix(DASK)}", timeout=CONNECT_S)  # type: ignore[no-untyped-call] # the extra has no types
    except (OSError, ValueError):
        expected = "a Dask scheduler that answers at dask://HOST:PORT"
        raise BadArgument("--engine", found=address, expected=expected) from None
    with client:
        workers = max(len(client.scheduler_info(n_workers=-1)["workers"]), 1)
        yield Engine(lambda part: _Tried(client, part), ahead=workers * AHEAD)


class _Tried:
    """A part on the cluster, handed out again where it was lost."""

    def __init__(self, client: Any, part: Part) -> None:
        self._client, self._part = client, part
        self._future = self._submit()

    def _submit(self) -> Any:
        return self._client.submit(weighed, self._part, pure=False)

    def result(self) -> Floats:
        """The rows; waits.

        Raises:
            CantKeep: If the cluster lost the part three times.
        """
        from distributed.client import FutureCancelledError  # noqa: PLC0415 - the extra is there by now
        from distributed.scheduler import KilledWorker  # noqa: PLC0415 - the same

        for _ in range(TRIES):
            try:
                rows: Floats = self._future.result()
            except (KilledWorker, FutureCancelledError, OSError):
                self._future = self._submit()
            else:
                self._future.release()
                return rows
        raise CantKeep("found a cluster that lost one part three times; expected workers with 1 GB of memory or more")
