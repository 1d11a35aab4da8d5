"""Accounts and proofs, computed beside the pages: a few at a time, the newest wish first, an older one dropped."""

import threading
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, Protocol, TypeVar

from lostgallon.shop.account import Account
from lostgallon.shop.proven import ProofQuestion, Proven
from lostgallon.shop.trouble import Trouble
from lostgallon.shop.visit import Case
from lostgallon.shop.wire import plain

if TYPE_CHECKING:
    from lostgallon.job.memory import Memory

Wish = TypeVar("Wish")
Record = TypeVar("Record")

Answer = tuple[Any, str]
"""An account or a proof, or the sentence that says why there is none."""

OWN_NUMBERS = "numbers.yaml"
"""In the data folder, beside the calibrations: the shop's own numbers, where it uses them."""

Submit = Callable[[Wish], "Future[Answer]"]


@dataclass(frozen=True)
class Known(Generic[Record]):
    """The newest answer for a visit: the mark of what it includes, and the record or why there is none."""

    mark: str
    record: Record | None
    trouble: str

    @cached_property
    def told(self) -> Any:
        """The record as JSON knows it, made once; None where there is none."""
        return None if self.record is None else plain(self.record)


class Keeps(Protocol[Record]):
    """Whatever keeps answers over a restart."""

    def load(self, visit_id: str) -> Known[Record] | None:
        """What was kept."""
        ...

    def save(self, visit_id: str, known: Known[Record]) -> None:
        """Keep it."""
        ...


def compute(wish: Case | ProofQuestion, folder: Path | None, memory: "Memory | None" = None) -> Answer:
    """One account or one proof; runs in the worker. Calibrations of vehicles are kept in the folder."""
    try:
        return _proof(wish, folder) if isinstance(wish, ProofQuestion) else _account(wish, folder, memory), ""
    except Trouble as trouble:
        return None, str(trouble)


def _account(case: Case, folder: Path | None, memory: "Memory | None") -> Account:
    from lostgallon.job.account import Asked, account_of  # noqa: PLC0415 - the pages must not wait for the physics

    own = folder.parent / OWN_NUMBERS if folder else None
    numbers = own if own and own.is_file() else None
    return account_of(case, Asked(folder=folder, numbers=numbers, memory=memory))


def _proof(asked: ProofQuestion, folder: Path | None) -> Proven:
    from lostgallon.job.proof import prove  # noqa: PLC0415 - the same

    return prove(asked, folder=folder)


class Answers(Generic[Wish, Record]):
    """Wishes of one kind and the newest answers to them.

    Args:
        submit: Starts one computation and hands back its future.
        trouble: The sentence for a computation that broke.
        keeper: Keeps answers over a restart; None keeps none.
        lanes: How many are computed at a time, each for another visit.
    """

    def __init__(
        self, submit: Submit[Wish], *, trouble: str, keeper: Keeps[Record] | None = None, lanes: int = 1
    ) -> None:
        self._submit, self._trouble, self._keeper, self._lanes = submit, trouble, keeper, lanes
        self._lock = threading.Lock()
        self._known: dict[str, Known[Record]] = {}
        self._wishes: dict[str, tuple[str, Wish]] = {}
        self._running: dict[str, str] = {}

    def known(self, visit_id: str) -> Known[Record] | None:
        """The newest answer for a visit, whatever it includes."""
        if visit_id not in self._known and self._keeper:
            kept = self._keeper.load(visit_id)
            if kept:
                self._known.setdefault(visit_id, kept)
        return self._known.get(visit_id)

    def want(self, visit_id: str, mark: str, wish: Wish) -> None:
        """Ask for the answer that includes everything up to a mark; asked twice is asked once."""
        known = self.known(visit_id)
        with self._lock:
            waiting = self._wishes.get(visit_id)
            if (known and known.mark == mark) or self._running.get(visit_id) == mark:
                return
            if waiting is None or waiting[0] != mark:
                self._wishes.pop(visit_id, None)
                self._wishes[visit_id] = (mark, wish)
        self._next()

    def _next(self) -> None:
        with self._lock:
            visit_id = next((each for each in reversed(self._wishes) if each not in self._running), None)
            if visit_id is None or len(self._running) >= self._lanes:
                return
            mark, wish = self._wishes.pop(visit_id)
            self._running[visit_id] = mark
        try:
            future = self._submit(wish)
        except RuntimeError:
            future = Future()
            future.set_exception(RuntimeError("the worker is gone"))
        future.add_done_callback(lambda done: self._keep(visit_id, mark, done))

    def _keep(self, visit_id: str, mark: str, done: "Future[Answer]") -> None:
        record, trouble = (None, self._trouble) if done.cancelled() or done.exception() else done.result()
        known = Known[Record](mark=mark, record=record, trouble=trouble)
        with self._lock:
            self._known[visit_id] = known
            del self._running[visit_id]
        if self._keeper:
            self._keeper.save(visit_id, known)
        self._next()


Accounts = Answers[Case, Account]
Proofs = Answers[ProofQuestion, Proven]
