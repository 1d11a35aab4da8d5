"""Sufficient statistics: sums over visits, under plain names. Sums of shops add; nothing of a visit is left in them.

cause/ID/BAND/looked, cause/ID/BAND/there                 visits in which it was looked at, in which it was there
correction/ID/BODY/times, .../weight, .../share           corrections proven, sum of precision, of precision x share
reading/CHECK/ID/sound, .../sound_positive                looks at a vehicle without its causes, positive ones
reading/CHECK/ID/CAUSE/there, .../there_positive          looks at a vehicle with that cause, positive ones
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.facts import band_of
from lostgallon.shop.learned import Outcome

VISIT_SD = 0.25
"""How much the share that one correction brings back differs from visit to visit. Chosen, no source."""
LEAST_WEIGHT = 0.02


@dataclass(frozen=True)
class Sums:
    """Statistics of so many visits of so many shops."""

    visits: float = 0.0
    shops: int = 1
    of: Mapping[str, float] = field(default_factory=dict)

    def __getitem__(self, name: str) -> float:
        """A sum; zero where nothing was added."""
        return self.of.get(name, 0.0)


def sums_of(outcomes: Iterable[Outcome], catalogue: Catalogue, *, most: float | None = None) -> Sums:
    """The sums of a shop.

    Args:
        outcomes: Its sealed visits.
        catalogue: For bands of distance and for which causes a reading sees.
        most: What one visit may add in all, so that noise can hide it; None for no limit.
    """
    return added((sums_of_one(outcome, catalogue) for outcome in outcomes), most=most)


def added(each: Iterable[Mapping[str, float]], *, most: float | None = None) -> Sums:
    """The sums of a shop from those of single visits; `most` as for sums_of."""
    total: dict[str, float] = {}
    visits = 0.0
    for one in each:
        size = sum(map(abs, one.values())) + 1.0
        share = 1.0 if most is None else min(1.0, most / size)
        visits += share
        for name, value in one.items():
            total[name] = total.get(name, 0.0) + share * value
    return Sums(visits, 1, total)


def pooled(each: Iterable[Sums]) -> Sums:
    """The sums of several shops together."""
    total: dict[str, float] = {}
    visits, shops = 0.0, 0
    for one in each:
        visits, shops = visits + one.visits, shops + one.shops
        for name, value in one.of.items():
            total[name] = total.get(name, 0.0) + value
    return Sums(visits, max(shops, 1), total)


def sums_of_one(outcome: Outcome, catalogue: Catalogue) -> dict[str, float]:
    """What one sealed visit adds."""
    found: dict[str, float] = {}

    def add(name: str, value: float) -> None:
        found[name] = found.get(name, 0.0) + value

    band = band_of(outcome.odometer_km)
    there = {each.cause: min(max(each.there, 0.0), 1.0) for each in outcome.looked}
    for cause, chance in there.items():
        add(f"cause/{cause}/{band}/looked", 1.0)
        add(f"cause/{cause}/{band}/there", chance)
    for brought in outcome.brought:
        name = f"correction/{brought.operation}/{outcome.body}"
        weight = VISIT_SD**2 / (VISIT_SD**2 + brought.share_sd**2)
        add(f"{name}/times", 1.0)
        add(f"{name}/weight", weight)
        add(f"{name}/share", weight * brought.share)
    for read in outcome.readings:
        seen = {cause: there.get(cause, 0.0) for cause in _seen_by(read.check, read.reading, catalogue)}
        for name, weight in _of_reading(seen):
            add(f"reading/{read.check}/{read.reading}/{name}", weight)
            add(f"reading/{read.check}/{read.reading}/{name}_positive", weight * read.positive)
    return found


def _of_reading(seen: Mapping[str, float]) -> Iterable[tuple[str, float]]:
    """What one look adds: to each cause that it sees by the chance that it was there, else to the sound vehicles."""
    sound = 1.0
    for cause, chance in seen.items():
        sound *= 1.0 - chance
        if chance > LEAST_WEIGHT:
            yield f"{cause}/there", chance
    if sound > LEAST_WEIGHT:
        yield "sound", sound


def _seen_by(check: str, reading: str, catalogue: Catalogue) -> tuple[str, ...]:
    for known in catalogue.check[check].readings:
        if known.id == reading:
            return tuple(cause for cause, _ in known.finds if cause in catalogue.cause)
    return ()
