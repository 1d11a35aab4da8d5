"""The accounts, computed beside the pages: one at a time, the newest wish first, an older wish for a visit dropped."""

import threading
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from lostgallon.shop.account import Account
from lostgallon.shop.trouble import Trouble
from lostgallon.shop.visit import Case

Answer = tuple[Account | None, str]
"""An account, or the sentence that says why there is none."""

Submit = Callable[[Case], "Future[Answer]"]


@dataclass(frozen=True)
class Known:
    """The newest account of a visit: the mark of what it includes, and the account or why there is none."""

    mark: str
    account: Account | None
    trouble: str


class Keeps(Protocol):
    """Whatever keeps accounts over a restart."""

    def load(self, visit_id: str) -> Known | None:
        """What was kept."""
        ...

    def save(self, visit_id: str, known: Known) -> None:
        """Keep it."""
        ...


def compute(case: Case, folder: Path | None) -> Answer:
    """One account; runs in the worker. Calibrations of vehicles are kept in the folder."""
    from lostgallon.job.account import Asked, account_of  # noqa: PLC0415 - the pages must not wait for the physics

    try:
        return account_of(case, Asked(folder=folder)), ""
    except Trouble as trouble:
        return None, str(trouble)


class Accounts:
    """Wishes for accounts and the newest answers.

    Args:
        submit: Starts one computation and hands back its future.
        trouble: The sentence for a computation that broke.
        keeper: Keeps answers over a restart; None keeps none.
    """

    def __init__(self, submit: Submit, *, trouble: str, keeper: Keeps | None = None) -> None:
        self._submit, self._trouble, self._keeper = submit, trouble, keeper
        self._lock = threading.Lock()
        self._known: dict[str, Known] = {}
        self._wishes: dict[str, tuple[str, Case]] = {}
        self._running: tuple[str, str] | None = None

    def known(self, visit_id: str) -> Known | None:
        """The newest account of a visit, whatever it includes."""
        if visit_id not in self._known and self._keeper:
            kept = self._keeper.load(visit_id)
            if kept:
                self._known.setdefault(visit_id, kept)
        return self._known.get(visit_id)

    def want(self, visit_id: str, mark: str, case: Case) -> None:
        """Ask for the account that includes everything up to a mark; asked twice is asked once."""
        known = self.known(visit_id)
        with self._lock:
            if (known and known.mark == mark) or self._running == (visit_id, mark):
                return
            self._wishes.pop(visit_id, None)
            self._wishes[visit_id] = (mark, case)
        self._next()

    def _next(self) -> None:
        with self._lock:
            if self._running or not self._wishes:
                return
            visit_id, (mark, case) = self._wishes.popitem()
            self._running = (visit_id, mark)
        try:
            future = self._submit(case)
        except RuntimeError:
            future = Future()
            future.set_exception(RuntimeError("the worker is gone"))
        future.add_done_callback(lambda done: self._keep(visit_id, mark, done))

    def _keep(self, visit_id: str, mark: str, done: "Future[Answer]") -> None:
        account, trouble = (None, self._trouble) if done.cancelled() or done.exception() else done.result()
        known = Known(mark=mark, account=account, trouble=trouble)
        with self._lock:
            self._known[visit_id] = known
            self._running = None
        if self._keeper:
            self._keeper.save(visit_id, known)
        self._next()
