"""Writers take turns in the order they came."""

import threading
from collections import deque


class Turns:
    """A lock that is handed to whoever has waited longest.

    SQLite takes one writer at a time and wakes the waiting ones in no order, and so does Python's own lock; with twenty
    devices the unlucky one would wait many times as long as the rest.
    """

    def __init__(self) -> None:
        self._guard, self._taken = threading.Lock(), False
        self._waiting: deque[threading.Lock] = deque()

    def __enter__(self) -> None:
        with self._guard:
            if not self._taken:
                self._taken = True
                return
            mine = threading.Lock()
            mine.acquire()
            self._waiting.append(mine)
        # Released by the one before, who hands the turn over without giving it up.
        mine.acquire()

    def __exit__(self, *_: object) -> None:
        with self._guard:
            if self._waiting:
                self._waiting.popleft().release()
            else:
                self._taken = False
