"""The wagon of the cast in winter, in for a coolant hose, as the plan's tests need it."""

from dataclasses import replace
from datetime import date, datetime

from lostgallon.readers.cast import cast
from lostgallon.shop.visit import Booked, Case, Period, Shop, Use, Visit

NOW = datetime.fromisoformat("2026-01-15T14:40:00")
PROMISED = datetime.fromisoformat("2026-01-15T17:30:00")

WAGON = cast("wagon").vehicle


def case(**changes):
    """The wagon's visit, with changes."""
    plain = Case(
        name="wagon",
        visit=Visit(date=date(2026, 1, 15), promised=PROMISED, now=NOW, bay_c=16.0),
        vehicle=WAGON,
        use=Use(distance_per_year_km=18_000.0, trip_km=6.5, highway_share=0.15, fuel_price_per_l=0.9),
        then=Period(economy_l_per_100km=10.0, basis="fill-ups", ambient_c=22.0, until=date(2025, 9, 30)),
        now=Period(economy_l_per_100km=12.0, basis="fill-ups", ambient_c=-2.0),
        booked=Booked(operation="coolant hose", minutes_left=45.0, looking_minutes=25.0, looking_money=60.0),
        shop=Shop(labor_rate_per_h=140.0, horizon_years=3.0),
    )
    return replace(plain, **changes)
