"""The cast of the physics tests: members of the program's own, with the figures of a published test where it names some."""

from dataclasses import replace

from lostgallon.readers.cast import cast
from lostgallon.shop.visit import Period, Use

WAGON = cast("wagon").vehicle
SHORT_TRIPS = Use(
    distance_per_year_km=17_700.0, trip_km=6.4, highway_share=0.15, fuel_price_per_l=0.9, warm_up_idle_s=240.0
)
LONG_TRIPS = Use(distance_per_year_km=17_700.0, trip_km=20.0, highway_share=0.5, fuel_price_per_l=0.9)
SUMMER = Period(10.2, "owner's memory", 22.0, fuel_blend="summer")
WINTER = Period(12.0, "trip display", -2.0, fuel_blend="winter")


def like(name, mass_kg, liters, **other):
    """One of the cast at another mass and displacement, with six gears and no ratings, so that the class decides."""
    vehicle = cast(name).vehicle
    unrated = {"rated_city_l_per_100km": None, "rated_highway_l_per_100km": None, "model_year": 2012, "gears": 6}
    return replace(vehicle, curb_weight_kg=mass_kg, displacement_l=liters, **(unrated | other))


FLEET = {
    "1.3 t compact, 1.8 L": like("green hatch", 1270.0, 1.8),
    "1.5 t sedan, 2.4 L": like("sedan", 1500.0, 2.4, transmission="automatic"),
    "1.65 t sedan, 3.5 L": like("sedan", 1650.0, 3.5, transmission="automatic", cylinders=6),
    "1.55 t sedan, 2.0 L turbo": like(
        "turbo hatch", 1550.0, 2.0, transmission="automatic", injection="port", gears=8, model_year=2016
    ),
    "1.65 t crossover, 2.5 L": like("crossover", 1650.0, 2.5, injection="port"),
    "2.05 t van, 3.6 L": like("van", 2050.0, 3.6),
    "2.3 t pickup, 5.3 L": like("pickup", 2300.0, 5.3, cylinders=8, injection="port"),
}
"""Figures of the published tests, or between them; the rest of a vehicle is its cast member's."""
