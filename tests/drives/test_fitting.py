"""Least squares against scipy and against figures worked by hand."""

import numpy as np
import pytest

from lostgallon.drives.coast_stretches import coast
from lostgallon.drives.fitting import fitted

optimize = pytest.importorskip("scipy.optimize")


def test_a_line_through_three_points_by_hand():
    # y = 1, 2, 4 at x = 0, 1, 2 with sd 1: slope 3/2, start 5/6; covariance (J'J)^-1 = [[5/6, -1/2], [-1/2, 1/2]].
    x, y = np.array([0.0, 1.0, 2.0]), np.array([1.0, 2.0, 4.0])
    found = fitted(lambda at: at[0] + at[1] * x - y, np.array([0.0, 0.0]), scale=np.array([1.0, 1.0]))
    assert found.at == pytest.approx([5 / 6, 3 / 2])
    assert found.covariance == pytest.approx(np.array([[5 / 6, -1 / 2], [-1 / 2, 1 / 2]]))


@pytest.mark.parametrize("seed", range(20))
def test_coasting_curves_as_an_independent_library_fits_them(seed):
    rng = np.random.default_rng(seed)
    time_s = np.arange(0.0, 25.0, 0.5)
    truth = {"v0_m_s": rng.uniform(20, 30), "f0_n": rng.uniform(80, 300), "f2_n_s2_m2": rng.uniform(0.3, 0.7)}
    seen = coast(time_s, mass_kg=1500.0, **truth) + rng.normal(0.0, 0.1, time_s.size)

    def off(at):
        modeled = coast(time_s, v0_m_s=at[0], f0_n=at[1], f2_n_s2_m2=at[2], mass_kg=1500.0)
        return np.append((modeled - seen) / 0.1, (at[2] / 0.5 - 1.0) / 0.16)

    start, scale = np.array([seen[0], 150.0, 0.5]), np.array([1.0, 50.0, 0.1])
    known = optimize.least_squares(off, start, x_scale=scale, xtol=1e-12, ftol=1e-12)
    found = fitted(off, start, scale=scale)
    assert found.at == pytest.approx(known.x, rel=1e-5)
    known_sd = np.sqrt(np.diag(np.linalg.inv(known.jac.T @ known.jac)))
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(known_sd, rel=1e-3)
