"""What a correction costs, what it saves this owner in a year, and when it has paid back.

Yearly fuel saved = (distance per year / 100 km) * per_100km * sum over months of share_m * weather_m, where share_m is
the month's share of a year's distance and weather_m how strongly the cause acts in that month against now.
"""

from dataclasses import dataclass

import numpy as np

from lostgallon.causes.records import Parts
from lostgallon.shop.spread import Bools, Floats, Spread
from lostgallon.shop.visit import Case, Shop

MONTHS = 12
# US Energy Information Administration, Residential Transportation Energy Consumption Survey: share of a year's
# vehicle distance by month, January to December. The printed shares add to 1.0002.
_SHARES = (0.0728, 0.0738, 0.0816, 0.0829, 0.0880, 0.0896, 0.0919, 0.0923, 0.0847, 0.0849, 0.0800, 0.0777)
COLDEST_MONTH = 1
HALF_RANGE_K = 11.0
"""Half the range of monthly mean temperatures over a year where the case does not tell; from memory."""
LARGEST_HALF_RANGE_K = 16.0
"""No larger in the inland north of the United States; from memory."""
GOOD_DAYS_MONTHS = 6
"""The good figure is taken to be of the half year up to its date; chosen."""
LEAST_CONTRAST = 0.5
"""How different two months must be in the yearly wave before two temperatures tell its size; chosen."""
TYPICAL_DROP_K = 20.0
"""Plateau below its rating of a thermostat stuck open at the ambient it was found at; from memory."""
COOLANT_DROP = "coolant_drop_k"
WRONG_PART_MONEY = 60.0
"""What an unneeded correction costs beyond its price: trust and the time to explain; chosen."""


def month_shares() -> Floats:
    """Share of a year's distance by month, January first, adding to 1. Shape (12,)."""
    shares = np.array(_SHARES)
    return np.asarray(shares / shares.sum())


def month_ambients_c(case: Case) -> Floats:
    """A year's monthly temperatures as one wave through what the case says of then and now. Shape (12,).

    T_m = mean - half_range cos(2 pi (m - 1) / 12), coldest in January (warmest where the two temperatures say so). The
    good days' temperature is that of the months up to their date. Where those are unknown or too like this month, the
    half range is HALF_RANGE_K.
    """
    wave = np.cos(2.0 * np.pi * (np.arange(1, MONTHS + 1) - COLDEST_MONTH) / MONTHS)
    here = wave[case.visit.date.month - 1]
    half_range = HALF_RANGE_K
    if case.then.until is not None:
        good_days = np.arange(case.then.until.month - GOOD_DAYS_MONTHS, case.then.until.month) % MONTHS
        contrast = here - float(wave[good_days].mean())
        if abs(contrast) >= LEAST_CONTRAST:
            half_range = (case.then.ambient_c - case.now.ambient_c) / contrast
    half_range = float(np.clip(half_range, -LARGEST_HALF_RANGE_K, LARGEST_HALF_RANGE_K))
    return np.asarray(case.now.ambient_c + half_range * (here - wave))


def weather_by_month(case: Case, condition: str | None) -> Floats:
    """How strongly a condition acts in each month against now, January first. Shape (12,).

    Only an open thermostat follows the weather here. With the thermostat open the coolant settles at the ambient plus
    what the engine's heat holds it above (heat balance, constant loss coefficient), so the plateau moves with the
    ambient one for one: drop_m = max(0, drop_now - (T_m - T_now)). Other corrected conditions act all year.
    """
    if condition != COOLANT_DROP:
        return np.ones(MONTHS)
    warmer_k = month_ambients_c(case) - case.now.ambient_c
    return np.asarray(np.maximum(0.0, 1.0 - warmer_k / TYPICAL_DROP_K))


def saved_l_per_100km(now_l_per_100km: Floats, log_effect: Floats, *, present: Bools, cures_share: float) -> Floats:
    """Fuel per distance that removing a cause saves at today's weather.

    Args:
        now_l_per_100km: Fuel use now, shape (draws,).
        log_effect: Log effect of the cause where present, shape (draws,).
        present: Whether it is there in the draw, new or old, shape (draws,).
        cures_share: Share of the cases in which the work cures it.

    Returns:
        now (1 - exp(-a)) times the share, 0 where it is not there; shape (draws,), L/100 km.
    """
    return np.asarray(cures_share * now_l_per_100km * -np.expm1(-log_effect * present))


def saved_l_per_year(case: Case, per_100km: Floats, weather: Floats) -> Floats:
    """Liters a year at this owner's distance: see the head of the module. Shape (draws,)."""
    return np.asarray(case.use.distance_per_year_km / 100.0 * per_100km * float(month_shares() @ weather))


def months_to_pay_back(cost_money: float, *, money_per_share: Floats, month: int, weather: Floats) -> Floats:
    """Months until the fuel saved has paid a cost.

    Args:
        cost_money: What is to be paid back.
        money_per_share: Money that a whole year's distance would save at today's weather, shape (draws,), above zero.
        month: Calendar month of the visit, 1 to 12; saving starts with it.
        weather: From weather_by_month, shape (12,).

    Returns:
        Months, with the fraction of the month in which the sum is reached, shape (draws,). Infinite where nothing is
        ever saved.
    """
    yearly = np.roll(month_shares() * weather, -(month - 1))
    reached = np.concatenate([[0.0], np.cumsum(yearly)])
    if reached[-1] <= 0.0:
        return np.full(np.shape(money_per_share), np.inf)
    pays = np.asarray(money_per_share) > 0.0
    needed = np.divide(cost_money, money_per_share, out=np.zeros(np.shape(pays)), where=pays)
    years = np.floor(needed / reached[-1])
    rest = needed - years * reached[-1]
    # A month in which nothing is saved is skipped: the first month that reaches the rest counts.
    within = np.clip(np.searchsorted(reached, rest, side="left"), 1, MONTHS)
    gain = reached[within] - reached[within - 1]
    part = np.divide(rest - reached[within - 1], gain, out=np.zeros_like(rest), where=gain > 0)
    return np.where(pays, years * MONTHS + within - 1 + part, np.inf)


def parts_spread(parts: Parts) -> Spread:
    """Parts as three points: ends as given, mean by the usual weights 1/6, 2/3, 1/6."""
    return Spread(
        mean=(parts.low + 4.0 * parts.likely + parts.high) / 6.0, p05=parts.low, p50=parts.likely, p95=parts.high
    )


@dataclass(frozen=True)
class Price:
    """What a piece of work costs. `fees` are taxes and the shop's fee; `total` is at the mean price of parts."""

    minutes: float
    parts: Spread
    labor: float
    fees: float

    @property
    def total(self) -> float:
        """Parts at their mean price, labor, taxes and fee."""
        return self.parts.mean + self.labor + self.fees


def price_of(minutes: float, parts: Spread, *, shop: Shop, charged: bool = True) -> Price:
    """The price of some minutes and parts by the shop's settings. Taxes are per law and start at none.

    A word of advice at the hand-over is not `charged`: its minutes cost the owner nothing.
    """
    labor = minutes / 60.0 * shop.labor_rate_per_h * charged
    fee = shop.fee_share_of_labor * labor
    if shop.fee_ceiling_money is not None:
        fee = min(fee, shop.fee_ceiling_money)
    taxes = shop.parts_tax_share * parts.mean + shop.labor_tax_share * labor
    return Price(minutes, parts, labor, fee + taxes)


@dataclass(frozen=True)
class Worth:
    """Money that a correction brings over the horizon less its price: as things stand, and were the cause certain."""

    expected: float
    if_there: float


def worth_of(yearly_money: Floats, present: Bools, *, price: float, harm_if_left: float, horizon_years: float) -> Worth:
    """Fuel over the horizon and the harm avoided, less the price.

    Where the cause is not there, the price and a wrong part are lost.

    Args:
        yearly_money: Money saved in a year per draw, 0 where the cause is not there, shape (draws,).
        present: Whether the cause is there, shape (draws,).
        price: What the correction costs.
        harm_if_left: Expected harm of leaving it where it is there (converter, brake disc), money.
        horizon_years: Over which fuel saved counts.
    """
    there = float(np.mean(present))
    if there == 0.0:
        return Worth(-price - WRONG_PART_MONEY, harm_if_left - price)
    if_there = horizon_years * float(np.mean(yearly_money[present])) + harm_if_left - price
    return Worth(there * if_there - (1.0 - there) * (price + WRONG_PART_MONEY), if_there)
