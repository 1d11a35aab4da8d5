"""Processes of their own for the accounts, so that a page never waits for physics."""

import multiprocessing
import queue
import signal
import threading
from concurrent.futures import Future
from multiprocessing.connection import Connection
from pathlib import Path

from lostgallon.shop.proven import ProofQuestion
from lostgallon.shop.visit import Case
from lostgallon.web.accounts import Answer, compute

Question = Case | ProofQuestion
Wish = tuple[Question, "Future[Answer]"]


class Worker:
    """Processes that compute one account each; a new one where one died.

    Args:
        folder: Where calibrations of vehicles are kept.
        machine_code: Where the compiled physics is kept; None leaves it uncompiled.
        lanes: How many processes; those after the first start when the first has answered once, so that nobody's
            first account shares the processor with them.
    """

    def __init__(self, folder: Path | None, machine_code: Path | None = None, *, lanes: int = 1) -> None:
        self._folder, self._machine_code = folder, machine_code
        self._wishes: queue.Queue[Wish | None] = queue.Queue()
        self._closed, self._answered = threading.Event(), threading.Event()
        self._processes: dict[int, multiprocessing.process.BaseProcess] = {}
        for lane in range(lanes):
            threading.Thread(target=self._serve, args=(lane,), daemon=True).start()

    def submit(self, case: Question) -> "Future[Answer]":
        """Start one account or proof; those asked for before come first."""
        future: Future[Answer] = Future()
        self._wishes.put((case, future))
        return future

    def close(self) -> None:
        """End the processes; what they were computing is dropped."""
        self._closed.set()
        self._answered.set()
        for _ in range(len(self._processes) + 1):
            self._wishes.put(None)
        for process in self._processes.values():
            process.terminate()

    def _serve(self, lane: int) -> None:
        if lane:
            self._answered.wait()
        if self._closed.is_set():
            return
        ours = self._start(lane)
        while (wish := self._wishes.get()) is not None:
            case, future = wish
            try:
                ours.send(case)
                future.set_result(ours.recv())
            except (EOFError, OSError) as gone:
                if self._closed.is_set():
                    return
                ours = self._start(lane)
                future.set_exception(gone)
            self._answered.set()

    def _start(self, lane: int) -> Connection:
        # A fork of a program with threads can hang; a fresh process can't.
        fresh = multiprocessing.get_context("spawn")
        ours, theirs = fresh.Pipe()
        process = fresh.Process(target=work, args=(theirs, self._folder, self._machine_code), daemon=True)
        process.start()
        theirs.close()
        self._processes[lane] = process
        return ours


def work(connection: Connection, folder: Path | None, machine_code: Path | None = None) -> None:
    """What the process does until its pipe is closed: a case in, an account or its trouble out."""
    # The keyboard stops the server; the server stops this.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    from lostgallon.job.memory import Memory  # noqa: PLC0415 - the server must not wait for the physics
    from lostgallon.job.quick import quicken  # noqa: PLC0415 - the same

    memory = Memory()
    while True:
        try:
            connection.send(compute(connection.recv(), folder, memory))
        except (EOFError, OSError):
            return
        if machine_code is not None:
            # After the first answer, so that nobody's first account shares the processor with a compiler.
            quicken(machine_code)
            machine_code = None
