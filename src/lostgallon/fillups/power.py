"""What N more tanks could show: the smallest rise that would be seen 4 times in 5.

N typical tanks are added to the design and the information `a` about a step is read off after each of them; then
z^2 r/2 - ln(1 + w^2 a)/2 = ln(p/(1-p)) + ln(m/3) - ln .75 is solved for z, with w = .10, r = w^2 a/(1 + w^2 a), p = .70
and m candidate dates, and the answer is (z + .84)/sqrt(a). A rule of thumb checked by simulation: it is optimistic
at N = 3.
"""

from dataclasses import dataclass, replace

import numpy as np

from lostgallon.fillups import prior
from lostgallon.fillups.posterior import model_of
from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fillups.scatter import whiten
from lostgallon.fillups.tanks import TankArrays, stack
from lostgallon.shop.spread import Floats

MOST_AHEAD = 60
FOUR_IN_FIVE = 0.8416
"""80 % point of the standard normal."""


@dataclass(frozen=True)
class Ahead:
    """Smallest rise (a log) seen 4 times in 5 with 0, 1, ... 60 more tanks, shape (61,)."""

    detectable_log: Floats

    def tanks_until(self, rise_log: float) -> int | None:
        """Fewest more tanks that would show such a rise; None beyond 60."""
        enough = np.nonzero(self.detectable_log <= rise_log)[0]
        return int(enough[0]) if len(enough) else None


def look_ahead(log: TankArrays, season: SeasonPrior, *, grid: Floats, first: int | None) -> Ahead:
    """What more tanks could show of a step.

    Args:
        log: The log.
        season: Priors of the season.
        grid: Weight of each (split, scale); the likeliest counts.
        first: Index of the first tank of the step; None for a step that begins with the next tank.
    """
    count = len(log.days)
    model = model_of(stack([extended(log)], most=prior.HISTORY_TANKS + MOST_AHEAD), season)
    length = model.batch.valid.shape[1]
    split, scale = np.unravel_index(int(grid.argmax()), grid.shape)
    begins = length - MOST_AHEAD - (0 if first is None else count - first)
    step = (np.arange(length) >= begins).astype(np.float64)[None, None]
    columns = np.concatenate([step, np.swapaxes(model.columns.values, 1, 2)], axis=1)
    white = whiten(model.whitener, columns)[0, split]
    white[1:] *= model.columns.sd[0][:, None]
    squares = np.cumsum(white[:, None, :] * white[None, :, :], axis=-1)[..., -MOST_AHEAD - 1 :]
    squares = np.moveaxis(squares, 2, 0) / prior.SCALES[scale] ** 2
    others = squares[:, 1:, 1:] + np.eye(squares.shape[1] - 1)
    taken = np.linalg.solve(others, squares[:, 1:, :1])
    information = np.maximum(squares[:, 0, 0] - (squares[:, :1, 1:] @ taken)[:, 0, 0], 1e-9)
    return Ahead(detectable(information, dates=min(count, prior.CANDIDATE_TANKS)))


def detectable(information: Floats, *, dates: int) -> Floats:
    """Smallest rise (a log) that raises the alarm 4 times in 5.

    Args:
        information: Of the step's size (one over its variance), any shape.
        dates: Number of candidate dates.
    """
    spread = prior.VEHICLE_SD**2 * information
    ratio = spread / (1.0 + spread)
    needed = np.log(prior.ALARM / (1.0 - prior.ALARM)) + np.log(max(dates, 3) / 3.0) - np.log(prior.STEP_SHARE)
    score = np.sqrt(np.maximum(2.0 * (needed + 0.5 * np.log1p(spread)) / ratio, 0.0))
    return np.asarray((score + FOUR_IN_FIVE) / np.sqrt(information))


def extended(log: TankArrays) -> TankArrays:
    """The log with 60 typical tanks behind it, at its usual pace, filled at its usual use."""
    more = MOST_AHEAD
    typical = {name: float(np.median(getattr(log, name)[-40:])) for name in ("days", "distance_km")}
    days = max(typical["days"], 1.0)
    use = float(np.median(log.volume_l / log.distance_km))
    ends = log.end_day[-1] + days * np.arange(1, more + 1)
    filler = {
        "end_day": ends,
        "days": np.full(more, days),
        "distance_km": np.full(more, typical["distance_km"]),
        "volume_l": np.full(more, use * typical["distance_km"]),
        "chained": np.ones(more, dtype=np.bool_),
        "variance_times": np.ones(more),
        "ambient_c": np.full(more, np.nan),
        "ethanol_share": np.full(more, np.nan),
    }
    longer = replace(log, **{name: np.concatenate([getattr(log, name), tail]) for name, tail in filler.items()})
    if not np.isfinite(log.ambient_c).all():
        return longer
    angle = 2.0 * np.pi * (longer.end_day - log.end_day[0]) / 365.25
    waves = np.column_stack([np.ones_like(angle), np.cos(angle), np.sin(angle)])
    shown = waves[: len(log.days)]
    ridge = shown.T @ shown + np.diag([0.0, 1.0, 1.0])
    guess = waves[len(log.days) :] @ np.linalg.solve(ridge, shown.T @ log.ambient_c)
    return replace(longer, ambient_c=np.concatenate([log.ambient_c, guess]))
