"""A fill-up log from file to verdict: the job behind `lostgallon fillups`."""

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np

from lostgallon.fillups.prior import SeasonPrior, season_from_physics
from lostgallon.fillups.starts import rise_percent, stated_rise
from lostgallon.fillups.verdict import Ask, judge, rise_at
from lostgallon.fillups.weather import with_temperatures
from lostgallon.fillups.words import stated_sentence
from lostgallon.readers.case import read_case
from lostgallon.readers.fills import NO_HINTS, read_fills
from lostgallon.readers.temperatures import read_temperatures, store_town, stored_town, typed_months
from lostgallon.shop.filled import DailyTemperatures, FillHints, FillLog, FillVerdict, MonthlyTemperatures, Rise
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.trouble import BadArgument
from lostgallon.shop.visit import Case

WARM_C, COLD_C = 20.0, 0.0
SLOPE_MEMBERS = 256
NOW_TANKS = 5  # where nobody knows since when, now is the last of them
TIRES_PER_K, TIRES_SD_PER_K = 0.0005, 0.0004
"""Cold tires add to the season of a log: about 0.4 % pressure a kelvin, 1.4 % rolling resistance per psi, a fifth
of it as fuel. Source: gas law; TRB Special Report 286, 2006, chapter 3."""


@dataclass(frozen=True)
class LogQuestion:
    """What is asked about a log, as typed. `folder` keeps towns; `calibrations` the physics' members."""

    log: Path
    vehicle: Path | None = None
    temperature: Path | None = None
    town: str = ""
    months: str = ""
    work_done: date | None = None
    since: date | None = None
    southern: bool = False
    hints: FillHints = NO_HINTS
    folder: Path = Path()
    calibrations: Path | None = None


@dataclass(frozen=True)
class Judged:
    """The log as read, with temperatures where they were told, and the verdict on it."""

    log: FillLog
    verdict: FillVerdict


def judge_file(question: LogQuestion) -> Judged:
    """Reads and judges a log.

    Raises:
        BadInput: If a file or an option can't be used.
        NotCovered: If the case's vehicle is a hybrid, a diesel or electric.
    """
    case = None if question.vehicle is None else read_case(question.vehicle)
    hints = question.hints if case is None else hints_from(case, question.hints)
    log = read_fills(question.log, hints)
    known = _temperatures(question, hints)
    warm = None if known is None else with_temperatures(log, known)
    season = season_prior(case, southern=question.southern, folder=question.calibrations)
    since = question.since or (case.then.until if case else None)
    _require_inside(question, log)
    verdict = judge(warm or log, Ask(season=season, since=since, work_done=question.work_done))
    if known is not None and warm is None:
        missing = f"temperatures for four tanks in five; {known.name} does not cover the log"
        told = NotEnough("temperatures_do_not_cover", missing, "temperatures of the days between the fills")
        verdict = replace(verdict, not_enough=(*verdict.not_enough, told))
    if case is not None and verdict.rise is None:
        verdict = with_stated(verdict, case)
    return Judged(warm or log, verdict)


def with_stated(verdict: FillVerdict, case: Case) -> FillVerdict:
    """A verdict without enough tanks, with what the owner's own two figures say beside it."""
    rise = stated_rise(case.then, case.now)
    return replace(verdict, rise=rise, also=(*verdict.also, stated_sentence(rise_percent(rise))))


def judge_case(case: Case, *, folder: Path | None = None) -> Judged | None:
    """Judges the fill-ups that came with a case; None where it has none.

    Raises:
        BadInput: If the file can't be used.
    """
    if case.evidence.fill_ups is None:
        return None
    log = read_fills(case.evidence.fill_ups, hints_from(case, NO_HINTS))
    season = season_prior(case, southern=False, folder=folder)
    verdict = judge(log, Ask(season=season, since=case.then.until))
    return Judged(log, replace(verdict, rise=_rise_of_case(log, verdict, case=case, season=season)))


def _rise_of_case(log: FillLog, verdict: FillVerdict, *, case: Case, season: SeasonPrior) -> Rise | None:
    """The rise across the end of the good days: as the owner dates it, else as the log does, else the last tanks."""
    if case.then.until:
        return rise_at(log, case.then.until, season)
    if verdict.step.since:
        return rise_at(log, verdict.step.since.date, season)
    recent = log.tanks[-NOW_TANKS - 1].filled_on if len(log.tanks) > NOW_TANKS else None
    return rise_at(log, recent, season) if recent else None


def hints_from(case: Case, hints: FillHints) -> FillHints:
    """Units that a case's own figures suggest where the log names none and nothing was told."""
    if hints.distance_unit and hints.volume_unit:
        return hints
    typed = f"{case.now.economy_typed} {case.then.economy_typed}".lower()
    distance, volume = ("km", "L") if "km" in typed else ("mi", "gal")
    if not typed.strip():
        return hints
    return replace(
        hints,
        distance_unit=hints.distance_unit or distance,
        volume_unit=hints.volume_unit or volume,
        told_by="as in the case's own figures",
    )


def season_prior(case: Case | None, *, southern: bool, folder: Path | None) -> SeasonPrior:
    """The season prior: from experience, or with a case from the physics of its vehicle and use.

    Args:
        case: The case, if one is given.
        southern: South of the equator.
        folder: Where calibrations are kept; None keeps none.
    """
    if case is None:
        return SeasonPrior(southern=southern)
    from lostgallon.physics.effects import COLD_TEST_SPAN_K  # noqa: PLC0415 - the physics takes a second to load
    from lostgallon.physics.owner_use import Setup, owner_l_per_100km  # noqa: PLC0415 - the same
    from lostgallon.physics.setting import Surroundings  # noqa: PLC0415 - the same
    from lostgallon.physics.store import calibrated_once  # noqa: PLC0415 - the same

    members = calibrated_once(case.vehicle, SLOPE_MEMBERS, seed=1, folder=folder).members
    setups = [Setup(members, Surroundings(ambient, case.vehicle.elevation_m), {}) for ambient in (WARM_C, COLD_C)]
    warm, cold = owner_l_per_100km(case.use, setups)
    slopes = np.log(cold / warm) / (WARM_C - COLD_C) + members.of("cold_residual") / COLD_TEST_SPAN_K
    slope, spread = float(slopes.mean()) + TIRES_PER_K, float(slopes.std())
    return season_from_physics(slope, float(np.hypot(spread, TIRES_SD_PER_K)), southern=southern)


def _temperatures(question: LogQuestion, hints: FillHints) -> DailyTemperatures | MonthlyTemperatures | None:
    if question.temperature is not None and question.town:
        raise BadArgument("--town", found="a town and a file of temperatures", expected="one of the two")
    if question.temperature is not None:
        return read_temperatures(question.temperature, hints)
    if question.months and not question.town:
        raise BadArgument("--months", found="monthly means without a place", expected="--town NAME beside them")
    if not question.town:
        return None
    if question.months:
        town = typed_months(question.months, question.town)
        store_town(question.folder, town)
        return town
    return stored_town(question.folder, question.town)


def _require_inside(question: LogQuestion, log: FillLog) -> None:
    """A day of work or a "since" outside the log is a typing slip that a verdict must not hide."""
    if not log.tanks:
        return
    first, last = log.tanks[0].filled_on, log.tanks[-1].filled_on
    for option, day in (("--work-done", question.work_done), ("--since", question.since)):
        if day is not None and not first <= day <= date.fromordinal(last.toordinal() + 366):
            raise BadArgument(option, found=str(day), expected=f"a day of the log, {first} to {last}")
