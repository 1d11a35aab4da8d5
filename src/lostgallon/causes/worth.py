"""What each check is worth now: what it lets us act on and what it explains, kept apart, and whether it fits.

Myopic value of information (docs/account.md; Heckerman, Breese, Rommelse, 1995, CACM 38(3)).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.prospects import Prospects, prospects_of
from lostgallon.causes.records import Cause, Check, Operation
from lostgallon.causes.weighing import Weighing
from lostgallon.shop.account import CheckWorth, LeadsTo, Perishes, Stop
from lostgallon.shop.spread import Floats
from lostgallon.shop.visit import Case

BASELINE = "ask_baseline"
PROMISED_SHARE = 0.85  # of what a correction should save, to stay on the careful side; chosen
WRONG_PART_MONEY = 60.0  # trouble of a correction that was not needed; chosen
EXPLAINS_SHARE = 0.5  # of a year's fuel, for each share of it that becomes explained; chosen
PERISHABLE_FACTOR = 1.5  # of a check whose evidence is about to vanish; chosen
LEAST_MONEY_A_MINUTE = 0.15  # even minutes the owner has agreed to are not for nothing; chosen
BUNDLE = 3  # how many causes a check is said to tell, and how many corrections it may lead to
LEAST_GAIN_MONEY = 0.5  # of a correction that a check may lead to, to be named; chosen


@dataclass(frozen=True)
class Reach:
    """What it takes to get to a check as the vehicle stands.

    `minutes` of opening and closing beside its own; `blocked_by` names of what is in its way now; `impossible` the
    reason it can't be made any more; `minutes_left` of evidence that is vanishing.
    """

    minutes: float = 0.0
    blocked_by: tuple[str, ...] = ()
    impossible: str = ""
    minutes_left: float | None = None


def closed_vehicle(_check: Check) -> Reach:
    """Nothing open, nothing in the way, and no minutes to reach anything."""
    return Reach()


def worth_of_checks(
    weighing: Weighing,
    case: Case,
    catalogue: Catalogue,
    *,
    stop: Stop | None = None,
    reach: Callable[[Check], Reach] = closed_vehicle,
    prospects: Prospects | None = None,
) -> tuple[CheckWorth, ...]:
    """Checks worth making, best first; the question about the figures before all others.

    Args:
        weighing: The weighing as it stands.
        case: The case: what was done, what the owner agreed to spend, the shop's price.
        catalogue: The catalogue.
        stop: A safety stop that stands: then only the look that clears it is listed, and nothing is priced.
        reach: How a check is reached as the vehicle stands (plan/reach.py).
        prospects: What the open checks could say, where that is worked out already.
    """
    if stop is not None:
        return _clearing(stop, catalogue, reach)
    prospects = prospects or prospects_of(weighing, open_checks(case, catalogue), gone=gone_by_now(case, catalogue))
    return ranked(weighing, case, catalogue, prospects=prospects, reach=reach)


def gone_by_now(case: Case, catalogue: Catalogue) -> frozenset[str]:
    """Causes that the work done on this visit has removed: no look made from now on sees them."""
    return frozenset(cause.id for cause in catalogue.causes if case.done(cause.operation))


def open_checks(case: Case, catalogue: Catalogue) -> tuple[Check, ...]:
    """Checks that were not made yet and were not ruled out or skipped by the technician."""
    done = {finding.check for finding in case.findings if finding.result != "not looked at"}
    return tuple(
        check for check in catalogue.checks if check.id not in done and check.wait_minutes < 600.0 and not check.always
    )


def ranked(
    weighing: Weighing,
    case: Case,
    catalogue: Catalogue,
    *,
    prospects: Prospects,
    reach: Callable[[Check], Reach],
) -> tuple[CheckWorth, ...]:
    """Checks with their worth, best first.

    Args:
        weighing: The weighing as it stands.
        case: The case.
        catalogue: The catalogue.
        prospects: From prospects_of.
        reach: How a check is reached.
    """
    scales = _scales(weighing, case, catalogue, prospects)
    listed = list(prospects.of.values())
    if not listed:
        return ()
    rows = [
        _row(prospect.check, beliefs, scales, catalogue=catalogue, reach=reach(prospect.check))
        for prospect, beliefs in zip(listed, scales.beliefs(prospects), strict=True)
    ]
    rows.sort(key=lambda row: (row[0].check != BASELINE, not row[0].fits, -row[1], row[0].check))
    return tuple(row for row, _ in rows)


@dataclass(frozen=True)
class _Scales:
    """What a belief is worth in every story: `payoff` of correcting and `share` of fuel, shape (draws, causes)."""

    causes: tuple[Cause, ...]
    payoff: Floats
    share: Floats
    fuel_money: float
    minute_money: float
    minutes_left: float | None

    def beliefs(self, prospects: Prospects) -> list["_Beliefs"]:
        """Beliefs after each outcome of every check, in one matrix product."""
        columns = np.concatenate([self.payoff, self.share, self.share**2], axis=1)
        found = []
        for name, sums in prospects.sums(columns).items():
            there = prospects.there_sums[name]
            payoff, share, square, there = (each / len(columns) for each in (*np.split(sums, 3, axis=1), there))
            found.append(_Beliefs(payoff, share, square, there, prospects.of[name].chance))
        return found


@dataclass(frozen=True)
class _Beliefs:
    """Sums over stories by outcome, shape (outcomes, causes), and the chance of each outcome, shape (outcomes,)."""

    payoff: Floats
    share: Floats
    square: Floats
    there: Floats
    chance: Floats

    def acts(self) -> float:
        """Expected gain of the best corrections after a check over those before it, in money."""
        after = np.maximum(self.payoff, 0.0).sum()
        before = np.maximum(self.payoff.sum(axis=0), 0.0).sum()
        return float(max(0.0, after - before))

    def leads_to(self, causes: Sequence[Cause]) -> tuple[LeadsTo, ...]:
        """The corrections that the gain of `acts` mostly comes from, largest first."""
        gain = np.maximum(self.payoff, 0.0).sum(axis=0) - np.maximum(self.payoff.sum(axis=0), 0.0)
        chance = ((self.payoff > 0.0) * self.chance[:, None]).sum(axis=0) / self.chance.sum()
        most = np.argsort(-gain, kind="stable")[:BUNDLE]
        return tuple(
            LeadsTo(causes[n].id, float(chance[n]), float(gain[n])) for n in most if gain[n] >= LEAST_GAIN_MONEY
        )

    def explains(self, fuel_money: float) -> float:
        """Money for the expected fall of the summed standard deviation of the entries, as shares of fuel."""
        before = self._deviations(self.share.sum(axis=0), self.square.sum(axis=0), self.chance.sum())
        after = self._deviations(self.share, self.square, self.chance[:, None])
        return float(max(0.0, EXPLAINS_SHARE * fuel_money * (before.sum() - after.sum())))

    @staticmethod
    def _deviations(share: Floats, square: Floats, chance: Floats) -> Floats:
        """Standard deviations times the chance of the outcome: sqrt(n sum x2 - (sum x)2)."""
        spread: Floats = np.sqrt(np.maximum(square * chance - share**2, 0.0))
        return spread

    def tells(self, causes: Sequence[Cause]) -> tuple[str, ...]:
        """The causes whose presence a check moves most."""
        before = self.there.sum(axis=0) / self.chance.sum()
        moved = np.abs(self.there - before * self.chance[:, None]).sum(axis=0) / self.chance.sum()
        most = np.argsort(-moved, kind="stable")[:BUNDLE]
        return tuple(causes[n].id for n in most if moved[n] > 0.003)


def yearly_fuel_money(weighing: Weighing, case: Case) -> float:
    """What the owner's fuel costs a year at the use of now."""
    liters = float(weighing.now_l_per_100km.mean()) / 100.0 * case.use.distance_per_year_km
    return liters * case.use.fuel_price_per_l


def _scales(weighing: Weighing, case: Case, catalogue: Catalogue, prospects: Prospects) -> _Scales:
    index = prospects.index
    there = prospects.there
    share = weighing.entries_l_per_100km[index] / weighing.now_l_per_100km[index][:, None]
    fuel = yearly_fuel_money(weighing, case)
    gain = _gain(weighing.log_effect[index], weighing.causes, catalogue, money=fuel * case.shop.horizon_years)
    cost = np.array([_price(cause, catalogue, case) for cause in weighing.causes])
    payoff = there * (gain - cost) - (1.0 - there) * (cost + WRONG_PART_MONEY)
    payoff[:, [not _correctable(cause, catalogue, case) for cause in weighing.causes]] = 0.0
    return _Scales(
        causes=weighing.causes,
        payoff=payoff,
        share=share,
        fuel_money=fuel,
        minute_money=case.shop.labor_rate_per_h / 60.0,
        minutes_left=looking_minutes_left(case, catalogue),
    )


def _correctable(cause: Cause, catalogue: Catalogue, case: Case) -> bool:
    """Whether work on it is still to be decided: there is some that cures it, and it was not done yet."""
    return case.done(cause.operation) is None and catalogue.operation[cause.operation].cures_share.share > 0.0


def _gain(log_effect: Floats, causes: Sequence[Cause], catalogue: Catalogue, *, money: float) -> Floats:
    cured = np.array([catalogue.operation[cause.operation].cures_share.share for cause in causes])
    harm = np.array([cause.harm_if_left_money.typical for cause in causes])
    saved: Floats = PROMISED_SHARE * cured * money * -np.expm1(-np.maximum(log_effect, 0.0)) + harm
    return saved


def _price(cause: Cause, catalogue: Catalogue, case: Case) -> float:
    work = catalogue.operation[cause.operation]
    minutes = _minutes_now(work, set(case.booked.apart))
    return minutes / 60.0 * case.shop.labor_rate_per_h + work.parts_money.likely


def _minutes_now(work: Operation, apart: set[str]) -> float:
    return min([work.minutes_alone, *(minutes for state, minutes in work.minutes_open if state in apart)])


def looking_minutes_left(case: Case, catalogue: Catalogue) -> float | None:
    """What is left of the owner's looking limit after the looks already made; None where none was agreed.

    The tighter of the agreed minutes and the agreed money at the shop's rate. Questions are not counted.
    """
    limits = [case.booked.looking_minutes]
    if case.booked.looking_money is not None:
        limits.append(case.booked.looking_money / case.shop.labor_rate_per_h * 60.0)
    agreed = [limit for limit in limits if limit is not None]
    if not agreed:
        return None
    made = {finding.check for finding in case.findings if finding.result not in ("not looked at", "skipped")}
    used = sum(catalogue.check[name].minutes for name in made if catalogue.check[name].form != "question")
    return max(0.0, min(agreed) - used)


def _row(
    check: Check, beliefs: _Beliefs, scales: _Scales, *, catalogue: Catalogue, reach: Reach
) -> tuple[CheckWorth, float]:
    minutes = check.minutes + reach.minutes
    acts, explains = beliefs.acts(), beliefs.explains(scales.fuel_money)
    agreed = scales.minutes_left or 0.0
    price = LEAST_MONEY_A_MINUTE * minutes + scales.minute_money * max(0.0, minutes - agreed)
    pays = acts + explains > price or check.form == "question"
    in_time = scales.minutes_left is None or check.form == "question" or minutes <= scales.minutes_left
    possible = not reach.impossible and not reach.blocked_by
    perishes = _perishes(check, reach)
    rate = (acts + explains) / max(minutes, 0.5) * (PERISHABLE_FACTOR if perishes else 1.0)
    row = CheckWorth(
        check=check.id,
        name=check.name,
        minutes=minutes,
        acts_money=acts,
        explains_money=explains,
        tells=beliefs.tells(scales.causes),
        needs=check.needs,
        perishes=perishes,
        fits=possible and pays and in_time,
        why=_why(check, reach, catalogue, pays=pays, in_time=in_time),
        cautions=catalogue.cautions_for(check.cautions, states=check.needs),
        leads_to=beliefs.leads_to(scales.causes),
    )
    return row, rate


def _perishes(check: Check, reach: Reach) -> Perishes | None:
    if check.perishes is None or reach.impossible:
        return None
    left = reach.minutes_left if reach.minutes_left is not None else check.perishes.minutes
    return Perishes(check.perishes.state, left)


def _why(check: Check, reach: Reach, catalogue: Catalogue, *, pays: bool, in_time: bool) -> str:
    if check.id == BASELINE:
        return "everything else rests on how the two figures were measured"
    if reach.impossible:
        return f"no longer possible: {reach.impossible}"
    if reach.blocked_by:
        names = " and ".join(catalogue.state[name].name for name in reach.blocked_by)
        return f"not now: {names}"
    if not pays:
        return "earns less than the minutes cost"
    if not in_time:
        return "beyond what the owner agreed to spend on looking"
    if check.perishes:
        return f"only while it lasts: {catalogue.state[check.perishes.state].name}"
    return "open anyway" if check.needs and not reach.minutes else ""


def _clearing(stop: Stop, catalogue: Catalogue, reach: Callable[[Check], Reach]) -> tuple[CheckWorth, ...]:
    check = catalogue.check.get(stop.cleared_by)
    if check is None:
        return ()
    way = reach(check)
    return (
        CheckWorth(
            check=check.id,
            name=check.name,
            minutes=check.minutes + way.minutes,
            acts_money=0.0,
            explains_money=0.0,
            tells=(),
            needs=check.needs,
            perishes=None,
            fits=not way.impossible,
            why="the look that can clear the stop",
            cautions=catalogue.cautions_for(check.cautions, states=check.needs),
        ),
    )
