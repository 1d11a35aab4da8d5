"""Writes docs/validation.md: every published figure beside what the program computes: python -m tools.validation.

It runs the tests that hold a published figure and writes down what each of them held, so that the page can't say
anything that is not tested. The long tables are quoted from the pages of their rooms; with --quotes nothing is run, and
only these are quoted again.
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

Every published figure that the program is held to, with what it computes. Written by `python -m tools.validation`
(a minute or two; `python3 run.py set-up` first), which runs the tests that hold them: a figure outside its range, or a
row that no test holds, ends it with status 1. A range written `a to b` is the source's own, one with ± is ours.

"""
NOT_VALUES = """
Row 3: the plain mean of the two, 31.84, must fail, and row 13: scaling the gauge reading, 29.09, must fail; the tests
hold both. Row 20: the same report's loss of acceleration (6 to 11 %) is not computed, as the program has no full
throttle. Row 28 is a rule, not a value: no change under 1 % is ever called real (SAE J1321;
`tests/fillups/test_starts.py`). There is no row 32. Row 34, the lengths of trips in the US (NHTS 2017), is not used:
the program asks for this owner's trip and assumes none.
"""
ROWS = frozenset(range(1, 41)) - {28, 32, 34}
"""The rows that hold a value of the program."""
STUDIES = """
## Where the rest of this page comes from

What follows is quoted, word for word, from the pages of the rooms: the tables of long studies, each rerun by one
command. The pictures are drawn from the same figures by `python -m tools.reliability`.

"""


@dataclass(frozen=True)
class Study:
    """A section that is quoted below the table: its page and heading, the command that makes it, its pictures."""

    page: str
    heading: str
    command: str
    takes: str
    pictures: tuple[tuple[str, str], ...] = ()


QUOTED = (
    Study("physics.md", "Held out", "python -m tools.check_epa", "minutes; it counts as a look at the held-out half"),
    Study(
        "fillups.md", "Measured", "python -m tests.hard.fillups", "ten minutes; its two open logs are not shipped",
        (("reliability-fillups.svg", "What the fill-ups said against what was, with 90 % intervals"),),
    ),
    Study(
        "account.md", "Blind visits", "python -m tests.hard.account", "most of an hour",
        (
            ("reliability-account.svg", "What the account said against what was, with 90 % intervals"),
            ("coverage-account.svg", "How often the 90 % intervals of the account held the truth"),
        ),
    ),
    Study("plan.md", "Measured", "python -m tests.hard.plan", "half an hour"),
    Study("drives.md", "What was measured", "python -m tests.hard.drives --drives 200", "half an hour"),
)  # fmt: skip
COMMIT = re.compile(r"\b(?=[0-9a-f]*[a-f])(?=[0-9a-f]*[0-9])[0-9a-f]{7}\b")


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
    held = table(("row", "figure", "published", "computed", "source"), rows)
    return HEAD + held + NOT_VALUES + STUDIES + origins() + "".join(quotes())


def missing(entries: Iterable[Entry]) -> list[int]:
    """The rows that no test held."""
    return sorted(ROWS - {int(entry["row"]) for entry in entries})


def section(study: Study) -> tuple[str, str]:
    """The title of a study's page and the text below its heading.

    Raises:
        LookupError: If the page has no such heading.
    """
    text = (ROOT / "docs" / study.page).read_text("utf-8")
    found = re.search(rf"^## {study.heading}.*?(?=^## |\Z)", text, re.MULTILINE | re.DOTALL)
    if found is None:
        raise LookupError(f"docs/{study.page} has no section {study.heading}")
    return text.partition("\n")[0].lstrip("# "), found[0].partition("\n")[2].strip()


def origins() -> str:
    """The first table live, each study with its command and the commits that its section names."""
    rows = [
        ("published figures, above", "live, in the run that wrote this page", "`python -m tools.validation`", "minutes")
    ]
    for study in QUOTED:
        title, text = section(study)
        commits = ", ".join(dict.fromkeys(COMMIT.findall(text)))
        rows.append((title, f"quoted; commits {commits}", f"`{study.command}`", study.takes))
    return table(("part", "from", "command", "takes"), rows)


def quotes() -> Iterable[str]:
    """The sections of the rooms' pages with their measured tables, under their pictures."""
    for study in QUOTED:
        title, text = section(study)
        shown = "".join(f"\n![{says}](pictures/{name})\n" for name, says in study.pictures)
        yield f"\n## {title} ([whole page]({study.page}))\n{shown}\n{text}\n"


def quote_again() -> None:
    """Bring the quoted part of the page up to date without running anything."""
    live, found, _ = PAGE.read_text("utf-8").partition(STUDIES)
    if not found:
        raise LookupError(f"{PAGE} has no quoted part: run python -m tools.validation")
    PAGE.write_text(live + STUDIES + origins() + "".join(quotes()), "utf-8")


def main(arguments: list[str]) -> int:
    """Run, write, say where; 1 if a figure was missed. With --quotes, only quote the rooms' pages again."""
    if arguments == ["--quotes"]:
        quote_again()
        return 0
    held = Held()
    pytest.main(["-q", "-p", "no:cacheprovider", *holding_tests()], plugins=[held])
    PAGE.write_text(page(held.entries), "utf-8")
    unheld = [f"row {number}: no test holds it" for number in missing(held.entries)]
    print(PAGE, f"{len(held.entries)} figures", *held.failed, *unheld, sep="\n")
    return 1 if held.failed or unheld else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
