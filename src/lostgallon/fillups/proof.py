"""Did the fuel come back after the work? Two E-values with the rule stated in advance.

A change of size d from tank tau on, of which the share rho is gone from tank w (the first whole tank after the work)
on, is the column step(tau) - rho step(w). E_back = mean over rho in (.5, .7, .8, 1) of ML(rho) / ML(0);
E_not = mean over (0, .1, .3) of ML(rho) / ML(1). "It came back" is said from E_back = 20 on, "it did not" from
E_not = 20 on, whenever one looks: by Ville's inequality either is wrong at most once in 20 under the model. Nuisance
values are re-estimated at each look, which makes the bound approximate; tests/hard/fillups.py counts. Sources: J.
Ville, Etude critique de la notion de collectif, 1939; G. Shafer, Testing by betting, J. R. Stat. Soc. A 184, 2021.
"""

from dataclasses import dataclass, replace

import numpy as np

from lostgallon.fillups import prior
from lostgallon.fillups.changes import size_prior, starts_of
from lostgallon.fillups.evidence import candidates_of, log_bayes_factor
from lostgallon.fillups.normal import log_sum
from lostgallon.fillups.posterior import model_of
from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fillups.scatter import whiten
from lostgallon.fillups.tanks import TankArrays, stack
from lostgallon.shop.filled import CameBack, CameBackSays
from lostgallon.shop.spread import Floats, Spread

SAID_FROM = 20.0
BACK = (0.5, 0.7, 0.8, 1.0)
NOT_BACK = (0.0, 0.1, 0.3)
SHARE_MEAN, SHARE_SD = 0.5, 0.6
SHARES: Floats = np.round(np.arange(-0.6, 1.6 + 1e-9, 0.1), 10)
HALF = 0.5
RULE = (
    'Stated in advance: we say "it came back" when the fills make that 20 times likelier than "nothing came back", '
    'and "it did not" when the reverse holds, at whatever tank that is; until then it is too early. Either is wrong '
    "at most about 1 time in 20."
)


@dataclass(frozen=True)
class Returned:
    """The two E-values, the posterior of the share that came back (on SHARES), and whole tanks since the work."""

    evidence_back: float
    evidence_not: float
    share_weight: Floats
    tanks_after: int


def first_whole_tank(log: TankArrays, work_day: float) -> int:
    """Index of the first tank that began on or after the day of the work; the number of tanks where none has."""
    began = log.end_day - log.days
    whole = np.nonzero((began >= work_day) & (log.end_day > work_day))[0]
    return int(whole[0]) if len(whole) else len(log.days)


def returned(log: TankArrays, work_day: float, season: SeasonPrior) -> Returned:
    """What the tanks after the work say.

    Args:
        log: The log, ending at the latest fill.
        work_day: Ordinal of the day of the work.
        season: Priors of the season.
    """
    work = first_whole_tank(log, work_day)
    after = len(log.days) - work
    if not after or work < prior.LEAST_BEFORE + prior.LEAST_AFTER:
        return Returned(1.0, 1.0, share_prior(), after)
    log, work = _without_split_tank(log, work, work_day)
    return returned_by(_scores(log, work, season), after)


def returned_by(scores: Floats, after: int) -> Returned:
    """The two E-values of scores on SHARES, and the share's posterior."""
    back, none = _at(scores, BACK), _at(scores, (0.0,))
    staying, gone = _at(scores, NOT_BACK), _at(scores, (1.0,))
    weight = np.exp(scores - scores.max()) * share_prior()
    return Returned(float(np.exp(back - none)), float(np.exp(staying - gone)), weight / weight.sum(), after)


def _without_split_tank(log: TankArrays, work: int, work_day: float) -> tuple[TankArrays, int]:
    """The tank that the work fell into says nothing about either side: it is left out and breaks the chain."""
    split = work - 1
    if log.end_day[split] <= work_day:
        return log, work
    keep = np.arange(len(log.days)) != split
    chained = log.chained.copy()
    chained[work] = False
    log = replace(log, chained=chained)
    held = {name: getattr(log, name)[keep] for name in log.__dataclass_fields__}
    return TankArrays(**held), split


def _scores(log: TankArrays, work: int, season: SeasonPrior) -> Floats:
    """Log marginal likelihood of each share in SHARES, dates and kinds of the change summed out."""
    batch = stack([log])
    dropped = len(log.days) - batch.valid.shape[1]
    work -= dropped
    length = batch.valid.shape[1]
    model = model_of(batch, season)
    before = stack([TankArrays(*(getattr(log, name)[: work + dropped] for name in log.__dataclass_fields__))])
    starts = starts_of(before)
    sizes = size_prior(starts)
    dates = len(starts.first)
    log_weight = sizes.log_weight[0, :, :dates]
    first = starts.first + work - before.valid.shape[1]
    low = int(max(min(first.min(), work), 0))
    place = np.arange(low, length)
    steps = (place[None] >= first[:, None]).astype(np.float64)
    white = whiten(model.whitener, np.concatenate([steps, (place >= work)[None].astype(np.float64)])[None])
    grid = (model.null.log_prior + model.null.log_likelihood)[0]
    scores = []
    for share in SHARES:
        candidate = candidates_of(model.null, white[:, :, :-1] - share * white[:, :, -1:])
        each = [
            log_bayes_factor(candidate, mean=sizes.mean[0, kind, :dates], variance=sizes.variance[0, kind, :dates])[0]
            + log_weight[kind]
            for kind in range(len(log_weight))
        ]
        scores.append(log_sum(np.stack(each) + grid[None, :, :, None]))
    return np.array(scores)


def _at(scores: Floats, shares: tuple[float, ...]) -> float:
    chosen = [int(np.argmin(np.abs(SHARES - share))) for share in shares]
    return float(log_sum(scores[chosen]) - np.log(len(shares)))


def share_prior() -> Floats:
    """What is believed of the share that came back before a fill tells, on SHARES."""
    weight = np.exp(-0.5 * ((SHARES - SHARE_MEAN) / SHARE_SD) ** 2)
    return np.asarray(weight / weight.sum())


def share_spread(returned_share: Returned) -> Spread:
    """The share of the rise that came back, in per cent."""
    weight = returned_share.share_weight
    edges = np.concatenate([[0.0], np.cumsum(weight)])
    half = (SHARES[1] - SHARES[0]) / 2.0
    ends = np.concatenate([[SHARES[0] - half], SHARES + half])
    low, middle, high = np.interp((0.05, 0.5, 0.95), edges, ends)
    return Spread(float(100 * weight @ SHARES), float(100 * low), float(100 * middle), float(100 * high))


def at_least_half(returned_share: Returned) -> float:
    """Probability that half of the rise or more is gone."""
    weight = returned_share.share_weight
    return float(weight[SHARES > HALF + 1e-9].sum() + 0.5 * weight[np.abs(SHARES - HALF) < 1e-9].sum())


def came_back_of(found: Returned) -> CameBack:
    """The verdict that the two E-values earn by the rule."""
    says: CameBackSays = "too early"
    if found.evidence_back >= SAID_FROM > found.evidence_not:
        says = "came back"
    elif found.evidence_not >= SAID_FROM > found.evidence_back:
        says = "did not"
    return CameBack(
        says=says,
        probability=at_least_half(found),
        share_pct=share_spread(found) if found.tanks_after else None,
        evidence_back=found.evidence_back,
        evidence_not=found.evidence_not,
        tanks_after=found.tanks_after,
        rule=RULE,
    )
