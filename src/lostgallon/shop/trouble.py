"""Every trouble a person can meet, each with one sentence.

Trouble
 ├─ BadInput          the input can't be used (exit status 2)
 │   ├─ BadQuantity       "27 parsecs" where a pressure was expected
 │   ├─ BadCase           a key of a case file
 │   ├─ BadFile           a file that can't be read, or a line in it
 │   ├─ BadArgument       a command-line option
 │   └─ OutOfRange        a number outside what a formula or a record holds for
 ├─ NotCovered        a vehicle or a job this program does not serve (exit status 2)
 ├─ CantKeep          the shop's data can't be written or read where it lies (exit status 2)
 ├─ NewerData         the shop's data were made by a newer program (exit status 2)
 ├─ ChangedMeanwhile  someone else entered something there since it was shown (exit status 2)
 └─ Damaged           stored data that does not match its own record (exit status 1)

A message says where, what was found, what was expected, in that order and on one line.
"""

import difflib
from collections.abc import Iterable


class Trouble(Exception):
    """A problem that a person can act on; its text is one line and complete."""

    exit_status = 2

    def __init__(self, sentence: str) -> None:
        super().__init__(" ".join(sentence.split()))


class BadInput(Trouble):
    """The input can't be used.

    Args:
        where: File, line, column, key or option, as the person can find it; may be empty.
        found: What stands there.
        expected: What could stand there instead.
    """

    def __init__(self, where: str, *, found: str, expected: str) -> None:
        self.where, self.found, self.expected = where, found, expected
        place = f"{where}: " if where else ""
        super().__init__(f"{place}found {found}; expected {expected}")

    def within(self, outer: str) -> "BadInput":
        """The same trouble, said from further out: `case.toml` around `[vehicle] curb_weight`."""
        where = f"{outer}: {self.where}" if self.where else outer
        return type(self)(where, found=self.found, expected=self.expected)


class BadQuantity(BadInput):
    """A quantity without its unit, with the wrong kind of unit, or not readable at all."""


class BadCase(BadInput):
    """A key or a value of a case file."""


class BadFile(BadInput):
    """A file that can't be read, or a line in it."""


class BadArgument(BadInput):
    """An option or argument of a command."""


class OutOfRange(BadInput):
    """A number outside the range that a formula, a coefficient or a record holds for."""


class NotCovered(Trouble):
    """A vehicle or a job that this program does not serve."""


class CantKeep(Trouble):
    """The shop's data can't be written or read: disk full, folder read-only, server away. Nothing kept is lost."""


class NewerData(Trouble):
    """The shop's data were made by a newer program than this one."""


class ChangedMeanwhile(Trouble):
    """Someone else entered something under the same key since it was shown to this person."""


class Damaged(Trouble):
    """Stored data that does not match its own record."""

    exit_status = 1


def one_of(names: Iterable[str]) -> str:
    """The choices as a person would list them: `a, b or c`."""
    listed = list(names)
    if len(listed) < 2:
        return "".join(listed)
    return f"{', '.join(listed[:-1])} or {listed[-1]}"


def suggestion(word: str, names: Iterable[str]) -> str:
    """The nearest of the known names as a question, or nothing where none is near."""
    near = difflib.get_close_matches(word, list(names), n=1, cutoff=0.6)
    return f" (did you mean {near[0]}?)" if near else ""
