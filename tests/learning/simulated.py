"""Shops with a known truth, drawn from the model's own widths: how often causes are there, what corrections bring back."""

from dataclasses import dataclass

import numpy as np

from lostgallon.causes.catalogue import catalogue
from lostgallon.causes.facts import BANDS
from lostgallon.learning.shrinkage import BODY_SD, EXPERT_SHARE_SD, SHOP_SD, chance_of, logit, width_of_range
from lostgallon.learning.sums import VISIT_SD
from lostgallon.shop.learned import Brought, Looked, Outcome, ReadAs

CAT = catalogue()
SCALE = CAT.number["prior_odds_scale"]
CAUSES = [cause for cause in CAT.causes if cause.prior_new is not None]
KM = (50_000.0, 140_000.0, 260_000.0)
LOOKED_SHARE = 0.5


@dataclass(frozen=True)
class Shop:
    """What is true in one shop: chances (causes, bands), and the share that one correction brings back by body."""

    chance: np.ndarray
    share: float
    body_shift: dict[str, float]
    found_rate: float
    alarm_rate: float


def expert_chances():
    told = np.array([[getattr(cause.prior_new, band) for band in BANDS] for cause in CAUSES])
    return chance_of(logit(told) + np.log(SCALE))


def draw_shop(rng, *, operation, reading, cause, off=1.0):
    """A shop; `off` stretches how far it lies from the expert."""
    width = np.array([width_of_range(*each.prior_new.range) for each in CAUSES])
    shift = off * (SHOP_SD * rng.normal() + width * rng.normal(size=len(CAUSES)))
    ends = dict(reading.finds)[cause]
    return Shop(
        chance=chance_of(logit(expert_chances()) + shift[:, None]),
        share=CAT.operation[operation].cures_share.share + EXPERT_SHARE_SD * rng.normal(),
        body_shift={body: BODY_SD * rng.normal() for body in ("wagon", "pickup")},
        found_rate=_beta(ends, rng),
        alarm_rate=_beta(reading.false_alarm, rng),
    )


def _beta(ends, rng):
    low, typical, high = ends
    sd = (high - low) / (2 * 1.6449)
    size = max(typical * (1 - typical) / sd**2 - 1, 2)
    return float(rng.beta(typical * size, (1 - typical) * size))


def draw_visit(rng, shop, *, operation, check, reading, cause):
    """One sealed visit: which causes were looked at and there, one proven correction, one reading."""
    band = int(rng.integers(len(BANDS)))
    body = str(rng.choice(list(shop.body_shift)))
    looked = np.nonzero(rng.random(len(CAUSES)) < LOOKED_SHARE)[0]
    there = rng.random(len(looked)) < shop.chance[looked, band]
    causes = [Looked(CAUSES[place].id, float(found)) for place, found in zip(looked, there, strict=True)]
    error = float(rng.uniform(0.1, 0.4))
    share = shop.share + shop.body_shift[body] + VISIT_SD * rng.normal() + error * rng.normal()
    truth = next((each.there for each in causes if each.cause == cause), 0.0)
    positive = bool(rng.random() < (shop.found_rate if truth else shop.alarm_rate))
    return Outcome(
        body=body,
        odometer_km=KM[band],
        looked=tuple(causes),
        readings=(ReadAs(check, reading.id, positive),),
        brought=(Brought(operation, share, error),),
    )
