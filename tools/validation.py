"""Writes docs/validation.md: every published figure beside what the program computes: python -m tools.validation.

It runs the tests that hold a published figure and writes down what each of them held, so that the page can't say
anything that is not tested. The long tables are quoted from the pages of their rooms.
"""

import re
import sys
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import cast

import pytest

from tools.catalogue_page import table

Entry = dict[str, str | float]
"""What a test held: row, what, expected, computed, source."""
ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "validation.md"
HEAD = """# Validation

Every published figure that the program is held to, with what it computes. Written by `python -m tools.validation`,
which runs the tests that hold them; a figure outside its range fails the tests. A range written `a to b` is the
source's own, one with ± is ours.

"""
NOT_VALUES = """
Row 28 is a rule, not a value: no change under 1 % is ever called real (SAE J1321). There is no row 32. Row 34, the
lengths of trips in the US (NHTS 2017), is not used: the program asks for this owner's trip and assumes none.
"""
QUOTED = {
    "physics.md": "Held out",
    "fillups.md": "Measured",
    "account.md": "Blind visits",
    "plan.md": "Measured",
    "drives.md": "What was measured",
}
"""Page and the heading whose section is quoted below the table."""


@dataclass(eq=False)
class Held:
    """Collects what the tests hold."""

    entries: list[Entry] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Take what a test wrote down."""
        if report.when == "call":
            self.entries += [cast("Entry", value) for name, value in report.user_properties if name == "published"]
            self.failed += [report.nodeid] if report.failed else []


def holding_tests() -> list[str]:
    """The test files that hold published figures."""
    tests = sorted((ROOT / "tests").rglob("test_*.py"))
    return [str(path) for path in tests if "published(" in path.read_text("utf-8")]


def page(entries: Iterable[Entry]) -> str:
    """The whole page as Markdown."""
    by_row: dict[float, list[Entry]] = defaultdict(list)
    for entry in entries:
        by_row[float(entry["row"])].append(entry)
    rows = (
        (f"{number:g}", str(one["what"]), str(one["expected"]), f"{one['computed']:.6g}", str(one["source"]))
        for number, held in sorted(by_row.items())
        for one in held
    )
    return HEAD + table(("row", "figure", "published", "computed", "source"), rows) + NOT_VALUES + "".join(quotes())


def quotes() -> Iterable[str]:
    """The sections of the rooms' pages with their measured tables."""
    for name, head in QUOTED.items():
        text = (ROOT / "docs" / name).read_text("utf-8")
        found = re.search(rf"^## {head}.*?(?=^## |\Z)", text, re.MULTILINE | re.DOTALL)
        title = text.partition("\n")[0].lstrip("# ")
        if found:
            yield f"\n## {title} ([whole page]({name}))\n{found[0].partition(chr(10))[2].rstrip()}\n"


def main() -> int:
    """Run, write, say where; 1 if a figure was missed."""
    held = Held()
    pytest.main(["-q", "-p", "no:cacheprovider", *holding_tests()], plugins=[held])
    PAGE.write_text(page(held.entries), "utf-8")
    print(PAGE, f"{len(held.entries)} figures", *held.failed, sep="\n")
    return 1 if held.failed else 0


if __name__ == "__main__":
    sys.exit(main())
