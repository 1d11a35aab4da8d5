"""What a program that stays remembers from one account to the next: the digits are those of working it out anew."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from lostgallon.causes.remembered import Remembered
from lostgallon.shop.visit import Booked, Case, Shop

MOST_OF_A_KIND = 24
Answer = TypeVar("Answer")


class Memory:
    """Answers by what they rest on, the newest of each kind.

    Attributes:
        learned: What stories have learned from findings.
    """

    def __init__(self) -> None:
        self.learned = Remembered()
        self._kinds: dict[str, OrderedDict[Hashable, Any]] = {}

    def once(self, kind: str, rests_on: Hashable, make: Callable[[], Answer]) -> Answer:
        """What `make` answers, made once for the same `rests_on`; a trouble is not remembered."""
        known = self._kinds.setdefault(kind, OrderedDict())
        if rests_on not in known:
            known[rests_on] = make()
            if len(known) > MOST_OF_A_KIND:
                known.popitem(last=False)
        known.move_to_end(rests_on)
        answer: Answer = known[rests_on]
        return answer


def told_once(case: Case) -> Case:
    """What of a case stays while the vehicle is worked on: no clock, no looks, no work, nobody's prices."""
    still = replace(case.visit, promised=None, now=None, bay_c=0.0)
    return replace(
        case,
        name="",
        visit=still,
        booked=Booked(),
        states=(),
        findings=(),
        gauges=(),
        agreed=(),
        work_done=(),
        shop=Shop(),
    )


def stamp(path: Path | None) -> Hashable:
    """A file as it is now: its path, when it was written and how long it is; None where there is none."""
    try:
        found = path.stat() if path else None
    except OSError:
        found = None
    return (path, found.st_mtime_ns, found.st_size) if found else path
