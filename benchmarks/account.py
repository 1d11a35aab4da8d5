"""Speed of the account: python -m benchmarks.account [--json]. Processor seconds of one thread beside wall seconds."""

import json
import os
import resource
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")

import numpy as np  # noqa: E402 - one thread must be asked for before

from lostgallon.causes.account import entries_of, findings_of, kinds_of, loss_of  # noqa: E402
from lostgallon.causes.catalogue import FILES, catalogue, read_catalogue  # noqa: E402
from lostgallon.causes.evidence import Piece  # noqa: E402
from lostgallon.causes.prospects import Prospects, prospects_of  # noqa: E402
from lostgallon.causes.weighing import Weighing, weigh, with_more  # noqa: E402
from lostgallon.causes.worth import open_checks, worth_of_checks  # noqa: E402
from lostgallon.physics.calibration import calibrated  # noqa: E402
from lostgallon.physics.effects import effects_for  # noqa: E402
from lostgallon.readers.cast import cast  # noqa: E402
from lostgallon.shop.visit import Case  # noqa: E402

ROOT = Path(__file__).resolve().parent.parent
DATA = ROOT / "src" / "lostgallon" / "data" / "catalogue"
FINDING = Piece("wheel_spin", seen=("one_wheel_stiff",), unseen=("grinds", "will_not_turn"))


def timed(what: Callable[[], Any], repeats: int) -> dict[str, float]:
    """Median wall and processor seconds of a call, the first one apart."""
    wall, cpu = [], []
    for _ in range(repeats + 1):
        start, busy = time.perf_counter(), time.process_time()
        what()
        wall.append(time.perf_counter() - start)
        cpu.append(time.process_time() - busy)
    return {
        "first_wall_s": round(wall[0], 4),
        "wall_s": round(float(np.median(wall[1:])), 4),
        "processor_s": round(float(np.median(cpu[1:])), 4),
    }


def account_of(weighing: Weighing, case: Case, prospects: Prospects) -> None:
    """The account of a weighing, as the commands make it."""
    whole = catalogue()
    loss_of(weighing)
    kinds_of(weighing)
    findings_of(case, whole)
    entries_of(weighing, case, whole, prospects=prospects)


def measure(repeats: int = 5) -> dict[str, Any]:
    """Every part of the account on the visit of the gray hatch, twelve findings."""
    whole, case = catalogue(), cast("gray hatch")
    members = calibrated(case.vehicle, 256, rng=np.random.default_rng(1)).members
    effects = effects_for(case.vehicle, case.use, case.then, case.now, members=members)
    texts = {name: (DATA / name).read_text("utf-8") for _, names in FILES.values() for name in names}
    out: dict[str, Any] = {"catalogue": timed(lambda: read_catalogue(texts), repeats)}
    for draws in (1024, 4096, 16_384):
        weighing = weigh(case, effects, whole, rng=np.random.default_rng(1), draws=draws)
        checks = open_checks(case, whole)
        prospects = prospects_of(weighing, checks)

        work: dict[str, Callable[[], Any]] = {
            "weigh from nothing": partial(weigh, case, effects, whole, rng=np.random.default_rng(1), draws=draws),
            "one finding more": partial(with_more, weighing.inside, FINDING, whole, rng=np.random.default_rng(2)),
            "worth of all checks": partial(worth_of_checks, weighing, case, whole),
            "account": partial(account_of, weighing, case, prospects),
        }
        took = {name: timed(what, repeats) for name, what in work.items()}
        busy = {name: each["processor_s"] for name, each in took.items()}
        out[f"{draws} draws"] = took | {
            "finding_and_worth_s": round(busy["one finding more"] + busy["worth of all checks"], 4),
            "letter_grade_s": round(busy["weigh from nothing"] + busy["account"], 4),
            "from_nothing_over_a_finding_more": round(busy["weigh from nothing"] / busy["one finding more"], 2),
        }
    out["peak_memory_mb"] = round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0, 1)
    return out


if __name__ == "__main__":
    print(json.dumps(measure(), indent=None if "--json" in sys.argv else 1))
