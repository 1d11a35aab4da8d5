"""Who is not let in, counted. `python -m tests.hard.letting_in` prints the tables of docs/security.md.

Three tables: attacks (tests/web/test_attacks.py, each refused), made-up requests to every address (addresses.py), and
damaged files through every reader (mangled.py). `--kept FOLDER` goes on where a stopped count of files was.
"""

import argparse
import sys
from pathlib import Path

import pytest

from tests.hard import addresses, mangled

ATTACKS = "attacks"
LINES = (ATTACKS, *addresses.NAMES, *mangled.KINDS)


class _Counted:
    """Counts what pytest says of the attacks."""

    def __init__(self):
        self.passed, self.failed, self.skipped = 0, [], 0

    def pytest_runtest_logreport(self, report):
        if report.when == "call" and "test_it_is_refused" in report.nodeid:
            self.passed += report.passed
            if report.failed:
                self.failed.append(report.nodeid)
        self.skipped += report.skipped


def attacks():
    """Try every attack; returns the table's line and those that were not refused."""
    counted = _Counted()
    pytest.main(
        [
            "-q",
            "--no-header",
            "-p",
            "no:cacheprovider",
            "-W",
            "ignore::pytest.PytestAssertRewriteWarning",
            "tests/web/test_attacks.py",
        ],
        plugins=[counted],
    )
    tried = counted.passed + len(counted.failed)
    return f"| attacks | {tried} | {counted.passed} | {counted.skipped} |", counted.failed


def main(arguments):
    """Print the tables, or some of their lines."""
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument(
        "lines", nargs="*", metavar="LINE", help=f"of {', '.join(LINES)}; all of them where none is named"
    )
    reader.add_argument("--times", type=int, help="instead of the full count: files of a kind, requests to an address")
    reader.add_argument("--kept", type=Path, help="a folder where counts of files are kept")
    asked = reader.parse_args(arguments)
    names = asked.lines or list(LINES)
    if unknown := set(names) - set(LINES):
        reader.error(f"found {', '.join(unknown)}; expected lines of {', '.join(LINES)}")
    if asked.kept:
        asked.kept.mkdir(parents=True, exist_ok=True)
    wrong = []
    if ATTACKS in names:
        line, wrong = attacks()
        print("| what | tried | refused | skipped |\n| --- | --- | --- | --- |", line, sep="\n", flush=True)
    wrong += _lines(names, addresses.NAMES, addresses.HEAD, lambda name: _requests(name, asked.times))
    wrong += _lines(names, mangled.KINDS, mangled.HEAD, lambda name: _files(name, asked))
    for one in wrong:
        print(one)
    return bool(wrong)


def _lines(names, of, head, count):
    chosen = [name for name in names if name in of]
    if chosen:
        print(head, flush=True)
    wrong = []
    for name in chosen:
        line, found = count(name)
        print(line, flush=True)
        wrong += [(name, *one) for one in found]
    return wrong


def _requests(name, times):
    answers = addresses.count(name, times or addresses.TIMES)
    return answers.line(), answers.broken


def _files(name, asked):
    kept = asked.kept / f"{name.replace(' ', '-')}.json" if asked.kept else None
    counted = mangled.count_kind(name, asked.times or mangled.KINDS[name].times, kept)
    return counted.line(), counted.wrong


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
