"""One item of work ahead: a second thread makes the next while the caller uses this one."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

Item = TypeVar("Item")


def ahead(items: Iterator[Item]) -> Iterator[Item]:
    """The same items in the same order; each is made while the one before is in use.

    Args:
        items: Made one after another, in one thread. What it raises is raised here.
    """
    with ThreadPoolExecutor(max_workers=1) as other:
        made = other.submit(next, items, None)
        while (item := made.result()) is not None:
            made = other.submit(next, items, None)
            yield item
