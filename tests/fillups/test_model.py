"""The model of tanks against independent answers: dense normal densities, statsmodels GLS, hand arithmetic."""

from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import multivariate_normal, norm

from lostgallon.fillups import prior
from lostgallon.fillups.changes import starts_of
from lostgallon.fillups.columns import columns_of
from lostgallon.fillups.evidence import log_bayes_factor
from lostgallon.fillups.mixtures import mixture_quantiles
from lostgallon.fillups.posterior import candidates_at, model_of, weigh
from lostgallon.fillups.prior import SeasonPrior
from lostgallon.fillups.rise import pooled_log_sd
from lostgallon.fillups.scatter import own_variance, tail_weights
from lostgallon.fillups.tanks import TankArrays, pooled_l_per_100km, stack
from tests.hard.simulated import cut, draw, with_rise

TANKS = 40


@pytest.fixture(scope="module")
def log():
    rng = np.random.default_rng(3)
    made, _ = draw(rng, TANKS, change=0.0, use_change=False)
    chained = rng.random(TANKS) > 0.15
    chained[0] = False
    variance = np.ones(TANKS)
    variance[5] = 2.0
    return with_rise(replace(made, chained=chained, variance_times=variance), 28, 1.1)


def dense_covariance(log, own, split):
    """The covariance entry by entry from docs/fillups.md, at scale 1."""
    fill, slow, constant = prior.FILL_SHARE[split], prior.SLOW_SHARE[split], prior.SLOW_DAYS[split]
    volume, typical = log.volume_l, np.median(log.volume_l)
    found = np.diag((1 - fill - slow) * own + fill * (typical / volume) ** 2)
    for place in range(1, len(volume)):
        if log.chained[place]:
            found[place, place - 1] = found[place - 1, place] = (
                -0.5 * fill * typical**2 / (volume[place] * volume[place - 1])
            )
    mid = log.end_day - log.days / 2
    return found + slow * np.exp(-np.abs(mid[:, None] - mid[None]) / constant)


@pytest.mark.parametrize("split", range(len(prior.SPLIT_WEIGHT)))
def test_marginal_likelihood_and_sizes_agree_with_dense_normals_and_statsmodels(log, split):
    batch = stack([log])
    columns = columns_of(batch, SeasonPrior())
    own = own_variance(batch, tail_weights(batch, columns))[0]
    model = model_of(batch, SeasonPrior())
    starts = starts_of(batch)
    candidate = candidates_at(model, starts)
    vehicle = log_bayes_factor(candidate, mean=0.0, variance=prior.VEHICLE_SD**2)
    y, mean = batch.log_fuel[0], columns.values[0] @ columns.mean[0]
    believed = columns.values[0] @ np.diag(columns.sd[0] ** 2) @ columns.values[0].T
    place = np.arange(TANKS)
    for index, scale in enumerate(prior.SCALES):
        total = scale**2 * dense_covariance(log, own, split) + believed
        null = multivariate_normal.logpdf(y, mean, total)
        assert model.null.log_likelihood[0, split, index] == pytest.approx(null, abs=1e-8)
        for date in (0, 9, 21):
            first, dates = starts.first[date], len(starts.first)
            ramp = np.clip((place - first + 1) / (TANKS - first), 0.0, None)
            for column, where in (((place >= first) * 1.0, date), (ramp, dates + date)):
                fit = sm.GLS(y - mean, column[:, None], sigma=total).fit()
                assert candidate.estimate[0, split, index, where] == pytest.approx(fit.params[0], abs=1e-8)
                information = 1.0 / fit.normalized_cov_params[0, 0]
                assert candidate.information[0, split, index, where] == pytest.approx(information, rel=1e-8)
                changed = total + prior.VEHICLE_SD**2 * np.outer(column, column)
                factor = multivariate_normal.logpdf(y, mean, changed) - null
                assert vehicle[0, split, index, where] == pytest.approx(factor, abs=1e-8)


def test_one_log_and_the_same_log_among_others_get_the_same_answer(log):
    rng = np.random.default_rng(4)
    others = [draw(rng, count)[0] for count in (12, 31, 40, 25)]
    alone = weigh(stack([log]), SeasonPrior())
    among = weigh(stack([others[0], log, *others[1:]]), SeasonPrior())
    assert among.vehicle_rise[1] == pytest.approx(alone.vehicle_rise[0], rel=1e-9)
    assert among.log_bayes_factor[1] == pytest.approx(alone.log_bayes_factor[0], abs=1e-9)
    short = weigh(stack([others[0]]), SeasonPrior())
    assert among.vehicle_rise[0] == pytest.approx(short.vehicle_rise[0], rel=1e-9)


def test_the_three_explanations_and_nothing_add_up_to_one(log):
    found = weigh(stack([log]), SeasonPrior())
    assert found.nothing + found.vehicle + found.use + found.both == pytest.approx(1.0)
    assert found.weight.sum() == pytest.approx(1.0)


def test_under_no_change_the_mean_bayes_factor_is_one():
    # E[p1/p0] under p0 is 1 exactly (Good, Probability and the Weighing of Evidence, 1950); so is the mean of
    # P(change) over logs of which half change equal to that half. Tails are weighted down, hence the width.
    rng = np.random.default_rng(11)
    drawn = [draw(rng, 40, change=0.5) for _ in range(600)]
    found = [weigh(stack([log for log, _ in drawn[at : at + 20]]), SeasonPrior()) for at in range(0, 600, 20)]
    changed = np.concatenate([1.0 - each.nothing for each in found])
    truly = np.array([truth.kind != "none" for _, truth in drawn])
    factor = np.exp(np.concatenate([each.log_bayes_factor for each in found]))
    assert changed.mean() == pytest.approx(truly.mean(), abs=0.05)
    plain = factor[~truly]
    assert plain.mean() == pytest.approx(1.0, abs=0.3)


def test_pooled_figure_is_fuel_over_distance():
    # by hand: 30 + 20 L over 300 + 100 km is 12.5 L/100 km; the mean of 10 and 20 L/100 km would be 15
    log = TankArrays(
        end_day=np.array([738000.0, 738010.0]),
        days=np.array([10.0, 10.0]),
        distance_km=np.array([300.0, 100.0]),
        volume_l=np.array([30.0, 20.0]),
        chained=np.array([False, True]),
        variance_times=np.ones(2),
        ambient_c=np.full(2, np.nan),
        ethanol_share=np.full(2, np.nan),
    )
    assert pooled_l_per_100km(log, np.ones(2, dtype=bool)) == pytest.approx(12.5, rel=1e-12)


def test_quantiles_of_a_mixture_of_one_normal_are_its_own():
    # standard normal tables: 5 and 95 % points at 1.6449 sd
    low, middle, high = mixture_quantiles(np.ones((1, 1)), np.full((1, 1), 0.1), np.full((1, 1), 0.02))[0]
    assert (low, middle, high) == pytest.approx((0.1 - 0.032897, 0.1, 0.1 + 0.032897), abs=2e-5)


def test_quantiles_of_many_mixtures_have_their_probability():
    # independent: scipy's normal distribution, summed at the points found
    rng = np.random.default_rng(12)
    for spikes in (0.02, 0.1, 1.0):
        weight = rng.dirichlet(np.full(116, spikes), 40)
        mean, sd = rng.normal(0, 0.1, (40, 116)), np.exp(rng.uniform(-5.0, -2.0, (40, 116)))
        points = mixture_quantiles(weight, mean, sd)
        below = (weight[..., None] * norm.cdf((points[:, None] - mean[..., None]) / sd[..., None])).sum(axis=1)
        assert below == pytest.approx(np.broadcast_to([0.05, 0.5, 0.95], below.shape), abs=0.005)


def test_the_width_of_a_pooled_figure_matches_simulated_pools(log):
    # independent: draw the dense covariance and pool with equal weights
    chosen = np.zeros(TANKS, dtype=bool)
    chosen[20:32] = True
    split, scale = 3, 5
    even = replace(log, volume_l=np.full(TANKS, 50.0), chained=np.r_[False, np.ones(TANKS - 1, dtype=bool)])
    covariance = dense_covariance(even, np.ones(TANKS), split) * prior.SCALES[scale] ** 2
    exact = np.sqrt(covariance[np.ix_(chosen, chosen)].sum()) / chosen.sum()
    grid = np.zeros((len(prior.SPLIT_WEIGHT), len(prior.SCALES)))
    grid[split, scale] = 1.0
    assert pooled_log_sd(even, chosen, grid=grid) == pytest.approx(exact, rel=0.06)


def test_a_plain_step_is_found_sized_and_dated():
    rng = np.random.default_rng(8)
    made, _ = draw(rng, 60, change=0.0, use_change=False)
    quiet = replace(made, volume_l=made.distance_km * 0.1 * np.exp(rng.normal(0, 0.03, 60)))
    found = weigh(stack([with_rise(quiet, 48, 1.15)]), SeasonPrior())
    assert found.vehicle_rise[0] > 0.95
    kinds = found.weight[0].sum(axis=0)
    dates = kinds[: len(kinds) // 2] + kinds[len(kinds) // 2 :]
    assert abs(int(found.starts.first[dates.argmax()]) - 48) <= 2


def test_a_log_that_stopped_for_years_is_still_weighed():
    rng = np.random.default_rng(6)
    made, _ = draw(rng, 20)
    found = weigh(stack([replace(made, end_day=made.end_day + np.r_[np.zeros(18), 3000.0, 3010.0])]), SeasonPrior())
    assert np.isfinite(found.vehicle_rise).all()


def test_a_log_cut_short_is_still_weighed():
    rng = np.random.default_rng(5)
    made, _ = draw(rng, 30)
    for count in (5, 6, 9):
        found = weigh(stack([cut(made, 0, count)]), SeasonPrior())
        assert np.isfinite(found.vehicle_rise).all()
