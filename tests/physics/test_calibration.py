"""From ratings to members: the label's formulas, the smoother on a problem solved by hand, and ratings that can't be."""

from dataclasses import replace

import numpy as np
import pytest

from lostgallon.physics.calibration import _moved, calibrated
from lostgallon.physics.labels import Laboratory, laboratory, laboratory_mpg, remarks
from lostgallon.physics.laboratory import laboratory_log
from lostgallon.shop.trouble import BadCase
from lostgallon.shop.units import MPG_TIMES_L_PER_100KM
from tests.physics.cast import FLEET, WAGON

PICKUP = FLEET["2.3 t pickup, 5.3 L"]


def rated(vehicle, city_mpg, highway_mpg, **other):
    return replace(
        vehicle,
        rated_city_l_per_100km=MPG_TIMES_L_PER_100KM / city_mpg,
        rated_highway_l_per_100km=MPG_TIMES_L_PER_100KM / highway_mpg,
        **other,
    )


@pytest.mark.parametrize(
    ("rating", "highway", "year", "restated", "expected"),
    [
        # 40 CFR 600.210-08: by hand, 1.1805 / (1/20 - 0.003259) and 1.3466 / (1/28 - 0.001376)
        (20.0, False, 2011, False, 25.256),
        (28.0, True, 2011, False, 39.216),
        # 40 CFR 600.210-12: 1.1601 / (1/20 - 0.004091) and 1.2945 / (1/28 - 0.003191)
        (20.0, False, 2018, False, 25.269),
        (28.0, True, 2018, False, 39.802),
        # 40 CFR 600.209-85: 20 / 0.90 and 28 / 0.78; restated later they follow the form of 2008
        (20.0, False, 2004, False, 22.222),
        (28.0, True, 2004, False, 35.897),
        (20.0, False, 2004, True, 25.256),
    ],
)
def test_the_laboratory_figure_behind_a_rating(rating, highway, year, restated, expected):
    found = laboratory_mpg(rating, highway=highway, model_year=year, restated=restated)
    assert found == pytest.approx(expected, abs=0.001)


def test_old_ratings_of_unknown_kind_say_less():
    old = rated(WAGON, 20.0, 28.0, model_year=2004)
    said, unsaid = laboratory(replace(old, ratings_from="restated")), laboratory(replace(old, ratings_from=None))
    assert said.log_l_per_100km == unsaid.log_l_per_100km
    assert all(wide > narrow for wide, narrow in zip(unsaid.sd_log, said.sd_log, strict=True))


def test_what_is_not_known_of_the_ratings_is_said():
    unknown = replace(WAGON, rated_city_l_per_100km=None, rated_highway_l_per_100km=None)
    assert "No ratings" in remarks(unknown)[0]
    assert "One of the two" in remarks(replace(WAGON, rated_city_l_per_100km=None))[0]
    assert "restated" in remarks(replace(WAGON, model_year=2004, ratings_from=None))[0]
    assert remarks(WAGON) == ()


def test_a_highway_rating_under_the_city_rating_is_refused_in_one_line():
    with pytest.raises(BadCase, match="rated_highway: found 15 mpg, under the city rating of 20 mpg; expected"):
        laboratory(rated(WAGON, 20.0, 15.0))


def test_a_rating_that_no_gasoline_vehicle_has_is_refused():
    with pytest.raises(BadCase, match="rated_city"):
        laboratory_mpg(400.0, highway=False, model_year=2011, restated=False)


def test_the_smoother_on_a_problem_solved_by_hand():
    # x, y standard normal, x + y measured as 1.0 with spread 1: by hand each has mean 1/3, variance 2/3, and their
    # covariance is -1/3.
    rng = np.random.default_rng(5)
    members = rng.standard_normal((2, 20_000))
    known = Laboratory((1.0,), (1.0,), ("city",))
    for _ in range(3):
        members = _moved(members, members.sum(axis=0, keepdims=True), known, rng=rng)
    assert members.mean(axis=1) == pytest.approx([1 / 3, 1 / 3], abs=0.02)
    assert np.cov(members) == pytest.approx(np.array([[2 / 3, -1 / 3], [-1 / 3, 2 / 3]]), abs=0.02)


@pytest.mark.parametrize(("name", "mpg"), [("city", 25.256), ("highway", 39.216)])
def test_members_fit_the_ratings(name, mpg):
    # The rating of the wagon, through 40 CFR 600.210-08 as above; 1.5 % is what a laboratory figure is trusted for.
    members = calibrated(rated(WAGON, 20.0, 28.0), 400, rng=np.random.default_rng(1)).members
    fuel = np.exp(laboratory_log(members, name))
    assert fuel.mean() == pytest.approx(MPG_TIMES_L_PER_100KM / mpg, rel=0.02)
    assert fuel.std() / fuel.mean() < 0.035


def test_without_ratings_the_class_speaks_and_says_less():
    rng = np.random.default_rng(2)
    unknown = replace(WAGON, rated_city_l_per_100km=None, rated_highway_l_per_100km=None)
    found, known = calibrated(unknown, 300, rng=rng), calibrated(WAGON, 300, rng=rng)
    assert found.warnings == ()
    wide, narrow = (laboratory_log(each.members, "city").std() for each in (found, known))
    assert wide > 2.0 * narrow


@pytest.mark.parametrize(("city", "highway", "word"), [(33.0, 42.0, "less"), (8.0, 10.0, "more")])
def test_ratings_of_another_vehicle_are_flagged(city, highway, word):
    found = calibrated(rated(PICKUP, city, highway), 200, rng=np.random.default_rng(3))
    assert len(found.warnings) == 1
    assert word in found.warnings[0]
    assert "may belong to another vehicle" in found.warnings[0]


def test_ratings_of_its_own_are_not_flagged():
    assert calibrated(rated(PICKUP, 15.0, 20.0), 200, rng=np.random.default_rng(3)).warnings == ()


def test_one_seed_gives_one_set_of_members():
    one, same = (calibrated(WAGON, 64, rng=np.random.default_rng(9)).members.deviates for _ in range(2))
    assert np.array_equal(one, same)
