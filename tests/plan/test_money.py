"""Savings and payback against hand calculation with the arithmetic beside it."""

from datetime import date

import numpy as np
import pytest

from lostgallon.causes.records import Parts
from lostgallon.plan.money import (
    month_ambients_c,
    month_shares,
    months_to_pay_back,
    parts_spread,
    price_of,
    saved_l_per_100km,
    saved_l_per_year,
    weather_by_month,
    worth_of,
)
from lostgallon.shop.spread import Spread
from lostgallon.shop.visit import Period, Shop, Use
from tests.plan.cast import case

ALL_YEAR = np.ones(12)
# US EIA, Residential Transportation Energy Consumption Survey, as printed.
EIA_RTECS = [0.0728, 0.0738, 0.0816, 0.0829, 0.0880, 0.0896, 0.0919, 0.0923, 0.0847, 0.0849, 0.0800, 0.0777]


def test_months_have_the_published_shares(published):
    # As printed they add to 1.0002; ours add to 1 and keep their ratios.
    for month, (share, printed) in enumerate(zip(month_shares(), EIA_RTECS, strict=True), start=1):
        published(
            33, f"share of distance in month {month}", share, expected=printed, within=5e-5, source="US EIA RTECS"
        )
    assert month_shares() == pytest.approx(np.array(EIA_RTECS) / 1.0002, abs=1e-12)
    assert month_shares().sum() == pytest.approx(1.0, abs=1e-12)


def test_a_fault_costs_what_its_absence_would_save():
    # 12 L/100 km with an effect of 8 %: without it 12 / 1.08 = 11.1111, saved 0.8889; times 0.9 cured = 0.8.
    saved = saved_l_per_100km(
        np.array([12.0, 12.0]), np.log([1.08, 1.08]), present=np.array([True, False]), cures_share=0.9
    )
    assert saved == pytest.approx([0.8, 0.0])


def test_liters_of_a_year_are_this_owners_distance():
    # 18 000 km a year x 0.8 L / 100 km = 144 L when it acts all year.
    assert saved_l_per_year(case(), np.array([0.8]), ALL_YEAR) == pytest.approx([144.0])


def test_payback_by_hand():
    # 0.5 L/100 km at 24 000 km a year and 1.0 a liter: 120 money for the whole year's distance.
    # 40 money is one third of it. From January the months bring (shares / 1.0002):
    #   Jan .07279  Feb .14657  Mar .22815  Apr .31104  May .39902
    # 1/3 lies in May: 4 months and (.33333 - .31104) / .08798 = 0.2534 of the fifth.
    months = months_to_pay_back(40.0, money_per_share=np.array([120.0]), month=1, weather=ALL_YEAR)
    assert months == pytest.approx([4.2534], abs=2e-4)


def test_payback_depends_on_the_month_of_the_visit():
    # From July: .09188, .18416, .26885, .35373: 1/3 lies in the fourth month,
    # 3 + (.33333 - .26885) / .08488 = 3.7597. Summer miles pay faster than winter miles.
    months = months_to_pay_back(40.0, money_per_share=np.array([120.0]), month=7, weather=ALL_YEAR)
    assert months == pytest.approx([3.7597], abs=2e-4)


def test_payback_over_years_is_whole_years_and_a_rest():
    months = months_to_pay_back(280.0, money_per_share=np.array([120.0]), month=1, weather=ALL_YEAR)
    # 280 / 120 = 2 years and 1/3: 24 months and the 4.2534 of the case above.
    assert months == pytest.approx([28.2534], abs=2e-4)


def test_what_saves_nothing_never_pays_back():
    assert np.isinf(months_to_pay_back(40.0, money_per_share=np.array([0.0]), month=1, weather=ALL_YEAR))
    assert np.isinf(months_to_pay_back(40.0, money_per_share=np.array([120.0]), month=1, weather=np.zeros(12)))


def test_a_year_of_weather_goes_through_then_and_now():
    # 22 C from April to September, -2 C in January. The wave cos(2 pi (m - 1) / 12) is 1 in January and
    # (0 - 0.5 - 0.866 - 1 - 0.866 - 0.5) / 6 = -0.622 on average then: half range 24 / 1.62201 = 14.7965, mean 12.7965.
    year = month_ambients_c(case())
    assert year[[0, 6, 3, 9]] == pytest.approx([-2.0, 27.593, 12.7965, 12.7965], abs=0.001)


def test_a_wild_half_range_is_held():
    # 22 C from May to October against -20 C in January would make 26 K; no place is taken to swing more than 16.
    wild = case(
        then=Period(economy_l_per_100km=10.0, basis="fill-ups", ambient_c=22.0, until=date(2025, 10, 31)),
        now=Period(economy_l_per_100km=12.0, basis="fill-ups", ambient_c=-20.0),
    )
    assert month_ambients_c(wild)[[0, 6]] == pytest.approx([-20.0, 12.0])


def test_a_southern_year_is_warm_in_january():
    south = case(
        then=Period(economy_l_per_100km=10.0, basis="fill-ups", ambient_c=8.0, until=date(2025, 9, 30)),
        now=Period(economy_l_per_100km=12.0, basis="fill-ups", ambient_c=26.0),
    )
    # Half range -18 / 1.622 = -11.098: 26 in January, 26 - 22.195 in July.
    assert month_ambients_c(south)[[0, 6]] == pytest.approx([26.0, 3.805], abs=0.001)


def test_a_year_without_a_dated_good_figure_has_the_stated_half_range():
    undated = case(then=Period(economy_l_per_100km=10.0, basis="fill-ups", ambient_c=22.0))
    assert month_ambients_c(undated)[[0, 6]] == pytest.approx([-2.0, 20.0])


def test_an_open_thermostat_saves_little_in_summer():
    # Found at -2 C with a drop of 20 K: in April 14.797 K warmer, 5.203 of 20 K remain; in July nothing.
    factors = weather_by_month(case(), "coolant_drop_k")
    assert factors[[0, 3, 6]] == pytest.approx([1.0, 0.2602, 0.0], abs=0.0001)
    assert weather_by_month(case(), "drag_force_n") == pytest.approx(ALL_YEAR)


def test_a_price_has_parts_labor_tax_and_a_fee_with_a_ceiling():
    # 30 min at 120 an hour = 60; parts (20 + 4 x 50 + 80) / 6 = 50; tax 8 % of parts = 4; fee 10 % of 60, at most 5.
    shop = Shop(labor_rate_per_h=120.0, parts_tax_share=0.08, fee_share_of_labor=0.1, fee_ceiling_money=5.0)
    price = price_of(30.0, parts_spread(Parts(20.0, 50.0, 80.0, "from_memory")), shop=shop)
    assert (price.labor, price.parts.mean, price.fees, price.total) == pytest.approx((60.0, 50.0, 9.0, 119.0))
    assert price.parts == Spread(mean=50.0, p05=20.0, p50=50.0, p95=80.0)


def test_worth_by_hand():
    # There in 3 of 4 draws, 100 a year each: mean 75, 3 years 225; harm 40 x 0.75 = 30; price 100;
    # wrong part 0.25 x 60 = 15: 225 + 30 - 100 - 15 = 140.
    present = np.array([True, True, True, False])
    worth = worth_of(100.0 * present, present, price=100.0, harm_if_left=40.0, horizon_years=3.0)
    assert worth.expected == pytest.approx(140.0)
    # Were it certain: 3 x 100 + 40 - 100.
    assert worth.if_there == pytest.approx(240.0)


def test_what_is_in_no_draw_has_only_its_price():
    worth = worth_of(np.zeros(4), np.zeros(4, bool), price=100.0, harm_if_left=40.0, horizon_years=3.0)
    assert (worth.expected, worth.if_there) == (-160.0, -60.0)


def test_twice_the_distance_halves_the_payback():
    short = case(use=Use(distance_per_year_km=9_000.0, trip_km=6.5, highway_share=0.1, fuel_price_per_l=1.0))
    per_100km = np.array([0.5])
    slow = saved_l_per_year(short, per_100km, ALL_YEAR)
    assert 2 * slow == pytest.approx(saved_l_per_year(case(), per_100km, ALL_YEAR))
