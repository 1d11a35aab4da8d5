"""Presence of causes by variable elimination in pgmpy, an independent library, written to tests/reference.

Run in an environment that has pgmpy 1.1 (it is no dependency of the project, which keeps the test set-up small):
    PYTHONPATH=src:. python -m tools.presence_by_pgmpy
"""

import json
from itertools import product
from pathlib import Path
from typing import Any

from lostgallon.causes.catalogue import catalogue

FILE = Path(__file__).resolve().parent.parent / "tests" / "reference" / "presence_by_pgmpy.json"
CAUSES = (
    "worn_spark_plugs",
    "ignition_coil_boot",
    "vacuum_leak",
    "oxygen_sensor_fault",
    "exhaust_leak_upstream",
    "leaking_injector",
    "thermostat_stuck_open",
    "coolant_sensor_bias",
    "low_compression",
    "cooling_fan_always_on",
)
CHECKS = ("misfire_counts", "plug_read", "trims_three", "warmup_trace", "power_balance", "lambda_exhaust", "smoke")
FINDINGS: dict[str, dict[str, list[str] | None]] = {
    "a misfire": {"misfire_counts": ["one_cylinder"]},
    "lean at idle": {"trims_three": ["lean_idle_ok_cruise"], "smoke": ["intake_leak"], "plug_read": None},
    "false lean": {"trims_three": ["lean_idle_one_bank"], "plug_read": ["sooty"], "smoke": ["exhaust_leak_ahead"]},
    "cold": {"warmup_trace": ["slow_or_reads_low"], "trims_three": None},
    "five checks": {
        "misfire_counts": ["one_cylinder"],
        "power_balance": ["weak_cylinder"],
        "plug_read": None,
        "lambda_exhaust": ["rich"],
        "warmup_trace": ["never_reaches_rating"],
    },
}


def mean(ends: tuple[float, float, float]) -> float:
    """Mean of an expert range: a sixth, two thirds, a sixth."""
    return (ends[0] + 4.0 * ends[1] + ends[2]) / 6.0


def network(priors: dict[str, float]) -> Any:
    """A noisy-or network of the causes and the readings of the checks."""
    from pgmpy.factors.discrete import TabularCPD  # noqa: PLC0415 - see the module
    from pgmpy.models import DiscreteBayesianNetwork  # noqa: PLC0415

    tables, edges = [], []
    for name, prior in priors.items():
        tables.append(TabularCPD(name, 2, [[1.0 - prior], [prior]]))
    for check in CHECKS:
        for reading in catalogue().check[check].readings:
            if reading.neutral or reading.false_alarm is None:
                continue
            alarm = mean(reading.false_alarm)
            parents = [(name, mean(ends)) for name, ends in reading.finds if name in priors]
            node = f"{check}/{reading.id}"
            normal = []
            for there in product((0, 1), repeat=len(parents)):
                chance = 1.0 - alarm
                for is_there, (_, detect) in zip(there, parents, strict=True):
                    chance *= (1.0 - detect) / (1.0 - alarm) if is_there else 1.0
                normal.append(chance)
            names = [name for name, _ in parents]
            values = [normal, [1.0 - chance for chance in normal]]
            tables.append(TabularCPD(node, 2, values, evidence=names or None, evidence_card=[2] * len(names) or None))
            edges += [(name, node) for name in names]
    model = DiscreteBayesianNetwork(edges)
    model.add_nodes_from([table.variable for table in tables])
    model.add_cpds(*tables)
    model.check_model()
    return model


def solved() -> dict[str, Any]:
    """Presence for every set of findings."""
    from pgmpy.inference import VariableElimination  # noqa: PLC0415

    priors = {name: round(0.03 + 0.02 * n, 2) for n, name in enumerate(CAUSES)}
    asked = VariableElimination(network(priors))
    found = {}
    for title, findings in FINDINGS.items():
        seen = {}
        for check, positive in findings.items():
            for reading in catalogue().check[check].readings:
                if not reading.neutral:
                    seen[f"{check}/{reading.id}"] = int(reading.id in (positive or []))
        found[title] = {
            name: round(float(asked.query([name], evidence=seen, show_progress=False).values[1]), 6) for name in CAUSES
        }
    return {"priors": priors, "presence": found}


if __name__ == "__main__":
    import pgmpy

    note = f"pgmpy {pgmpy.__version__}, VariableElimination; written by tools/presence_by_pgmpy.py"
    FILE.write_text(json.dumps({"source": note, "findings": FINDINGS, **solved()}, indent=1) + "\n", "utf-8")
    print(FILE)
