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
