"""How fast paper is written and whether memory stays flat: python -m benchmarks.paper [--json].

Targets: one letter under 0.5 s; 100 letters a minute on two cores; memory flat over 500 letters. The letter is that of
an invented winter visit with eight causes, and one with forty long findings that spills to an annex.
"""

import json
import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path

from tests.paper.cast import CASE, FOURTEEN, TWO_FAULT
from typst import Compiler

from lostgallon.paper.account_view import account_text
from lostgallon.paper.fill_card import fill_card_pdf
from lostgallon.paper.letter import letter_pdf
from lostgallon.paper.sheet import sheet_pdf
from lostgallon.shop.account import Account

LETTERS = 500
ON_TWO_CORES = 200


def long_account() -> Account:
    """Fourteen causes and forty findings with long words: the annex in full."""
    words = "a long remark about what was seen under the vehicle, " * 8
    findings = tuple(
        replace(TWO_FAULT.findings[0], name=f"Finding {count}", outside_by=f"{words}end") for count in range(40)
    )
    return replace(FOURTEEN, findings=findings)


def seconds(run: Callable[[], object]) -> float:
    """Wall time of one run."""
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


def letter_number(count: int) -> int:
    """Writes the letter of one of many visits, each a little different, so that nothing is remembered."""
    case = replace(CASE, booked=replace(CASE.booked, operation=f"front struts, number {count}"))
    return len(letter_pdf(TWO_FAULT, case))


def empty_page_s() -> float:
    """Seconds to set a page with nothing on it, the median of twenty: what the typesetter takes whatever is printed."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "empty.typ").write_text("#set page(width: 100pt, height: 100pt)\n", "utf-8")
        typesetter = Compiler(f"{folder}/empty.typ", root=folder, ignore_system_fonts=True)
        return statistics.median(seconds(lambda: typesetter.compile(format="pdf")) for _ in range(20))


def memory_mb() -> float:
    """Largest memory of this process so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def measure() -> dict[str, float]:
    """Everything, in one process, then many letters on two."""
    first_s = seconds(lambda: letter_number(0))
    again = [seconds(lambda count=count: letter_number(count)) for count in range(1, 51)]  # type: ignore[misc]
    long_s = seconds(lambda: letter_pdf(long_account(), CASE))
    empty_s = empty_page_s()
    sheet_s = [seconds(lambda: sheet_pdf(TWO_FAULT, CASE)) for _ in range(5)]
    card_s = [seconds(lambda: fill_card_pdf(TWO_FAULT, CASE)) for _ in range(5)]
    text_s = [seconds(lambda: account_text(TWO_FAULT, CASE)) for _ in range(5)]
    for count in range(100):
        letter_number(1000 + count)
    early_mb = memory_mb()
    for count in range(LETTERS - 100):
        letter_number(2000 + count)
    late_mb = memory_mb()
    with ProcessPoolExecutor(max_workers=2, mp_context=get_context("spawn")) as pool:
        list(pool.map(letter_number, range(2)))
        both_s = seconds(lambda: list(pool.map(letter_number, range(5000, 5000 + ON_TWO_CORES))))
    return {
        "first_letter_s": round(first_s, 3),
        "letter_s": round(statistics.median(again), 4),
        "empty_page_s": round(empty_s, 5),
        "letter_times_empty_page": round(statistics.median(again) / empty_s, 1),
        "letter_slowest_s": round(max(again), 4),
        "letter_with_long_annex_s": round(long_s, 3),
        "sheet_s": round(statistics.median(sheet_s), 4),
        "fill_card_s": round(statistics.median(card_s), 4),
        "account_text_s": round(statistics.median(text_s), 4),
        "letters_a_minute_on_two_cores": round(ON_TWO_CORES / both_s * 60.0, 0),
        "memory_after_100_mb": round(early_mb, 1),
        f"memory_after_{LETTERS}_mb": round(late_mb, 1),
        "memory_growth_share": round(late_mb / early_mb - 1.0, 4),
    }


def main() -> None:
    """Measure and print."""
    found = measure()
    if "--json" in sys.argv[1:]:
        print(json.dumps({"schema": "lostgallon/1", **found}, indent=2))
        return
    for name, value in found.items():
        print(f"{name:32} {value:g}")


if __name__ == "__main__":
    main()
