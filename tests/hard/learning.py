"""Simulated shops with a known truth: `PYTHONPATH=src:. python tests/hard/learning.py [--shops N]`. Prints Markdown.

Prints the tables of docs/learning.md: log score of learned chances against the expert's, and how often intervals cover,
by visits.
"""

import argparse

import numpy as np

from lostgallon.learning.learned import learned_from
from lostgallon.learning.sums import sums_of
from tests.learning.simulated import CAT, draw_shop, expert_chances
from tests.learning.test_learning import SHOP, log_score, say_where, table_of, visits_of

VISITS = (3, 10, 30, 100, 300)
OFF = {1.0: "drawn from the model", 0.5: "half as far from the expert", 0.0: "the expert exactly right"}
KINDS = ("causes", "operations", "body", "found", "alarm")


def scores(shops):
    print(
        "| log score a visit, learned over expert, shops | " + " | ".join(f"{count} visits" for count in VISITS) + " |"
    )
    print("|---|" + "---|" * len(VISITS))
    expert = expert_chances()
    for off, name in OFF.items():
        rng, gains = np.random.default_rng(71), {count: [] for count in VISITS}
        for _ in range(shops):
            shop = draw_shop(rng, **SHOP, off=off)
            visits = visits_of(rng, shop, max(VISITS))
            base = log_score(shop.chance, expert)
            for count, gain in gains.items():
                found = table_of(learned_from(sums_of(visits[:count], CAT), CAT))
                gain.append((log_score(shop.chance, found) - base) / -base)
        told = (f"{100 * np.mean(gain):+.1f} % (worst shop {100 * min(gain):+.1f} %)" for gain in gains.values())
        print(f"| {name} | " + " | ".join(told) + " |", flush=True)


def coverage(shops):
    print("\n| 90 % interval covers | " + " | ".join(f"{count} visits" for count in VISITS) + " |")
    print("|---|" + "---|" * len(VISITS))
    inside = {(kind, count): [] for kind in KINDS for count in VISITS}
    rng = np.random.default_rng(72)
    for _ in range(shops):
        shop = draw_shop(rng, **SHOP)
        visits = visits_of(rng, shop, max(VISITS))
        for count in VISITS:
            for kind, covers in say_where(learned_from(sums_of(visits[:count], CAT), CAT), shop):
                inside[kind, count].append(covers)
    names = ("chance of a cause", "share of a correction", "share on one body", "rate where it is there", "false alarm")
    for kind, name in zip(KINDS, names, strict=True):
        told = (inside[kind, count] for count in VISITS)
        print(f"| {name} | " + " | ".join(f"{np.mean(each):.2f} of {len(each)}" for each in told) + " |", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shops", type=int, default=60)
    shops = parser.parse_args().shops
    scores(shops)
    coverage(shops)


if __name__ == "__main__":
    main()
