"""The long table of the fill-up model: `PYTHONPATH=src:. python tests/hard/fillups.py [--small] [--data DIR]`.

Calibration on simulated logs, injected steps on quiet stretches of the two open logs, winter onset alone, use
halved, wrong claims over twenty looks after the work, with a Welch test and PELT as yardsticks. Prints Markdown for
docs/fillups.md and exits with 1 where a bar is missed.
"""

import argparse
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
import ruptures
from scipy.stats import ttest_ind

from lostgallon.fillups.columns import year_angle
from lostgallon.fillups.mixtures import mixture_quantiles
from lostgallon.fillups.posterior import weigh
from lostgallon.fillups.prior import ALARM, SeasonPrior
from lostgallon.fillups.proof import returned
from lostgallon.fillups.tanks import stack, tanks_of_log
from lostgallon.fillups.verdict import judge
from lostgallon.readers.fills import read_fills
from lostgallon.shop.filled import FillLog, Tank
from tests.hard.simulated import cut, draw, with_rise

SEASON = SeasonPrior()
QUIET = {"van": ("tanks-van-2012-2025.csv", date(2019, 7, 1)), "sedan": ("tanks-sedan-2013-2026.csv", date(2020, 1, 1))}
BEFORE, AFTER = 40, 10


@dataclass(frozen=True)
class Row:
    """One line of the table: what, the figure, the bar, and whether it is met (None: no bar)."""

    what: str
    figure: str
    bar: str = ""
    met: bool | None = None


@dataclass(frozen=True)
class Weighed:
    """What the model says of many logs; every field (logs,), `own` (logs, 3) points of the vehicle's part."""

    vehicle: np.ndarray
    any_rise: np.ndarray
    use: np.ndarray
    changed: np.ndarray
    factor: np.ndarray
    own: np.ndarray
    first: np.ndarray


def weigh_all(logs):
    """Weighs logs in batches of like length; `first` is the likeliest first tank changed, counted in its log."""
    order = np.argsort([len(log.days) for log in logs], kind="stable")
    parts = []
    for at in range(0, len(logs), 16):
        chosen = [logs[place] for place in order[at : at + 16]]
        found = weigh(stack(chosen), SEASON)
        own = [found.weight[:, [0, 2]], found.own_mean[:, [0, 2]], found.own_sd[:, [0, 2]]]
        points = mixture_quantiles(*(each.reshape(len(chosen), -1) for each in own))
        dates = found.weight.sum(axis=1)
        dates = dates[:, : dates.shape[1] // 2] + dates[:, dates.shape[1] // 2 :]
        length = max(len(log.days) for log in chosen)
        first = found.starts.first[dates.argmax(axis=1)] - (length - np.array([len(log.days) for log in chosen]))
        parts.append((found.vehicle_rise, found.any_rise, found.use + found.both, 1 - found.nothing,
                      np.exp(found.log_bayes_factor), points, first))  # fmt: skip
    joined = [np.concatenate(each) for each in zip(*parts, strict=True)]
    back = np.argsort(order, kind="stable")
    return Weighed(*(each[back] for each in joined))


def calibration(count, rng, tails):
    """Simulated logs from the prior: stated against true, coverage, mean Bayes factor."""
    drawn = [draw(rng, int(rng.choice([24, 40, 60, 90])), tails=tails) for _ in range(count)]
    found = weigh_all([log for log, _ in drawn])
    kind = np.array([truth.kind for _, truth in drawn])
    own = np.array([truth.own for _, truth in drawn])
    on_vehicle = np.isin(kind, ["vehicle", "both"])
    rose, none = on_vehicle & (own > 0), kind == "none"
    name = "normal scatter" if tails is None else f"scatter with t{tails} tails"
    worst, lines = _worst_bin(found.vehicle, rose)
    inside = (found.own[:, 0] <= own) & (own <= found.own[:, 2])
    coverage = inside[on_vehicle].mean()
    return [
        Row(f"{count} simulated logs, {name}: worst bin of 100 or more, said minus was", f"{worst:.3f}", "at most .07", worst <= 0.07),
        Row("- said / was (logs) by bin", "; ".join(lines)),
        Row("- 90 % interval of the vehicle's part covers", f"{coverage:.3f}", ".87 to .93", 0.87 <= coverage <= 0.93),
        Row("- P(any change), mean said / share true", f"{found.changed.mean():.3f} / {(~none).mean():.3f}"),
        Row("- mean Bayes factor under no change (standard error)", f"{found.factor[none].mean():.2f} ({found.factor[none].std() / np.sqrt(none.sum()):.2f})", "1"),
        Row("- false alarms among logs without a rise", f"{(found.vehicle[~rose] > ALARM).mean():.3f}"),
    ]  # fmt: skip


def _worst_bin(said, was):
    worst, lines = 0.0, []
    for low in np.arange(0.0, 1.0, 0.1):
        chosen = (said >= low) & (said < low + 0.1 + (low > 0.85) * 1e-9)
        if chosen.sum() >= 100:
            lines.append(f"{said[chosen].mean():.2f}/{was[chosen].mean():.2f} ({chosen.sum()})")
            worst = max(worst, abs(said[chosen].mean() - was[chosen].mean()))
    return worst, lines


def quiet_stretch(folder, name):
    """The quiet stretch of an open log as arrays."""
    file, end = QUIET[name]
    log = tanks_of_log(read_fills(folder / file))
    return cut(log, 0, int((log.end_day < end.toordinal()).sum()))


def windows(log, *, before, after, step):
    """Every `step`-th stretch of the log with `before` tanks (None: all there are, 40 at least) and `after`."""
    ends = range(BEFORE + after, len(log.days) + 1, step)
    return [cut(log, 0 if before is None else end - after - before, end) for end in ends]


def injected(folder, step):
    """Steps put into quiet stretches of the open logs: false alarms, power, interval, date; and the yardsticks."""
    rows = []
    for before, words in ((BEFORE, "40 tanks before"), (None, "the whole log before")):
        alarms, stretches = {}, {}
        for name in QUIET:
            stretches[name] = windows(quiet_stretch(folder, name), before=before, after=AFTER, step=step)
            for rise in (0.0, 0.05, 0.10, 0.15):
                logs = [with_rise(each, len(each.days) - AFTER, 1 + rise) for each in stretches[name]]
                found = weigh_all(logs)
                alarm = found.vehicle > ALARM
                truth = np.log1p(rise)
                cover = ((found.own[:, 0] <= truth) & (truth <= found.own[:, 2]))[alarm]
                late = (found.first - np.array([len(log.days) - AFTER for log in logs]))[alarm]
                alarms[name, rise] = (alarm, cover, late)
        rows += _injected_rows(alarms, stretches, words)
    return rows


def _injected_rows(alarms, stretches, words):
    rows = []
    each_false = {name: alarms[name, 0.0][0].mean() for name in QUIET}
    pooled = np.concatenate([alarms[name, 0.0][0] for name in QUIET]).mean()
    told = ", ".join(f"{name} {share:.3f} of {len(stretches[name])}" for name, share in each_false.items())
    good = pooled <= 0.02 and max(each_false.values()) <= 0.05
    rows.append(
        Row(
            f"open logs, {words}, 10 after: false alarms",
            f"pooled {pooled:.3f}; {told}",
            "at most .02 pooled, .05 each",
            good,
        )
    )
    for rise, bar in ((0.05, None), (0.10, 0.50), (0.15, 0.70)):
        power = {name: alarms[name, rise][0].mean() for name in QUIET}
        mean = float(np.mean(list(power.values())))
        told = ", ".join(f"{name} {share:.2f}" for name, share in power.items())
        rows.append(
            Row(
                f"- power at +{100 * rise:.0f} %",
                f"mean of the logs {mean:.2f}; {told}",
                f"at least {bar:.2f}" if bar else "",
                None if bar is None else mean >= bar,
            )
        )
    cover = np.concatenate([alarms[name, rise][1] for name in QUIET for rise in (0.10, 0.15)])
    rows.append(
        Row(
            "- 90 % interval given an alarm, +10 and +15 %",
            f"{cover.mean():.2f} of {len(cover)}",
            ".85 to 1.00",
            bool(0.85 <= cover.mean() <= 1.0),
        )
    )
    late = np.concatenate([alarms[name, 0.10][2] for name in QUIET])
    rows.append(
        Row(
            "- date given an alarm, +10 %: median error, tanks",
            f"{np.median(np.abs(late)):.0f}",
            "at most 2",
            bool(np.median(np.abs(late)) <= 2),
        )
    )
    for yardstick in (welch, pelt):
        false = {name: np.mean([yardstick(log) for log in stretches[name]]) for name in QUIET}
        power = [
            np.mean([yardstick(with_rise(log, len(log.days) - AFTER, 1.10)) for log in stretches[name]])
            for name in QUIET
        ]
        told = ", ".join(f"{name} {share:.2f}" for name, share in false.items())
        rows.append(
            Row(
                f"- yardstick {yardstick.__doc__.splitlines()[0]}", f"false {told}; power at +10 % {np.mean(power):.2f}"
            )
        )
    return rows


def welch(log):
    """Welch test, last 5 tanks against before, one-sided .05"""
    logs = np.log(log.volume_l / log.distance_km)
    return bool(ttest_ind(logs[-5:], logs[:-5], equal_var=False, alternative="greater").pvalue < 0.05)


def pelt(log):
    """Harmonic regression, then PELT (squared loss, penalty 3 var ln n), last segment higher"""
    logs = np.log(log.volume_l / log.distance_km)
    angle = year_angle(log.end_day - log.days / 2, southern=False)
    waves = np.column_stack([np.ones_like(angle), np.cos(angle), np.sin(angle)])
    rest = logs - waves @ np.linalg.lstsq(waves, logs, rcond=None)[0]
    noise = (1.4826 * np.median(np.abs(np.diff(rest) - np.median(np.diff(rest)))) / np.sqrt(2.0)) ** 2
    breaks = ruptures.Pelt(model="l2", min_size=3).fit(rest).predict(pen=3.0 * noise * np.log(len(rest)))
    return len(breaks) > 1 and bool(rest[breaks[-2] :].mean() > rest[: breaks[-2]].mean())


def winter_onset(folder):
    """Logs of under a year that end in December to February: an alarm is the winter taken for a loss."""
    logs = []
    for name in QUIET:
        quiet = quiet_stretch(folder, name)
        for end in range(12, len(quiet.days) + 1):
            day = date.fromordinal(int(quiet.end_day[end - 1]))
            begin = int(np.searchsorted(quiet.end_day, quiet.end_day[end - 1] - 300))
            if day.month in (12, 1, 2) and end - begin >= 8:
                logs.append(cut(quiet, begin, end))
    share = (weigh_all(logs).vehicle > ALARM).mean()
    return [
        Row(
            f"winter onset alone, {len(logs)} windows under a year: alarms",
            f"{share:.3f}",
            "at most .05",
            bool(share <= 0.05),
        )
    ]


def as_log(log):
    """Arrays as a record, for the door a person uses."""
    tanks = tuple(
        Tank(place + 2, date.fromordinal(int(log.end_day[place])), float(log.days[place]), float(log.distance_km[place]),
             float(log.volume_l[place]), chained=bool(log.chained[place]))
        for place in range(len(log.days))
    )  # fmt: skip
    return FillLog("log", tanks, (), (), (), len(tanks))


def with_use_halved(log, first):
    """Days doubled and fuel per distance up 19 % from a tank on."""
    days = log.days.copy()
    days[first:] *= 2.0
    ends = log.end_day[0] + np.concatenate([[0.0], np.cumsum(days[1:])])
    return replace(with_rise(log, first, 1.19), days=days, end_day=ends)


def _pace_after(log):
    """Km a day of the last tanks over that of those before: a log's own wander can undo a halving."""
    after, before = slice(len(log.days) - AFTER, None), slice(0, len(log.days) - AFTER)
    return (log.distance_km[after].sum() / log.days[after].sum()) / (
        log.distance_km[before].sum() / log.days[before].sum()
    )


def use_halved(folder, count, step, rng):
    """Use halved at +19 %: how often the words 'vehicle loss' appear, and how often use is said to be involved."""
    sets = (
        {name: windows(quiet_stretch(folder, name), before=BEFORE, after=AFTER, step=step) for name in QUIET}
        if folder
        else {}
    )
    drawn = [draw(rng, BEFORE + AFTER, change=0, use_change=False)[0] for _ in range(count)]
    sets["simulated"] = [log for log in drawn if _pace_after(with_use_halved(log, BEFORE)) <= 0.7]
    rows = []
    for name, logs in sets.items():
        verdicts = [judge(as_log(with_use_halved(log, len(log.days) - AFTER))) for log in logs]
        said = np.mean(["vehicle loss" in verdict.sentence.lower() for verdict in verdicts])
        use = np.mean([verdict.step.use_changed + verdict.step.both for verdict in verdicts])
        words = np.mean([verdict.step.says in {"use changed", "either"} for verdict in verdicts])
        rows.append(
            Row(
                f"use halved at +19 %, {name} ({len(logs)}): 'vehicle loss' said",
                f"{said:.3f}; mean P(use involved) {use:.2f}; 'use changed' or 'either' said {words:.2f}",
                "never",
                bool(said == 0.0),
            )
        )
    return rows


def recovery(count, rng):
    """Wrong claims over twenty looks after the work, a rise of 12 % before it."""
    rows = []
    for share, wrong in ((0.0, "came back"), (1.0, "did not")):
        claims = {"came back": 0, "did not": 0}
        for _ in range(count):
            log, _ = draw(rng, BEFORE + 12 + 20, change=0.0, use_change=False)
            log = with_rise(with_rise(log, BEFORE, 1.12), BEFORE + 12, 1.12**-share)
            said = _first_claim(log, BEFORE + 12)
            claims[said] = claims.get(said, 0) + 1
        told = {each: claims[each] / count for each in ("came back", "did not")}
        right = "did not" if wrong == "came back" else "came back"
        rows.append(
            Row(
                f"{count} logs, share {share:.0f} back, 20 looks: wrongly '{wrong}'",
                f"{told[wrong]:.3f}; rightly '{right}' {told[right]:.2f}",
                "at most .05",
                told[wrong] <= 0.05,
            )
        )
    return rows


def _first_claim(log, work):
    for looks in range(1, 21):
        found = returned(cut(log, 0, work + looks), float(log.end_day[work - 1]), SEASON)
        if found.evidence_back >= 20.0:
            return "came back"
        if found.evidence_not >= 20.0:
            return "did not"
    return "too early"


def table(*, folder, small, rng, only=()) -> list[Row]:
    """The whole table, or the small sample that CI runs."""
    many, few, step = (400, 30, 12) if small else (12000, 400, 2)
    parts: dict[str, Callable[[], list[Row]]] = {
        "normal": lambda: calibration(many, rng, None),
        "tails": lambda: calibration(many, rng, 4),
        "injected": lambda: injected(folder, step) if folder else [],
        "winter": lambda: winter_onset(folder) if folder else [],
        "use_halved": lambda: use_halved(folder, few, step, rng),
        "recovery": lambda: recovery(few // 2 if small else few, rng),
    }
    rows = []
    for name in only or parts:
        began = time.perf_counter()
        rows += parts[name]()
        print(f"{name} ... {time.perf_counter() - began:.0f} s", file=sys.stderr)
    return rows


def main() -> int:
    """Prints the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--data", type=Path, default=Path(__file__).parents[3] / "shared" / "data")
    parser.add_argument("--part", action="append", default=[], help="only this part of the table; repeatable")
    parser.add_argument("--random", type=int, default=20261125)
    asked = parser.parse_args()
    folder = asked.data if asked.data.is_dir() else None
    if folder is None:
        print("the open logs are not on this machine: their rows are left out", file=sys.stderr)
    rows = table(folder=folder, small=asked.small, rng=np.random.default_rng(asked.random), only=asked.part)
    print("| what | figure | bar | met |\n|---|---|---|---|")
    for row in rows:
        met = {True: "yes", False: "NO", None: ""}[row.met]
        print(f"| {row.what} | {row.figure} | {row.bar} | {met} |")
    return int(any(row.met is False for row in rows))


if __name__ == "__main__":
    sys.exit(main())
