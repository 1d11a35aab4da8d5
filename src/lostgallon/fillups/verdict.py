"""A log judged: is the loss real, since when, how large, what more tanks could show, did it come back.

`judge` is the one door for a single log; `weigh` in posterior.py is the same computation for many.
"""

from dataclasses import dataclass, fields
from datetime import date

import numpy as np

from lostgallon.fillups import prior
from lostgallon.fillups.changes import Starts, starts_of, use_moves
from lostgallon.fillups.mixtures import mixture_quantiles
from lostgallon.fillups.normal import normal_below
from lostgallon.fillups.posterior import Model, Posterior, candidates_at, model_of, posterior_of
from lostgallon.fillups.power import Ahead, look_ahead
from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fillups.proof import came_back_of, returned
from lostgallon.fillups.rise import rise_of
from lostgallon.fillups.season import grid_weight, season_of, settled_on
from lostgallon.fillups.starts import receipts_log_sd
from lostgallon.fillups.tanks import TankArrays, pooled_l_per_100km, stack, tanks_of_log
from lostgallon.fillups.words import NO_RISE_BEFORE, QUESTIONS, sentence_of
from lostgallon.shop.filled import CameBack, FillLog, FillVerdict, More, Rise, Says, Since, Step
from lostgallon.shop.notice import NotEnough
from lostgallon.shop.spread import Floats, Spread

LEAST_TANKS = prior.LEAST_BEFORE + prior.LEAST_AFTER
TANKS_NOW = 6
MOVED_LIKELY, MOVED_PLAINLY = 0.7, 0.9
LEAST_REAL_LOG = 0.01
"""No change under 1 % is ever called real: a weighed-fuel road test is no better. Source: SAE J1321."""
SURE = 0.95
LIKELY = 0.5
TRUST_SHARE = 0.10
ASKED_AHEAD = (3, 5, 10)
USUAL_CLAIM_LOG = float(np.log(1.10))
DEFAULT_SEASON = SeasonPrior()


@dataclass(frozen=True)
class Ask:
    """What is asked of a log: season priors, the owner's date, the day of the work."""

    season: SeasonPrior = DEFAULT_SEASON
    since: date | None = None
    work_done: date | None = None


@dataclass(frozen=True)
class _Weighed:
    """One log weighed, with `offset` from a place in the batch to a place in the log."""

    log: TankArrays
    model: Model
    starts: Starts
    posterior: Posterior
    offset: int


NOTHING_ASKED = Ask()
GOOD_DAYS, GOOD_TANKS = 120, 4
"""Good days are the last of them: this many, and never fewer tanks than these."""


def judge(log: FillLog, ask: Ask = NOTHING_ASKED) -> FillVerdict:
    """Judges one log.

    With a day of work the step is looked for in the tanks before it, and `came_back` speaks of those after it.

    Args:
        log: As a reader hands it over.
        ask: What is asked.
    """
    tanks = tanks_of_log(log)
    before = _until(tanks, ask.work_done)
    if len(before.days) < LEAST_TANKS:
        return _too_few(log, tanks, before)
    weighed = _weigh(before, ask)
    step, use_moved = _step(weighed)
    first = _split(weighed, step, ask)
    settled = settled_on(weighed.model, _step_column(weighed, first) if step.since else None)
    ahead = look_ahead(before, ask.season, grid=grid_weight(settled), first=first if step.since else None)
    rise = rise_of(before, first, model=weighed.model, settled=settled)
    per_10c, winter = season_of(settled)
    more = tuple(More(each, _percent(ahead.detectable_log[each])) for each in ASKED_AHEAD)
    return FillVerdict(
        tanks=log.rows,
        usable=len(tanks.days),
        rejected=log.rejected,
        repaired=log.repaired,
        columns=log.columns,
        before_l_per_100km=rise.then_l_per_100km,
        after_l_per_100km=rise.now_l_per_100km,
        step=step,
        season_pct_per_10c=per_10c,
        scatter_pct=100.0 * float(weighed.posterior.scatter[0]),
        detectable_pct_with_5_more_tanks=_percent(ahead.detectable_log[5]),
        tanks_to_be_sure=_to_be_sure(step, ahead),
        came_back=_came_back(tanks, ask),
        not_enough=_trust(log) + _few(before),
        sentence=sentence_of(step, more=_more_words(more)),
        season_winter_over_summer_pct=winter,
        rise=rise,
        more=more,
        use_moved_pct=use_moved,
        also=_also(step, ask),
    )


def rise_at(log: FillLog, split: date, season: SeasonPrior) -> Rise | None:
    """The rise across a given date, for an account whose good days ended then; None with too few tanks about it.

    The good days are the last GOOD_DAYS before the date, so that their weather is one weather.
    """
    tanks = tanks_of_log(log)
    first = int((tanks.end_day <= split.toordinal()).sum())
    if not prior.LEAST_BEFORE <= first <= len(tanks.days) - prior.LEAST_AFTER:
        return None
    weighed = _weigh(tanks, Ask(season))
    settled = settled_on(weighed.model, _step_column(weighed, first))
    recent = int((tanks.end_day <= split.toordinal() - GOOD_DAYS).sum())
    return rise_of(tanks, first, model=weighed.model, settled=settled, good_from=min(recent, first - GOOD_TANKS))


def _until(tanks: TankArrays, work_done: date | None) -> TankArrays:
    if work_done is None:
        return tanks
    end = int((tanks.end_day <= work_done.toordinal()).sum())
    return TankArrays(*(getattr(tanks, field.name)[:end] for field in fields(tanks)))


def _weigh(tanks: TankArrays, ask: Ask) -> _Weighed:
    batch = stack([tanks])
    model = model_of(batch, ask.season)
    since = None if ask.since is None else np.array([float(ask.since.toordinal())])
    starts = starts_of(batch, since_day=since)
    posterior = posterior_of(model.null, starts, candidates_at(model, starts))
    return _Weighed(tanks, model, starts, posterior, len(tanks.days) - batch.valid.shape[1])


def _by_date(weight: Floats) -> Floats:
    """Weights of steps and ramps together, newest date first, shape (dates,)."""
    dates = weight.shape[-1] // 2
    return np.asarray(weight[..., :dates] + weight[..., dates:])


def _step(weighed: _Weighed) -> tuple[Step, float | None]:
    found, starts = weighed.posterior, weighed.starts
    weight = found.weight[0]
    own = _by_date(weight[[0, 2]].sum(axis=0))
    says = _says(found, moved=_use_moved(weighed, own))
    on_vehicle = says in {"vehicle", "nothing beyond scatter", "not enough"}
    kinds = [0, 2] if on_vehicle else [0, 1, 2]
    mean, sd = (found.own_mean, found.own_sd) if on_vehicle else (found.size_mean, found.size_sd)
    chosen = weight[kinds].reshape(1, -1)
    likely = 1.0 - float(found.nothing[0]) > LIKELY
    low, middle, high = mixture_quantiles(chosen, mean[0, kinds].reshape(1, -1), sd[0, kinds].reshape(1, -1))[0]
    if says == "vehicle" and middle < LEAST_REAL_LOG:
        says = "nothing beyond scatter"
    dates = _by_date(weight[kinds].sum(axis=0))
    step = Step(
        probability=float(found.vehicle_rise[0]),
        any_rise=float(found.any_rise[0]),
        use_changed=float(found.use[0]),
        both=float(found.both[0]),
        log10_bayes_factor=float(found.log_bayes_factor[0] / np.log(10.0)),
        since=_since(weighed, dates) if likely else None,
        increase_pct=_spread(chosen, mean[0, kinds], (low, middle, high)) if likely else None,
        says=says,
    )
    place = int(dates.argmax())
    return step, float(100.0 * np.expm1(starts.moved[0, place])) if likely else None


def _use_moved(weighed: _Weighed, weight: Floats) -> bool:
    """Whether km per day may have moved by more than a quarter at the change.

    At the dates in question (the middle 90 %) a likely move counts, at any later date a plain one: fuel that rose when
    the use fell can be dated too early. Pace is compared over 40 tanks each way and over 12: a log whose use wanders
    hides a move from the longer look.
    """
    starts = weighed.starts
    moves = ((starts.moved, starts.moved_sd), use_moves(weighed.model.batch, starts.first, back=prior.USE_NEAR_TANKS))
    beyond = np.maximum(*(normal_below((np.abs(move[0]) - prior.MOVED_LOG) / sd[0]) for move, sd in moves))
    share = weight / weight.sum()
    sofar = np.cumsum(share)
    in_question, later = (sofar > 0.05) & (sofar - share < 0.95), sofar <= 0.05
    likely = beyond[in_question].max(initial=0.0) > MOVED_LIKELY
    return bool(likely or beyond[later].max(initial=0.0) > MOVED_PLAINLY)


def _says(found: Posterior, *, moved: bool) -> Says:
    vehicle, any_rise = float(found.vehicle_rise[0]), float(found.any_rise[0])
    use, both = float(found.use[0]), float(found.both[0])
    if vehicle > prior.ALARM:
        return "either" if moved else "vehicle"
    if any_rise > prior.ALARM:
        return "use changed" if use + both > 0.5 * any_rise else "either"
    return "nothing beyond scatter"


def _spread(weight: Floats, mean: Floats, points: tuple[float, float, float]) -> Spread:
    average = float((weight.ravel() * mean.ravel()).sum() / weight.sum())
    low, middle, high = (_percent(each) for each in points)
    return Spread(mean=_percent(average), p05=low, p50=middle, p95=high)


def _since(weighed: _Weighed, dates: Floats) -> Since:
    begun = weighed.model.batch.end_day[0] - weighed.model.batch.days[0]
    order = weighed.starts.first[::-1]
    share = dates[::-1] / dates.sum()
    sofar = np.cumsum(share)
    places = [int(order[min(int(np.searchsorted(sofar, level)), len(order) - 1)]) for level in (0.05, 0.5, 0.95)]
    low, middle, high = (date.fromordinal(int(begun[place])) for place in places)
    return Since(date=middle, p05=low, p95=high)


def _split(weighed: _Weighed, step: Step, ask: Ask) -> int:
    """Index in the log of the first tank of "now"."""
    count = len(weighed.log.days)
    if step.since is None and ask.since is None:
        return max(count - TANKS_NOW, prior.LEAST_BEFORE)
    if step.since is None and ask.since is not None:
        first = int((weighed.log.end_day <= ask.since.toordinal()).sum())
        return min(max(first, prior.LEAST_BEFORE), count - prior.LEAST_AFTER)
    dates = _by_date(weighed.posterior.weight[0].sum(axis=0))
    return int(weighed.starts.first[int(dates.argmax())]) + weighed.offset


def _step_column(weighed: _Weighed, first: int) -> Floats:
    place = np.arange(weighed.model.batch.valid.shape[1])
    return (place >= first - weighed.offset).astype(np.float64)


def _percent(log: float | Floats) -> float:
    return float(100.0 * np.expm1(min(float(log), 5.0)))


def _to_be_sure(step: Step, ahead: Ahead) -> int | None:
    if step.probability >= SURE:
        return 0
    rise = USUAL_CLAIM_LOG
    if step.increase_pct is not None and step.increase_pct.p50 > 100.0 * LEAST_REAL_LOG:
        rise = float(np.log1p(step.increase_pct.p50 / 100.0))
    return ahead.tanks_until(rise)


def _came_back(tanks: TankArrays, ask: Ask) -> CameBack | None:
    if ask.work_done is None:
        return None
    return came_back_of(returned(tanks, float(ask.work_done.toordinal()), ask.season))


def _more_words(more: tuple[More, ...]) -> str:
    ahead = {each.tanks: each.detectable_pct for each in more}
    return f"Five more tanks would show a rise of {ahead[5]:.0f} % or more, ten of {ahead[10]:.0f} %, 4 times in 5."


def _also(step: Step, ask: Ask) -> tuple[str, ...]:
    lines: tuple[str, ...] = QUESTIONS if step.says in {"vehicle", "either"} else ()
    if ask.work_done is not None and step.any_rise < LIKELY:
        lines += (NO_RISE_BEFORE,)
    return lines


def _trust(log: FillLog) -> tuple[NotEnough, ...]:
    left_out = len(log.rejected) / max(log.rows, 1)
    if left_out <= TRUST_SHARE:
        return ()
    missing = f"{len(log.rejected)} of {log.rows} rows were left out, more than one in ten"
    return (NotEnough("many_rows_left_out", missing, "the rows mended or confirmed; until then trust this less"),)


def _few(tanks: TankArrays) -> tuple[NotEnough, ...]:
    span = float(tanks.end_day[-1] - tanks.end_day[0])
    if span >= 365.0:
        return ()
    missing = "less than a year of fills: the season is mostly taken from experience, not from this log"
    return (NotEnough("less_than_a_year", missing, "a full year of fills, or outside temperatures"),)


def _too_few(log: FillLog, tanks: TankArrays, before: TankArrays) -> FillVerdict:
    count = len(before.days)
    pooled = pooled_l_per_100km(before, np.ones(count, dtype=np.bool_)) if count else None
    width = 100.0 * receipts_log_sd(count + 1) * 1.645 if count else None
    missing = f"{count} tanks before the question; a verdict needs at least {LEAST_TANKS}"
    told = f" What there is pools to within about {width:.0f} %." if width else ""
    step = Step(0.0, 0.0, 0.0, 0.0, 0.0, None, None, "not enough")
    return FillVerdict(
        tanks=log.rows,
        usable=len(tanks.days),
        rejected=log.rejected,
        repaired=log.repaired,
        columns=log.columns,
        before_l_per_100km=pooled,
        after_l_per_100km=None,
        step=step,
        season_pct_per_10c=None,
        scatter_pct=None,
        detectable_pct_with_5_more_tanks=None,
        tanks_to_be_sure=None,
        came_back=None,
        not_enough=(NotEnough("too_few_tanks", missing, f"{LEAST_TANKS - count} more full tanks"), *_trust(log)),
        sentence=sentence_of(step, more=f"{missing}.{told}"),
    )
