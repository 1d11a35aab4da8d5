"""Trims of all banks and regions together, read against the pattern table: one physical fact, one ratio a cause.

The trims of a sound engine scatter together (a common offset), by bank and by region. A pattern adds a mean that lies
somewhere in its range. Where the log also lets the air-flow reading be compared with manifold pressure, that comparison
is part of the same fact.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import get_args

import numpy as np

from lostgallon.drives.evidence import SPEAKS_FOR, capped
from lostgallon.drives.fuel import speed_density_air_g_s
from lostgallon.drives.overrun import Overrun
from lostgallon.drives.samples import Samples
from lostgallon.drives.trims import CRUISE_M_S, LoopState
from lostgallon.drives.vehicle import Subject
from lostgallon.shop.channels import table
from lostgallon.shop.driven import Pattern, Region, Trim
from lostgallon.shop.spread import Floats

REGIONS: tuple[Region, ...] = get_args(Region)
OFFSET_PCT, BANK_PCT, REGION_PCT, READING_PCT = 3.0, 1.2, 1.1, 1.0
"""Scatter of a sound engine's trims: common, of a bank, of a region, of one figure (within 5 good, 10 acceptable)."""
METER_LN = 0.075
"""Air flow over speed-density air on a sound engine, as a logarithm (filling differs between engines). From memory."""
STRAY_SHARE, STRAY_WIDTH = 0.02, 4.0
RANGE_STEPS = np.array([0.1, 0.3, 0.5, 0.7, 0.9])
RANGE_WEIGHTS = np.array([0.17, 0.22, 0.22, 0.22, 0.17])
WITHOUT_METER = 0.25
"""On engines that meter by pressure a leak or a wrong meter raises the pressure reading and hardly moves the trims."""


@dataclass(frozen=True)
class TrimPattern:
    """A row of data/drive_trim_patterns.csv: ranges in per cent by region, of the meter as a logarithm."""

    id: str
    banks: str
    low: tuple[float, float, float]
    high: tuple[float, float, float]
    meter: tuple[float, float]
    because: str


@dataclass(frozen=True)
class Seen:
    """The readings as a vector: total trims in per cent, then the meter in per cent, with their covariance."""

    values: Floats
    covariance: Floats
    cells: tuple[tuple[int, Region], ...]
    has_meter: bool


@cache
def trim_patterns() -> Mapping[str, TrimPattern]:
    """All patterns by id."""
    return {row["pattern"]: _pattern(row) for row in table("drive_trim_patterns.csv")}


def _pattern(row: Mapping[str, str]) -> TrimPattern:
    low, high = (
        (float(row[f"idle_{end}"]), float(row[f"cruise_{end}"]), float(row[f"load_{end}"])) for end in ("lo", "hi")
    )
    meter = (float(row["meter_lo"]), float(row["meter_hi"]))
    return TrimPattern(row["pattern"], row["banks"], low, high, meter, row["because"])


@cache
def _shows(*, metered: bool) -> Mapping[str, Mapping[str, float]]:
    """How often each cause shows each pattern, on an engine with or without an air-flow meter."""
    found: dict[str, dict[str, float]] = {}
    for row in table("drive_trim_causes.csv"):
        less = WITHOUT_METER if row["metered_only"] and not metered else 1.0
        found.setdefault(row["cause"], {})[row["pattern"]] = less * float(row["shows"])
    return found


@cache
def _priors() -> Mapping[str, float]:
    return {row["cause"]: float(row["prior"]) for row in table("drive_trim_causes.csv")}


def trim_ratios(trims: Sequence[Trim], *, meter_ln: float | None, metered: bool) -> tuple[Pattern, ...]:
    """Likelihood ratio of the trims for every cause in the table.

    Args:
        trims: What was read.
        meter_ln: Logarithm of air flow over speed-density air, where the log lets them be compared.
        metered: Whether the engine measures air flow; else patterns that need a meter show less.
    """
    if not trims:
        return ()
    seen = _vector(trims, meter_ln)
    sound = _density(seen, np.zeros(len(seen.values)))
    stray = STRAY_SHARE * _density(seen, np.zeros(len(seen.values)), scale=STRAY_WIDTH)
    base = (1.0 - STRAY_SHARE) * sound + stray
    of_pattern = {name: _of_pattern(seen, one) for name, one in trim_patterns().items()}
    shows = _shows(metered=metered)
    return tuple(_for_cause(cause, shows, of_pattern=of_pattern, base=base) for cause in shows)


def _for_cause(
    cause: str,
    shows: Mapping[str, Mapping[str, float]],
    *,
    of_pattern: Mapping[str, float],
    base: float,
) -> Pattern:
    without = base + sum(
        _priors()[other] * share * (of_pattern[name] - base)
        for other, rows in shows.items()
        if other != cause
        for name, share in rows.items()
    )
    own = {name: share * of_pattern[name] / without for name, share in shows[cause].items()}
    ratio = capped(float(sum(own.values())) + 1.0 - sum(shows[cause].values()))
    best = max(own, key=lambda name: own[name])
    because = trim_patterns()[best].because if ratio >= SPEAKS_FOR else "trims as without it"
    return Pattern(cause, ratio, because, ("trims_three",))


def _vector(trims: Sequence[Trim], meter_ln: float | None) -> Seen:
    cells = tuple((trim.bank, trim.region) for trim in trims)
    banks = np.array([bank for bank, _ in cells])
    places = np.array([REGIONS.index(region) for _, region in cells])
    covariance = (
        OFFSET_PCT**2
        + BANK_PCT**2 * (banks[:, None] == banks)
        + REGION_PCT**2 * (places[:, None] == places)
        + READING_PCT**2 * np.eye(len(cells))
    )
    values = np.array([trim.total_pct for trim in trims])
    if meter_ln is None:
        return Seen(values, covariance, cells, has_meter=False)
    whole = np.zeros((len(cells) + 1, len(cells) + 1))
    whole[:-1, :-1] = covariance
    whole[-1, -1] = (100.0 * METER_LN) ** 2
    return Seen(np.append(values, 100.0 * meter_ln), whole, cells, has_meter=True)


def _density(seen: Seen, mean: Floats, *, scale: float = 1.0) -> float:
    off = seen.values - mean
    covariance = scale**2 * seen.covariance
    distance = float(off @ np.linalg.solve(covariance, off))
    _, log_size = np.linalg.slogdet(2.0 * math.pi * covariance)
    return math.exp(-0.5 * (distance + float(log_size)))


def _of_pattern(seen: Seen, pattern: TrimPattern) -> float:
    """Density of the readings under a pattern: the mean over its range and over the banks it may sit on."""
    banks = sorted({bank for bank, _ in seen.cells})
    sides = [dict.fromkeys(banks, 1.0)]
    if len(banks) == 2 and pattern.banks == "one":
        sides = [{1: 1.0, 2: 0.0}, {1: 0.0, 2: 1.0}]
    elif len(banks) == 2 and pattern.banks == "opposed":
        sides = [{1: 1.0, 2: -1.0}, {1: -1.0, 2: 1.0}]
    elif pattern.banks == "opposed":
        return 0.0
    total = 0.0
    for side in sides:
        for step, weight in zip(RANGE_STEPS, RANGE_WEIGHTS, strict=True):
            total += weight / len(sides) * _density(seen, _mean(seen, pattern, step=float(step), side=side))
    return total


def _mean(seen: Seen, pattern: TrimPattern, *, step: float, side: Mapping[int, float]) -> Floats:
    """Means by cell. A range that falls below zero is walked from its mild end, so that all regions grow together."""
    mild = [low if abs(low) <= abs(high) else high for low, high in zip(pattern.low, pattern.high, strict=True)]
    severe = [high if abs(low) <= abs(high) else low for low, high in zip(pattern.low, pattern.high, strict=True)]
    by_region = [soft + step * (hard - soft) for soft, hard in zip(mild, severe, strict=True)]
    means = [side[bank] * by_region[REGIONS.index(region)] for bank, region in seen.cells]
    if not seen.has_meter:
        return np.array(means)
    soft, hard = sorted(pattern.meter, key=abs)
    return np.array([*means, 100.0 * (soft + step * (hard - soft))])


def meter_ln(samples: Samples, subject: Subject, *, overrun: Overrun, loop: LoopState) -> float | None:
    """Logarithm of air flow over the air that manifold pressure and displacement give, at cruise and load.

    Args:
        samples: The drive.
        subject: Its displacement is needed.
        overrun: Left out.
        loop: Only closed loop counts.
    """
    measured, rpm = samples.get("air_flow_g_s"), samples.get("rpm")
    if measured is None or rpm is None or subject.displacement_l is None or subject.induction != "natural":
        return None
    by_pressure = speed_density_air_g_s(samples, subject)
    speed = samples.speed_m_s
    if by_pressure is None or speed is None:
        return None
    where = (speed > CRUISE_M_S) & ~overrun.where & loop.closed & np.isfinite(measured) & np.isfinite(by_pressure)
    where &= (measured > 0.5) & (by_pressure > 0.5)
    if samples.seconds(where) < 60.0:
        return None
    return float(np.median(np.log(measured[where] / by_pressure[where])))


def never_closed_patterns(loop: LoopState) -> tuple[Pattern, ...]:
    """A warm engine that never goes into closed loop; expert judgement, from memory."""
    if loop.ever_closed is not False:
        return ()
    because = f"still in open loop after {loop.warm_s / 60:.0f} min warm"
    ratios = {"oxygen_sensor_fault": 5.0, "coolant_sensor_bias": 4.0, "limp_mode": 6.0, "thermostat_stuck_open": 1.5}
    return tuple(Pattern(cause, ratio, because, ("trims_three",)) for cause, ratio in ratios.items())


def trims_sentence(trims: Sequence[Trim], patterns: Sequence[Pattern], *, loop: LoopState, cleared: bool) -> str:
    """The trims in one sentence, with the warning that they can't show the upstream sensor's own bias."""
    bias = "trims can't show an upstream sensor that itself reads wrong"
    if loop.ever_closed is False:
        look = "look for stored codes, a cold reading, a dead sensor heater"
        return f"never in closed loop in {loop.warm_s / 60:.0f} min warm: {look}"
    if cleared:
        return "the long trims stand at zero while the short ones work: cleared lately, so this is not evidence yet"
    if not trims:
        return ""
    best = max(patterns, key=lambda one: one.likelihood_ratio, default=None)
    if best is not None and best.likelihood_ratio >= SPEAKS_FOR:
        return f"{best.because}; {bias}"
    return f"within what sound engines show; {bias}"
