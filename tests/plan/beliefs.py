"""Hand-made beliefs: which causes are there, how likely and how large, without any weighing."""

from dataclasses import dataclass

import numpy as np

from lostgallon.causes.catalogue import catalogue
from lostgallon.shop.account import CheckWorth, Perishes

DRAWS = 1000


@dataclass(frozen=True)
class Told:
    """A belief as the plan reads it."""

    causes: tuple
    new: np.ndarray
    old: np.ndarray
    log_effect: np.ndarray
    now_l_per_100km: np.ndarray
    presence: np.ndarray
    already_there: np.ndarray
    real: float


def belief(now_l_per_100km=12.0, real=0.99, *, season_pct=0.0, **there):
    """Every cause as (probability new, probability old, per cent more fuel); the season is always there."""
    causes = catalogue().causes
    shape = (DRAWS, len(causes))
    new, old, effect = np.zeros(shape, bool), np.zeros(shape, bool), np.zeros(shape)
    steps = (np.arange(DRAWS) + 0.5) / DRAWS
    for column, cause in enumerate(causes):
        p_new, p_old, pct = there.get(cause.id, (0.0, 0.0, 1.0))
        new[:, column] = steps < p_new
        old[:, column] = (steps >= p_new) & (steps < p_new + p_old)
        effect[:, column] = np.log1p(pct / 100.0)
        if cause.context == "season":
            new[:, column], effect[:, column] = season_pct != 0.0, np.log1p(season_pct / 100.0)
    return Told(
        causes=causes,
        new=new,
        old=old,
        log_effect=effect,
        now_l_per_100km=np.full(DRAWS, now_l_per_100km),
        presence=new.mean(axis=0),
        already_there=old.mean(axis=0),
        real=real,
    )


def worth(check, acts=10.0, explains=5.0):
    """A check's row with a worth made up."""
    entry = catalogue().check[check]
    perishes = Perishes(entry.perishes.state, entry.perishes.minutes) if entry.perishes else None
    return CheckWorth(
        check=check,
        name=entry.name,
        minutes=entry.minutes,
        acts_money=acts,
        explains_money=explains,
        tells=(),
        needs=entry.needs,
        perishes=perishes,
        fits=True,
        why="",
        cautions=(),
    )
