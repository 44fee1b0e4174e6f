"""Our least squares against scipy's."""

from math import exp
from random import Random

import numpy as np
import pytest
from scipy import optimize

from daemon.kiln.least_squares import least_squares, solved

TIMES = [0.1 * i for i in range(60)]


def data(seed, outliers=0):
    """Return a noisy exponential fall."""
    rng = Random(seed)
    found = [3.0 * exp(-0.7 * t) + rng.gauss(0, 0.05) for t in TIMES]
    for i in range(outliers):
        found[5 * i + 3] += 2.0
    return found


def residuals_of(values):
    return lambda p: [(v - exp(p[0]) * exp(-exp(p[1]) * t)) / 0.05 for v, t in zip(values, TIMES, strict=True)]


@pytest.mark.parametrize("seed", range(5))
def test_without_outliers_it_finds_what_scipy_finds(seed):
    residuals, prior, spreads = residuals_of(data(seed)), [0.5, -1.0], [1.0, 1.0]

    def with_prior(p):
        return [*residuals(p), *((v - m) / s for v, m, s in zip(p, prior, spreads, strict=True))]

    reference = optimize.least_squares(with_prior, prior, loss="huber", f_scale=2.0)
    found = least_squares(residuals, prior, spreads)
    assert found.values == pytest.approx(list(reference.x), abs=0.003)
    covariance = np.linalg.inv(reference.jac.T @ reference.jac)
    assert found.spreads == pytest.approx(list(np.sqrt(np.diag(covariance))), rel=0.1)


def test_outliers_count_little():
    plain = least_squares(residuals_of(data(1)), [0.5, -1.0], [1.0, 1.0]).values
    spoilt = least_squares(residuals_of(data(1, outliers=6)), [0.5, -1.0], [1.0, 1.0]).values
    assert spoilt == pytest.approx(plain, abs=0.1)


def test_without_data_the_prior_stays():
    found = least_squares(lambda _: [], [0.5, -1.0], [0.3, 0.4])
    assert found.values == [0.5, -1.0]
    assert found.spreads == pytest.approx([0.3, 0.4])


def test_equations_are_solved_as_numpy_solves_them():
    rng = Random(4)
    matrix = [[rng.gauss(0, 1) for _ in range(5)] for _ in range(5)]
    right = [rng.gauss(0, 1) for _ in range(5)]
    assert solved(matrix, right) == pytest.approx(list(np.linalg.solve(matrix, right)))
