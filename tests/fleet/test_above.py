"""Single tanks far above: named where slips do not explain their number, at the stated rate of false names."""

import time

import numpy as np
import pytest
from scipy import stats

from lostgallon.fleet.above import LEAST_ABOVE, Slips, _both, _negative_binomial, chance_of_excess
from lostgallon.fleet.discoveries import flagged
from lostgallon.fleet.screening import Asked, screen
from tests.fleet.made import made_fleet


def test_counts_with_gamma_rates_are_negative_binomial():
    # scipy's parameters: n = shape, p = 1/(1 + scale)
    count, shape, scale = np.array([0, 1, 4, 9]), np.array([0.3, 2.0, 1.0, 5.5]), np.array([0.1, 2.0, 0.7, 3.0])
    expected = stats.nbinom.pmf(count, shape, 1.0 / (1.0 + scale))
    assert _negative_binomial(count, shape, scale) == pytest.approx(expected, rel=1e-12)


def test_both_explanations_are_whole_distributions():
    # over all counts far above each sums to one
    counts = np.arange(400)
    sixty, two = np.full(400, 60), np.full(400, 2)
    for one in _both(Slips(0.01, 1.0, 1.5), sixty, above=counts, below=two):
        assert one.sum() == pytest.approx(1.0, abs=1e-6)


def counted(rng, vehicles, *, taken_from, slips, ratio):
    """Counts of a fleet: exponential rates of slips, and a tank in ten taken from in the first vehicles."""
    rate = rng.exponential(slips, vehicles)
    below = rng.poisson(60 * rate)
    above = rng.poisson(60 * ratio * rate)
    above[:taken_from] += rng.poisson(60 * 0.1, taken_from)
    return np.full(vehicles, 60), above, below


@pytest.mark.parametrize(
    ("slips", "ratio", "least"), [(0.002, 1.0, 0.8), (0.01, 1.0, 0.5), (0.01, 3.0, 0.0), (0.03, 0.5, 0.0)]
)
def test_names_are_false_at_the_stated_rate(slips, ratio, least):
    rng = np.random.default_rng(51)
    false = named = found = 0
    for _ in range(20):
        chosen = flagged(chance_of_excess(*counted(rng, 1000, taken_from=40, slips=slips, ratio=ratio)), 0.05)
        found += chosen[:40].sum()
        false += chosen[40:].sum()
        named += chosen.sum()
    # .05 of the names, and three standard errors of a count
    assert false <= 0.05 * named + 3 * np.sqrt(0.05 * named + 1)
    assert found >= least * 800


def test_a_fleet_with_slips_alone_names_nobody_or_nearly():
    rng = np.random.default_rng(52)
    named = [
        flagged(chance_of_excess(*counted(rng, 2000, taken_from=0, slips=0.01, ratio=1.0)), 0.05).sum()
        for _ in range(10)
    ]
    assert sum(named) <= 10  # of 20 000 vehicles


def test_fewer_than_three_tanks_are_never_named():
    tanks, below = np.full(500, 60), np.zeros(500, dtype=np.int64)
    above = np.zeros(500, dtype=np.int64)
    above[0] = LEAST_ABOVE - 1
    assert chance_of_excess(tanks, above, below).max() == 0.0
    assert chance_of_excess(*(np.zeros(0, dtype=np.int64),) * 3).shape == (0,)


def test_thefts_out_of_single_tanks_are_named_in_files(tmp_path):
    frame, truth = made_fleet(np.random.default_rng(53), 500, lost=0.03, moved=0.03, theft=0.05, slips=0.004)
    frame.write_parquet(tmp_path / "fleet.parquet")
    asked = Asked(files=(tmp_path / "fleet.parquet",), price_per_l=2.0, currency="USD")
    found = screen(asked, clock=time.monotonic, told=lambda _what, _done, _total: None)
    thefts = {name for name, kind in truth.items() if kind == "theft"}
    named = {each.vehicle for each in found.record.far_above}
    assert len(named - thefts) <= 2
    assert len(named & thefts) >= 0.5 * len(thefts)
    table = found.ranking.table(every_vehicle=False)
    assert set(table.filter("far_above_named")["vehicle"]) == named
    each_l = [each.money_per_year / 2.0 * 1.65 / each.tanks_far_above for each in found.record.far_above]
    # by hand: 45 per cent of 40 L is 18 L, 59 fills of 10 days are 1.65 years; vehicles differ by a quarter
    assert np.median(each_l) == pytest.approx(18.0, rel=0.25)
