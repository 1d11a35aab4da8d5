"""The vehicles of the physics tests, described by what they are."""

from lostgallon.shop.visit import Period, Use, Vehicle

WAGON = Vehicle(
    body="wagon",
    model_year=2011,
    curb_weight_kg=1655.0,
    displacement_l=2.3,
    cylinders=4,
    induction="natural",
    injection="port",
    drive="2wd",
    transmission="automatic",
    odometer_km=210_000.0,
    gears=5,
    rated_city_l_per_100km=11.76,
    rated_highway_l_per_100km=8.40,
    tire_placard_pa=227_500.0,
)
SHORT_TRIPS = Use(
    distance_per_year_km=17_700.0, trip_km=6.4, highway_share=0.15, fuel_price_per_l=0.9, warm_up_idle_s=240.0
)
LONG_TRIPS = Use(distance_per_year_km=17_700.0, trip_km=20.0, highway_share=0.5, fuel_price_per_l=0.9)
SUMMER = Period(10.2, "owner's memory", 22.0, fuel_blend="summer")
WINTER = Period(12.0, "trip display", -2.0, fuel_blend="winter")


def _vehicle(body, mass_kg, liters, cylinders, **other):
    usual = {"model_year": 2012, "induction": "natural", "injection": "port", "drive": "2wd", "gears": 6}
    return Vehicle(
        body=body,
        curb_weight_kg=mass_kg,
        displacement_l=liters,
        cylinders=cylinders,
        transmission="automatic",
        odometer_km=100_000.0,
        **(usual | other),
    )


FLEET = {
    "1.3 t compact, 1.8 L": _vehicle("car", 1270.0, 1.8, 4),
    "1.5 t sedan, 2.4 L": _vehicle("car", 1500.0, 2.4, 4),
    "1.65 t sedan, 3.5 L": _vehicle("car", 1650.0, 3.5, 6),
    "1.55 t sedan, 2.0 L turbo": _vehicle("car", 1550.0, 2.0, 4, induction="turbo", gears=8, model_year=2016),
    "1.65 t crossover, 2.5 L": _vehicle("crossover", 1650.0, 2.5, 4, drive="4wd"),
    "2.05 t van, 3.6 L": _vehicle("van", 2050.0, 3.6, 6),
    "2.3 t pickup, 5.3 L": _vehicle("pickup", 2300.0, 5.3, 8, drive="4wd"),
}
