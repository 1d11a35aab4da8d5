"""How fast a plan is made and proven: python -m benchmarks.plan [--json].

Eight booked steps, 25 checks and 12 corrections from the catalogue. Targets: proven optimal, or a gap of at most 2 %,
within 1.0 s; a first usable plan within 0.2 s; a plan after an entry within 0.5 s. Ratios are within one run.
"""

import json
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace

from benchmarks.afternoons import full_bay
from lostgallon.plan.schedule import schedule
from lostgallon.plan.work import Schedule, Task, Terms

Row = dict[str, float | int | bool | str]
WARM_UP_SEED = 1000
TARGETS_S = {"whole_s": 1.0, "first_s": 0.2, "after_entry_s": 0.5}


def timed(run: Callable[[], Schedule | None]) -> tuple[float, Schedule]:
    """Seconds and the schedule of one run."""
    start = time.perf_counter()
    found = run()
    seconds = time.perf_counter() - start
    if found is None:
        raise SystemExit("a bay whose booked job does not fit was measured")
    return seconds, found


def after_an_entry(tasks: list[Task], terms: Terms, found: Schedule) -> tuple[list[Task], Terms]:
    """What is left to plan when a check has been made and its minutes have passed: the first planned one, or any."""
    planned = [piece.owner for piece in found.pieces if piece.kind in {"check", "drive"}]
    name = planned[0] if planned else next(task.id for task in tasks if task.kind == "check")
    made = next(task for task in tasks if task.id == name)
    minutes = (terms.minutes or 0.0) - min(made.hands_minutes, 5.0)
    return [task for task in tasks if task.id != name], replace(terms, minutes=minutes)


def one(seed: int) -> Row:
    """Measure one bay."""
    tasks, terms = full_bay(seed)
    whole_s, whole = timed(lambda: schedule(tasks, terms))
    first_s, first = timed(lambda: schedule(tasks, terms, first_only=True))
    left, later = after_an_entry(tasks, terms, whole)
    again_s, again = timed(lambda: schedule(left, later, hint=whole.values))
    kinds = [task.kind for task in tasks]
    return {
        "seed": seed,
        "booked": kinds.count("booked"),
        "checks": kinds.count("check") + kinds.count("drive"),
        "corrections": kinds.count("correction"),
        "whole_s": round(whole_s, 3),
        "proven": whole.proven,
        "gap": round(whole.gap, 4),
        "first_s": round(first_s, 3),
        "first_share_of_best": round(first.value_money / whole.value_money, 3),
        "after_entry_s": round(again_s, 3),
        "after_entry_proven": again.proven,
        "after_entry_gap": round(again.gap, 4),
    }


def measure(bays: int = 20) -> dict[str, object]:
    """Measure many bays, after one that loads the solver."""
    start = time.perf_counter()
    one(WARM_UP_SEED)
    loading_s = time.perf_counter() - start
    rows = [one(seed) for seed in range(bays)]
    summary: Row = {"bays": bays, "first_run_with_loading_s": round(loading_s, 3)}
    for name, target in TARGETS_S.items():
        seconds = [float(row[name]) for row in rows]
        summary[f"{name}_median"] = round(statistics.median(seconds), 3)
        summary[f"{name}_most"] = max(seconds)
        summary[f"{name}_target"] = target
    summary["proven_or_within_2_pct"] = sum(float(row["gap"]) <= 0.02 for row in rows)
    summary["after_entry_over_whole"] = round(
        statistics.median(float(row["after_entry_s"]) / float(row["whole_s"]) for row in rows), 2
    )
    return {"benchmark": "plan", "summary": summary, "rows": rows}


if __name__ == "__main__":
    measured = measure()
    if "--json" in sys.argv:
        print(json.dumps(measured, indent=2))
    else:
        for key, value in dict(measured["summary"]).items():  # type: ignore[call-overload]
            print(f"{key:32} {value}")
