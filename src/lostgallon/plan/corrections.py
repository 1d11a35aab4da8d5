"""Every correction worth a word: its two prices, what it saves this owner, and the rule's answer before the clock."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.records import Cause, Money, Operation
from lostgallon.plan.access import Standing, standing_at
from lostgallon.plan.advice import MENTIONED, Answer, Grounds, judge
from lostgallon.plan.belief import Belief
from lostgallon.plan.money import (
    Price,
    months_to_pay_back,
    parts_spread,
    price_of,
    saved_l_per_100km,
    saved_l_per_year,
    weather_by_month,
    worth_of,
)
from lostgallon.plan.tasks import FREE_MINUTES, FREE_MONEY, spoiled_by
from lostgallon.plan.ways import Way, minutes_alone, minutes_now, way_now
from lostgallon.shop.spread import Bools, Floats, Spread, spread_of
from lostgallon.shop.visit import Case

NO_CORRECTION = frozenset({"explain", "owner_log"})
FREE_WORTH_MONEY = 25.0
"""What such a correction counts for in the plan: decided and free comes before another look; chosen."""
LONGEST_PAYBACK_MONTHS = 600.0
"""Fifty years: from here on it never pays back."""
LONGEST_VISIT_MINUTES = 240.0
"""Work longer than this is not added to another job; chosen."""
LEAST_DRAWS = 40
"""Draws in which a cause is there before a payback is said; chosen."""
TRUSTED_BELOW = 0.5
"""From this probability of a fault that spoils a reading on, what that reading shows is read again; chosen."""
NOTHING = Spread(0.0, 0.0, 0.0, 0.0)
NeedOf = Callable[[Operation, str], str]


@dataclass(frozen=True)
class Considered:
    """A correction under consideration.

    Attributes:
        operation: The work.
        cause: The cause it removes.
        there: Probability that the cause is present, new or old.
        present: Draws in which it is, shape (draws,).
        way: The cheapest way to it as the vehicle stands.
        now: Price as the vehicle stands.
        alone: Price on a visit of its own.
        per_100km: Fuel per distance saved at today's weather, 0 where the cause is not there, shape (draws,), L/100 km.
        weather: How strongly it acts in each month, shape (12,).
        yearly_l: Liters saved in a year, shape (draws,).
        worth_money: Expected worth over the horizon less today's price and the risk of a wrong part.
        answer: The rule's answer before the clock.
        only_while: The price of fuel on which the saving depends, in words; empty where it does not.
    """

    operation: Operation
    cause: Cause
    there: float
    present: Bools
    way: Way
    now: Price
    alone: Price
    per_100km: Floats
    weather: Floats
    yearly_l: Floats
    worth_money: float
    answer: Answer
    only_while: str = ""

    @property
    def done(self) -> bool:
        """Whether it was done on this visit."""
        return self.answer.verdict == "done"

    @property
    def booked(self) -> bool:
        """Whether the booked job does it anyway."""
        return self.answer.verdict == "booked"

    @property
    def plan_money(self) -> float:
        """What it counts for in the plan: its worth; an adjustment that costs next to nothing always a little."""
        return max(self.worth_money, FREE_WORTH_MONEY) if is_free(self.now) else self.worth_money


def is_free(price: Price) -> bool:
    """Whether work is an adjustment or a word of advice."""
    return price.minutes <= FREE_MINUTES and price.parts.p50 <= FREE_MONEY


def considered(
    case: Case, belief: Belief, catalogue: Catalogue, *, standing: Standing, need: NeedOf
) -> tuple[Considered, ...]:
    """The corrections that are likely enough, or shown by a finding, to be spoken about; likeliest first.

    Args:
        case: The case.
        belief: The weighing.
        catalogue: The catalogue.
        standing: How the vehicle stands.
        need: Gives the recorded need of an operation for a cause in words (plan/need.py).
    """
    found: list[Considered] = []
    for index, cause in enumerate(belief.causes):
        operation = catalogue.operation[cause.operation]
        if operation.id in NO_CORRECTION:
            continue
        shown, done = need(operation, cause.id), case.done(operation.id)
        if belief.presence[index] + belief.already_there[index] >= MENTIONED or shown or done:
            then = standing_at(case, catalogue.state, done.at) if done else standing
            found.append(_consider(case, belief, index, standing=then, catalogue=catalogue, shown=shown))
    found.sort(key=lambda each: (-each.there, each.operation.id))
    return _read_after_restored(found, case)


def _consider(
    case: Case, belief: Belief, index: int, *, standing: Standing, catalogue: Catalogue, shown: str
) -> Considered:
    cause = belief.causes[index]
    operation, states = catalogue.operation[cause.operation], catalogue.state
    booked = is_booked(operation, case)
    parts = parts_spread(operation.parts_money)
    charged = not operation.at_hand_over
    alone = price_of(minutes_alone(operation, states), parts, shop=case.shop, charged=charged)
    minutes = minutes_now(operation, states, standing=standing)
    price = (
        price_of(0.0, NOTHING, shop=case.shop) if booked else price_of(minutes, parts, shop=case.shop, charged=charged)
    )
    present = belief.new[:, index] | belief.old[:, index]
    per_100km = saved_l_per_100km(
        belief.now_l_per_100km,
        belief.log_effect[:, index],
        present=present,
        cures_share=0.0 if cause.paper else operation.cures_share.share,
    )
    weather = weather_by_month(case, cause.condition)
    yearly_l = saved_l_per_year(case, per_100km, weather)
    yearly_money = yearly_l * case.use.fuel_price_per_l
    worth = worth_of(
        yearly_money,
        present,
        price=price.total,
        harm_if_left=_mean(cause.harm_if_left_money),
        horizon_years=case.shop.horizon_years,
    )
    grounds = Grounds(
        there=float(belief.presence[index] + belief.already_there[index]),
        old=float(belief.already_there[index]),
        need=shown,
        confirm=tuple(catalogue.check[check].name for check in operation.confirmed_by),
        expected_worth=worth.expected,
        worth_if_there=worth.if_there,
        fuel_pays=case.shop.horizon_years * float(np.mean(yearly_money)) >= price.total,
        saves_fuel=not cause.paper,
        free=is_free(price),
        other_grounds=operation.other_grounds,
        alone_only="longer than this visit can take in" if minutes > LONGEST_VISIT_MINUTES else "",
        booked=booked,
        done=case.done(operation.id) is not None,
    )
    return Considered(
        operation=operation,
        cause=cause,
        there=grounds.there,
        present=present,
        way=way_now(operation, states, standing=standing),
        now=price,
        alone=alone,
        per_100km=per_100km,
        weather=weather,
        yearly_l=yearly_l,
        worth_money=worth.expected,
        answer=judge(grounds),
        only_while=dearest_fuel(per_100km / belief.now_l_per_100km) if operation.dearer_fuel else "",
    )


def is_booked(operation: Operation, case: Case) -> bool:
    """Whether the booked job is this work itself, by the words it was booked with."""
    booked = case.booked.operation.lower()
    return any(words in booked for words in operation.booked_as)


def _mean(money: Money) -> float:
    return (money.low + 4.0 * money.typical + money.high) / 6.0


def _read_after_restored(found: Iterable[Considered], case: Case) -> tuple[Considered, ...]:
    """What is judged by a reading that a likely fault spoils waits for that correction and a new reading."""
    listed = tuple(found)
    return tuple(_after_what_spoils(each, listed, case) for each in listed)


def _after_what_spoils(each: Considered, found: Iterable[Considered], case: Case) -> Considered:
    read_since = {work for look in case.findings if look.check in each.operation.confirmed_by for work in look.after}
    spoiling = [
        other
        for other in found
        if other is not each
        and other.there >= TRUSTED_BELOW
        and each.cause.condition in spoiled_by(other.operation)
        and other.operation.id not in read_since
    ]
    if each.answer.verdict != "qualifies" or not spoiling:
        return each
    first = spoiling[0].operation.name
    because = f"{each.answer.because}; but that reading can't be trusted before this is done: {first}"
    return replace(each, answer=Answer("wait", f"after this, and a new reading: {first}", because))


def payback_months(each: Considered, case: Case) -> Spread | None:
    """Months until the fuel has paid today's price, over the draws in which the cause is there.

    By this owner's yearly distance, the months' shares of it, the weather and the fuel price. None where it saves
    nothing worth the name, or where the cause is there in too few draws, or where the price of fuel decides
    (only_while); fifty years stand for never.
    """
    saving = each.present & (each.per_100km > 0.0)
    if each.operation.dearer_fuel or np.count_nonzero(saving) < LEAST_DRAWS or not each.weather.any():
        return None
    money = case.use.distance_per_year_km / 100.0 * each.per_100km[saving] * case.use.fuel_price_per_l
    months = months_to_pay_back(
        each.now.total, money_per_share=money, month=case.visit.date.month, weather=each.weather
    )
    if np.median(months) >= LONGEST_PAYBACK_MONTHS:
        return None
    return spread_of(np.minimum(months, LONGEST_PAYBACK_MONTHS))


def dearest_fuel(saved_share: Floats) -> str:
    """Up to which price a dearer fuel pays for itself, in words; empty where it saves in too few draws to say.

    With the share s of the fuel saved, the rest at a price higher by x costs the same where (1 - s)(1 + x) = 1.

    Args:
        saved_share: Share of the fuel saved, 0 where the cause is not there, shape (draws,).
    """
    share = saved_share[saved_share > 0.0]
    if share.size < LEAST_DRAWS:
        return ""
    dearer = spread_of(100.0 * share / (1.0 - share))
    ends = f"likely {dearer.p05:.0f} to {dearer.p95:.0f} %"
    return f"the right grade costs no more than about {dearer.p50:.0f} % more by volume, {ends}"
