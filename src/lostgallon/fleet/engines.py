"""Who reads the pieces and weighs the parts: this process, several processes, or an existing Dask cluster.

The answer is the same. An engine takes a piece of work and hands back something to wait on; `ahead` says how many it
likes to have waiting, so that a fleet beyond memory never stands there whole.
"""

import multiprocessing
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, Protocol, TypeVar

from lostgallon.fillups.compiled import bring_into_use
from lostgallon.fleet.one_core import one_core
from lostgallon.fleet.parts import Part, Task, keep, kept_rows, rows_of, weighed
from lostgallon.fleet.pieces import read_piece
from lostgallon.fleet.shared import Counts
from lostgallon.shop.spread import Floats
from lostgallon.shop.trouble import BadArgument, CantKeep

AHEAD = 3
"""Pieces of work waiting for each worker."""
TRIES = 3
CONNECT_S = 10
DASK = "dask://"

Work = TypeVar("Work")
Answer = TypeVar("Answer")
Answer_co = TypeVar("Answer_co", covariant=True)


class Waiting(Protocol[Answer_co]):
    """An answer that is being worked out."""

    def result(self) -> Answer_co:
        """The answer; waits for it."""


@dataclass(frozen=True)
class Done(Generic[Answer]):
    """An answer that is there already."""

    answer: Answer

    def result(self) -> Answer:
        """The answer."""
        return self.answer


@dataclass(frozen=True)
class Engine:
    """How a piece is handed out to be read, how a task to be weighed, and how many may wait."""

    read: Callable[[Path], Waiting[Counts]]
    weigh: Callable[[Task], Waiting[Floats]]
    ahead: int = 0

    def in_order(self, hand_out: Callable[[Work], Waiting[Answer]], work: Iterable[Work]) -> Iterator[Answer]:
        """The answers to all of the work, in its order, while more of it is handed out."""
        waiting: deque[Waiting[Answer]] = deque()
        for each in work:
            waiting.append(hand_out(each))
            if len(waiting) > self.ahead:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()


class Tried:
    """Work that is handed out again where its worker died."""

    def __init__(self, hand_out: Callable[[], Any], lost: tuple[type[Exception], ...]) -> None:
        self._hand_out, self._lost, self._future = hand_out, lost, hand_out()

    def result(self) -> Any:
        """The answer; waits.

        Raises:
            CantKeep: If it was lost three times.
        """
        for _ in range(TRIES):
            try:
                return self._future.result()
            except self._lost:
                self._future = self._hand_out()
        raise CantKeep(
            "found workers that died three times over one part; expected workers with 1 GB of memory or more"
        )


def engine_of(address: str, workers: int, machine_code: Path | None) -> AbstractContextManager[Engine]:
    """The engine asked for.

    Args:
        address: dask://HOST:PORT of a scheduler; empty for this machine.
        workers: Processes of this machine.
        machine_code: Loaded by those processes while they wait for work; see Part.
    """
    if address:
        return _dask(address)
    return _processes(workers, machine_code) if workers > 1 else _here()


@contextmanager
def _here() -> Iterator[Engine]:
    yield Engine(read=lambda place: Done(read_piece(place)), weigh=lambda task: Done(rows_of(task)))


class _Processes:
    """Processes of this machine, started anew where one died."""

    def __init__(self, count: int) -> None:
        self._count = count
        self._pool = self._started()

    def _started(self) -> ProcessPoolExecutor:
        # spawn: a forked copy of threads that hold locks can hang
        spawn = multiprocessing.get_context("spawn")
        return ProcessPoolExecutor(self._count, mp_context=spawn, initializer=one_core)

    def submit(self, *call: Any) -> Any:
        """A future of a function and its argument."""
        try:
            return self._pool.submit(*call)
        except BrokenProcessPool:
            self._pool = self._started()
            return self._pool.submit(*call)

    def stop(self) -> None:
        """Ends them; what waits is not begun."""
        self._pool.shutdown(cancel_futures=True)


@contextmanager
def _processes(count: int, machine_code: Path | None) -> Iterator[Engine]:
    processes = _Processes(count)
    lost = (BrokenProcessPool,)
    try:
        if machine_code is not None:
            for _ in range(count):
                processes.submit(bring_into_use, machine_code)
        yield Engine(
            read=lambda place: Tried(lambda: processes.submit(read_piece, place), lost),
            weigh=lambda task: Tried(lambda: processes.submit(rows_of, task), lost),
            ahead=count * AHEAD,
        )
    finally:
        processes.stop()


@contextmanager
def _dask(address: str) -> Iterator[Engine]:
    """The workers of an existing cluster; pieces are read here, where the files are.

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
        yield Engine(
            read=lambda place: Done(read_piece(place)),
            weigh=lambda task: _on_cluster(client, task),
            ahead=workers * AHEAD,
        )


def _on_cluster(client: Any, task: Task) -> Waiting[Floats]:
    """The tanks of a task travel with it, so that another worker can weigh them where one dies."""
    part = task.part()
    kept = kept_rows(task.kept, part)
    return _Sent(client, task, part) if kept is None else Done(kept)


class _Sent:
    """A part on the cluster; its rows are kept here, where the next run looks."""

    def __init__(self, client: Any, task: Task, part: Part) -> None:
        from distributed.client import FutureCancelledError  # noqa: PLC0415 - the extra is there by now
        from distributed.scheduler import KilledWorker  # noqa: PLC0415 - the same

        self._task, self._part = task, part
        lost = (KilledWorker, FutureCancelledError, OSError)
        self._tried = Tried(lambda: client.submit(weighed, part, pure=False), lost)

    def result(self) -> Floats:
        """The rows; waits."""
        return keep(self._task.kept, self._part, self._tried.result())
