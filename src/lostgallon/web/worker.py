"""A process of its own for the accounts, so that a page never waits for physics."""

import multiprocessing
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from importlib import import_module
from pathlib import Path

from lostgallon.shop.visit import Case
from lostgallon.web.accounts import JOB, Answer, compute


def load() -> None:
    """Load what an account needs, before the first one is wanted."""
    import_module(JOB)


class Worker:
    """One process; a new one where it died.

    Args:
        folder: Where calibrations of vehicles are kept.
    """

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder
        self._pool = self._start()

    def submit(self, case: Case) -> "Future[Answer]":
        """Start one account."""
        try:
            return self._pool.submit(compute, case, self._folder)
        except BrokenProcessPool:
            self._pool = self._start()
            return self._pool.submit(compute, case, self._folder)

    def close(self) -> None:
        """End the process; what it was computing is dropped."""
        self._pool.shutdown(wait=False, cancel_futures=True)

    @staticmethod
    def _start() -> ProcessPoolExecutor:
        # A fork of a program with threads can hang; a fresh process can't.
        pool = ProcessPoolExecutor(max_workers=1, mp_context=multiprocessing.get_context("spawn"))
        pool.submit(load)
        return pool
