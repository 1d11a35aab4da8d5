"""Presence of causes and worth of checks by variable elimination in pgmpy, an independent library.

Run in an environment that has pgmpy 1.1 (it is no dependency of the project, which keeps the test set-up small):
    PYTHONPATH=src:. python -m tools.presence_by_pgmpy
It writes tests/reference/presence_by_pgmpy.json.
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
VALUED = ("plug_read", "trims_three", "power_balance", "smoke", "o2_response", "rad_hose", "compression")
WRONG_PART_MONEY = 60.0
GAIN_MONEY = {
    name: 220.0 + 40.0 * n for n, name in enumerate(CAUSES)
}  # of a correction where the cause is there; invented
COST_MONEY = {name: 60.0 + 15.0 * n for n, name in enumerate(CAUSES)}  # of the correction; invented
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
    for check in dict.fromkeys((*CHECKS, *VALUED)):
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


def evidence_of(findings: dict[str, list[str] | None]) -> dict[str, int]:
    """Findings as states of reading nodes."""
    seen = {}
    for check, positive in findings.items():
        for node, name in readings_of(check):
            seen[node] = int(name in (positive or []))
    return seen


def readings_of(check: str) -> list[tuple[str, str]]:
    """Node and id of every telling reading of a check."""
    telling = [r for r in catalogue().check[check].readings if not r.neutral and r.false_alarm is not None]
    return [(f"{check}/{reading.id}", reading.id) for reading in telling]


def payoff(presence: dict[str, float]) -> dict[str, float]:
    """Expected money of correcting each cause now."""
    wrong = {name: COST_MONEY[name] + WRONG_PART_MONEY for name in presence}
    return {name: p * (GAIN_MONEY[name] - COST_MONEY[name]) - (1.0 - p) * wrong[name] for name, p in presence.items()}


def worth(asked: Any, seen: dict[str, int], check: str) -> float:
    """What a check lets us act on: outcomes all normal or one reading alone, each with its chance."""
    nodes = [node for node, _ in readings_of(check)]
    joint = asked.query(nodes, evidence=seen, show_progress=False)
    outcomes = [dict.fromkeys(nodes, 0), *({**dict.fromkeys(nodes, 0), node: 1} for node in nodes)]
    after, before = 0.0, dict.fromkeys(CAUSES, 0.0)
    for outcome in outcomes:
        chance = float(joint.get_value(**outcome))
        for name, money in payoff(presence_of(asked, {**seen, **outcome})).items():
            after += max(0.0, chance * money)
            before[name] += chance * money
    return after - sum(max(0.0, money) for money in before.values())


def presence_of(asked: Any, seen: dict[str, int]) -> dict[str, float]:
    """Probability of every cause."""
    return {name: float(asked.query([name], evidence=seen, show_progress=False).values[1]) for name in CAUSES}


def solved() -> dict[str, Any]:
    """Presence for every set of findings, and what each further check would be worth."""
    from pgmpy.inference import VariableElimination  # noqa: PLC0415

    priors = {name: round(0.03 + 0.02 * n, 2) for n, name in enumerate(CAUSES)}
    asked = VariableElimination(network(priors))
    presence, acts = {}, {}
    for title, findings in FINDINGS.items():
        seen = evidence_of(findings)
        presence[title] = {name: round(p, 6) for name, p in presence_of(asked, seen).items()}
        acts[title] = {check: round(worth(asked, seen, check), 4) for check in VALUED if check not in findings}
    return {"priors": priors, "presence": presence, "gain": GAIN_MONEY, "cost": COST_MONEY, "acts": acts}


if __name__ == "__main__":
    import pgmpy

    note = f"pgmpy {pgmpy.__version__}, VariableElimination; written by tools/presence_by_pgmpy.py"
    FILE.write_text(json.dumps({"source": note, "findings": FINDINGS, **solved()}, indent=1) + "\n", "utf-8")
    print(FILE)
