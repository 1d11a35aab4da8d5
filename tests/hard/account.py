"""The account on blind visits: `python -m tests.hard.account [--visits 500] [--winter 100] [--processes 2] [--json]`.

Prints the tables of docs/account.md. The generator (blind_visits.py) and its seed were frozen before any tuning; with
`--apart 1` the same generator makes other visits, for looking into what went wrong. A run that was stopped goes on
where its file of results ends.
"""

import argparse
import json
import pickle
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from itertools import pairwise
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.evidence import evidence_of, piece_of
from lostgallon.causes.prospects import prospects_of
from lostgallon.causes.stops import stop_of
from lostgallon.causes.weighing import weigh, with_more
from lostgallon.causes.worth import open_checks, ranked
from lostgallon.plan.access import standing
from lostgallon.plan.corrections import considered
from lostgallon.plan.need import need_of
from lostgallon.plan.reach import reach_of
from tests.hard import blind_visits as blind
from tests.hard.blind_page import page

LOOKS_AT = (0, 10, 20, 30, 60)
LARGE = 0.015
WINTER = 10_000  # numbers from here on are winter visits without a fault
FACTORY = (  # factory symptom tables headed poor fuel economy, several makers 1990-2006: S19 of the catalogue
    "ask_climate_use", "tire_pressure", "ask_load_wind", "load_aero_look", "ask_route_speed", "ask_trips",
    "ask_fuel_bought", "ask_baseline", "plug_read", "coil_boot", "misfire_counts", "knock_timing", "coolant_level",
    "warmup_trace", "rad_hose", "tcc_road", "distance_check", "wheel_end_temps", "wheel_spin", "drag_scale",
    "parking_brake", "backpressure", "manifold_vacuum", "compression", "air_filter_look", "smoke", "trims_three",
)  # fmt: skip


@dataclass
class Told:
    """What one strategy said about one visit."""

    firsts: dict = field(default_factory=dict)
    thirds: dict = field(default_factory=dict)
    minutes: float = 0.0
    checks: int = 0
    presence: list = field(default_factory=list)
    covered: dict = field(default_factory=dict)
    corrected: list = field(default_factory=list)
    raised: int = 0
    stopped: int = 0


MADE = {}


def _owners(winter, keep=None):
    """Owners of the study, made once; `keep` is a folder that holds them between runs."""
    if winter not in MADE:
        path = keep / f"owners_{'winter' if winter else 'all'}.pickle" if keep else None
        if path is not None and path.exists():
            MADE[winter] = pickle.loads(path.read_bytes())  # noqa: S301 - written by this program, on this machine
        else:
            MADE[winter] = blind.owners(season_now=(-15.0, 6.0)) if winter else blind.owners()
        if path is not None and not path.exists():
            path.write_bytes(pickle.dumps(MADE[winter]))
    return MADE[winter]


def one_visit(job):
    """All strategies on one visit. Returns {strategy: Told as dict} and the size of the largest fault."""
    number, draws, winter, strategies = job
    owners = _owners(winter)
    visit = blind.visit(number, owners, faults=not winter)
    start = weigh(
        visit.case, owners[visit.owner].effects, catalogue(), rng=np.random.default_rng([7, number]), draws=draws
    )
    told = {name: _followed(name, visit, start) for name in strategies}
    faults = [e for n, e in visit.truth.effect.items() if visit.truth.state[n] == 1 and catalogue().cause[n].fault]
    return {"number": number, "largest": max(faults, default=0.0), "told": {k: vars(v) for k, v in told.items()}}


def _followed(strategy, visit, weighing):
    told, case, spent = Told(), visit.case, 0.0
    rng = np.random.default_rng([8, visit.number])
    _note(told, visit, weighing, 0.0)
    while True:
        reach = reach_of(case, catalogue())
        check = _next(strategy, weighing, case, reach, left=60.0 - spent)
        if check is None:
            break
        spent += check.minutes + reach(check).minutes if strategy != "ceiling" else 0.0
        finding = blind.result_of(visit, check)
        case = replace(case, findings=(*case.findings, finding))
        _watch(told, case, finding)
        apart = (*case.booked.apart, *(need for need in check.needs if need not in blind_conditions()))
        case = replace(case, booked=replace(case.booked, apart=tuple(dict.fromkeys(apart))))
        piece = piece_of(finding, check, case=case, catalogue=catalogue(), where="blind")
        if strategy != "ceiling" and piece is not None:
            weighing = with_more(weighing.inside, piece, catalogue(), rng=rng)
        _note(told, visit, weighing, spent)
    if strategy == "ceiling":
        weighing = _all_at_once(visit, case, weighing)
        _note(told, visit, weighing, 60.0)
    told.minutes, told.checks = spent, len(case.findings)
    _close(told, visit, case, weighing)
    return told


def blind_conditions():
    return ("engine_runs", "road_ready", "intact_cold", "hot_arrival", "power_connected")


def _all_at_once(visit, case, weighing):
    owner = _owners(visit.number >= WINTER)[visit.owner]
    rng = np.random.default_rng([9, visit.number])
    return weigh(case, owner.effects, catalogue(), rng=rng, draws=weighing.draws)


def _next(strategy, weighing, case, reach, *, left):
    possible = []
    for check in open_checks(case, catalogue()):
        way = reach(check)
        if not way.blocked_by and not way.impossible and check.minutes + way.minutes <= left:
            possible.append(check)
    if not possible:
        return None
    if strategy == "ceiling":
        return possible[0]
    if strategy == "factory":
        listed = [name for name in FACTORY if name in {check.id for check in possible}]
        return catalogue().check[listed[0]] if listed else None
    if strategy == "cheapest":
        return min(possible, key=lambda check: (check.minutes + reach(check).minutes, check.id))
    rows = ranked(weighing, case, catalogue(), prospects=prospects_of(weighing, tuple(possible)), reach=reach)
    paying = [row for row in rows if row.acts_money + row.explains_money > 0.15 * row.minutes]
    return catalogue().check[paying[0].check] if paying else None


def _note(told, visit, weighing, spent):
    """Where the true largest fault stands among faults, for every moment not yet passed."""
    truth = {n: e for n, e in visit.truth.effect.items() if visit.truth.state[n] == 1 and catalogue().cause[n].fault}
    if not truth or max(truth.values()) < LARGE:
        return
    best = max(truth, key=truth.get)
    faults = [n for n, cause in enumerate(weighing.causes) if cause.fault]
    means = weighing.entries_l_per_100km[:, faults].mean(axis=0)
    order = [weighing.causes[faults[n]].id for n in np.argsort(-means)]
    for moment in LOOKS_AT:
        if spent <= moment:
            told.firsts[moment] = float(order[0] == best)
            told.thirds[moment] = float(best in order[:3])


def _close(told, visit, case, weighing):
    truth = visit.truth
    then = weighing.then_l_per_100km
    total = np.log(weighing.now_l_per_100km / then)
    scatter = np.where(weighing.new, weighing.log_effect, 0.0)[:, weighing.index("fill_scatter")]
    mean_l = np.mean((weighing.now_l_per_100km - then) / np.where(total == 0.0, 1.0, total))
    told.covered["real rise"] = [_inside(total - scatter, truth.rise_log)]
    told.covered["remainder"] = [_inside(weighing.remainder_log, truth.unlisted)]
    entries, fault_total, fault_draws = [], 0.0, 0.0
    for n, cause in enumerate(weighing.causes):
        if cause.context or cause.id == "winter_fuel_blend":
            continue
        there = truth.state.get(cause.id, 0)
        told.presence.append((float(weighing.presence[n]), float(there == 1)))
        true_l = truth.effect[cause.id] * mean_l if there == 1 else 0.0
        draws = weighing.entries_l_per_100km[:, n]
        if np.quantile(draws, 0.95) > np.quantile(draws, 0.05):
            entries.append(_inside(draws, true_l))
        if cause.fault:
            fault_total, fault_draws = fault_total + true_l, fault_draws + draws
    told.covered["entries in play"] = entries
    told.covered["fault total"] = [_inside(fault_draws, fault_total)]
    told.corrected = [] if stop_of(case, catalogue()) else _sold(truth, case, weighing)


def _sold(truth, case, weighing):
    """What the shipped rule corrects today, the clock aside: cause, what is true of it, how sure the account was."""
    pieces = evidence_of(case, catalogue(), drive=None).pieces

    def need(operation, cause):
        return need_of(operation, cause, case=case, pieces=pieces, catalogue=catalogue())

    stands = standing(case, catalogue().state)
    found = considered(case, weighing, catalogue(), standing=stands, need=need)
    sold = [each for each in found if each.answer.verdict == "qualifies" and not each.cause.context]
    return [(each.cause.id, float(truth.state.get(each.cause.id, 0)), each.there) for each in sold]


def _watch(told, case, finding):
    """A finding that must stop everything, and whether it does."""
    raising = {(by.check, reading) for stop in catalogue().stops for by in stop.raised_by for reading in by.readings}
    if any((finding.check, reading) in raising for reading in finding.reading):
        told.raised += 1
        told.stopped += stop_of(case, catalogue()) is not None


def _inside(draws, truth):
    low, high = np.quantile(draws, [0.05, 0.95])
    return float(low - 1e-9 <= truth <= high + 1e-9)


def tables(results):
    """Tables from the results of all visits."""
    out = {}
    for name in max((result["told"] for result in results), key=len):
        followed = [result for result in results if name in result["told"]]
        told = [result["told"][name] for result in followed]
        large = [t for result, t in zip(followed, told, strict=True) if result["largest"] >= LARGE]
        out[name] = {
            "first": {m: _mean([t["firsts"][m] for t in large]) for m in LOOKS_AT},
            "in first three": {m: _mean([t["thirds"][m] for t in large]) for m in LOOKS_AT},
            "visits": len(told),
            "large faults": len(large),
            "minutes": _mean([t["minutes"] for t in told]),
            "checks": _mean([t["checks"] for t in told]),
            "coverage": {key: _mean([hit for t in told for hit in t["covered"][key]]) for key in told[0]["covered"]},
            "calibration": _calibration([pair for t in told for pair in t["presence"]]),
            **_corrections(told),
        }
    if {"value", "factory"} <= set(out):
        out["value minus factory at 30 min"] = _paired(results, "value", "factory", 30)
    return out


def _mean(values):
    known = [value for value in values if value is not None]
    return round(float(np.mean(known)), 4) if known else None


def _calibration(pairs):
    said, was = np.array(pairs).T
    edges = np.array([0, 0.01, 0.03, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.97, 1.0001])
    bins, error = [], 0.0
    for low, high in pairwise(edges):
        inside = (said >= low) & (said < high)
        if inside.any():
            bins.append([round(float(said[inside].mean()), 3), round(float(was[inside].mean()), 3), int(inside.sum())])
            error += inside.mean() * abs(said[inside].mean() - was[inside].mean())
    return {"expected calibration error": round(float(error), 4), "said, was, count": bins}


def _corrections(told):
    wrong = [any(state == 0.0 for _, state, _ in t["corrected"]) for t in told]
    apart = [any(s == 0.0 for n, s, _ in t["corrected"] if n != "tire_under_inflation") for t in told]
    all_made = [(name, state) for t in told for name, state, _ in t["corrected"]]
    return {
        "visits with a wrong correction": _mean(wrong),
        "same, tire pressure apart": _mean(apart),
        "corrections": len(all_made),
        "of them old": _mean([state == 2.0 for _, state in all_made]),
        "wrong ones by cause": dict(Counter(name for name, state in all_made if state == 0.0).most_common()),
        "looks that must stop everything, and did": [sum(t["raised"] for t in told), sum(t["stopped"] for t in told)],
    }


def _paired(results, one, other, moment):
    pairs = [
        r["told"][one]["firsts"][moment] - r["told"][other]["firsts"][moment] for r in results if r["largest"] >= LARGE
    ]
    if not pairs:
        return {}
    half = 1.96 * float(np.std(pairs)) / max(1, len(pairs)) ** 0.5
    mean = float(np.mean(pairs))
    return {"mean": round(mean, 4), "95 % interval": [round(mean - half, 4), round(mean + half, 4)]}


def from_file(path):
    """Results of a run, one a line, as they were written."""
    results = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    for result in results:
        for told in result["told"].values():
            for key in ("firsts", "thirds"):
                told[key] = {int(moment): hit for moment, hit in told[key].items()}
    return results


def run(asked):
    """Run the study; every visit is written to `asked.raw` as soon as it is done, and none is made twice."""
    if asked.apart:
        blind.FROZEN += asked.apart
    done = {result["number"] for result in from_file(asked.raw)} if asked.raw.exists() else set()
    strategies = tuple(asked.strategies.split(","))
    ordinary, winter = range(asked.first, asked.first + asked.visits), range(WINTER, WINTER + asked.winter)
    placed = [(place / len(part), number) for part in (ordinary, winter) for place, number in enumerate(part)]
    numbers = [number for _, number in sorted(placed)]  # winter among the others, so that a stopped run has both
    jobs = [(n, asked.draws, n >= WINTER, _for(n, strategies, asked.few)) for n in numbers if n not in done]
    for winter in {job[2] for job in jobs}:
        _owners(winter, asked.keep)  # before the workers start, so that they share them
    with ProcessPoolExecutor(asked.processes, mp_context=get_context("fork")) as pool, asked.raw.open("a") as raw:
        for result in pool.map(one_visit, jobs):
            raw.write(json.dumps(result) + "\n")
            raw.flush()


def _for(number, strategies, few):
    """The strategies of one visit: all for the first `few`, then those a bar asks for; by worth alone in winter."""
    if number >= WINTER:
        return strategies[:1]
    return strategies if number < few else strategies[:2]


def main(arguments=None):
    """Run the study and print its tables; with `--again`, only the tables of results already written."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--visits", type=int, default=500)
    parser.add_argument("--first", type=int, default=0, help="number of the first visit")
    parser.add_argument("--winter", type=int, default=100)
    parser.add_argument("--draws", type=int, default=2048)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--strategies", default="value,factory,cheapest,ceiling")
    parser.add_argument("--few", type=int, default=500, help="visits from the first on with all strategies, else two")
    parser.add_argument("--keep", type=Path, help="folder that keeps the made owners between runs")
    parser.add_argument("--apart", type=int, default=0, help="other visits than the frozen ones, never for the tables")
    parser.add_argument("--raw", type=Path, default=Path("blind_visits.jsonl"), help="results, one visit a line")
    parser.add_argument("--again", action="store_true", help="print the tables of --raw without running")
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args(arguments)
    if not asked.again:
        run(asked)
    results = from_file(asked.raw)
    parts = {
        "visits": [r for r in results if r["number"] < WINTER],
        "winter, no fault": [r for r in results if r["number"] >= WINTER],
    }
    out = {name: tables(part) for name, part in parts.items() if part}
    sys.stdout.write(json.dumps(out) + "\n" if asked.json else page(out))


if __name__ == "__main__":
    main()
