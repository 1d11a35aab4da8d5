"""How fast an address may ask: a bucket of requests that fills again, and a wait that doubles for those who go on."""

import time
from collections.abc import Callable
from dataclasses import dataclass, field

BURST, PER_S = 400.0, 40.0
"""A device that was away sends what it kept, with all pages it opens: no person comes near this."""
_LONGEST_WAIT_S, _CALM_S = 60.0, 120.0
_MOST_ADDRESSES = 4096


@dataclass
class _Bucket:
    left: float
    at_s: float
    refused: int = 0
    until_s: float = float("-inf")


@dataclass
class Pace:
    """Counts the requests of each address.

    Args:
        clock_s: Seconds that only grow.
    """

    clock_s: Callable[[], float] = time.monotonic
    _buckets: dict[str, _Bucket] = field(default_factory=dict)

    def wait_s(self, address: str) -> float:
        """Count one request; returns the seconds that its sender has to wait, 0 where it may go on."""
        now_s = self.clock_s()
        bucket = self._buckets.pop(address, None) or _Bucket(BURST, now_s)
        self._buckets[address] = bucket
        while len(self._buckets) > _MOST_ADDRESSES:
            del self._buckets[next(iter(self._buckets))]
        bucket.left = min(BURST, bucket.left + (now_s - bucket.at_s) * PER_S)
        bucket.at_s = now_s
        if now_s < bucket.until_s:
            return bucket.until_s - now_s
        if bucket.left >= 1.0:
            bucket.left -= 1.0
            return 0.0
        if now_s > bucket.until_s + _CALM_S:
            bucket.refused = 0
        bucket.refused += 1
        bucket.until_s = now_s + min(2.0 ** (bucket.refused - 1), _LONGEST_WAIT_S)
        return bucket.until_s - now_s
