"""Least squares with a prior and little weight for outliers: damped Gauss-Newton for a handful of unknowns.

Written out here because a numerical library costs the daemon more memory than it may have. The tests compare it with
one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

_DIFFERENCE = 0.02
"""Step of a numerical derivative. [chosen: the unknowns are logarithms, so that it is 2 %]"""
_FARTHEST = 0.7
"""No step is longer. [chosen: a factor of two in what the logarithm is of]"""
_OUTLIER = 2.0
"""Beyond so many deviations a residual counts by its size, not its square. [source: Huber, Robust Statistics: a
threshold of 1.3 to 2 deviations]"""
_STEPS, _DAMPINGS, _LITTLE = 12, 6, 1e-3
"""Steps at most, tries of a step at most, and the share of the cost below which a gain ends the search. [chosen: two
or three more steps than the slowest kiln of the bench needed]"""


class Fit(NamedTuple):
    """What was found."""

    values: list[float]
    spreads: list[float]
    """One deviation of each value, the others being unknown too."""
    cost: float


def least_squares(residuals: Callable[[Sequence[float]], list[float]], prior: Sequence[float],
                  prior_spreads: Sequence[float]) -> Fit:
    """Return the values that make the residuals least, and near to what was believed before.

    Parameters
    ----------
    residuals
        Of a set of values, each divided by its deviation; always as many.
    prior, prior_spreads
        What was believed of each value, and its deviation.
    """
    values, damping = list(prior), 0.1
    found = residuals(values)
    cost = _cost(found, values, prior, prior_spreads)
    normal = _normal(residuals, values, found, prior, prior_spreads)
    for _ in range(_STEPS):
        matrix, slope = normal
        for _ in range(_DAMPINGS):
            damped = [[entry * (1 + damping) if i == j else entry for j, entry in enumerate(row)]
                      for i, row in enumerate(matrix)]
            tried = [value - max(-_FARTHEST, min(_FARTHEST, step))
                     for value, step in zip(values, solved(damped, slope), strict=True)]
            there = residuals(tried)
            lower = _cost(there, tried, prior, prior_spreads)
            if lower < cost:
                break
            damping *= 4
        else:
            break
        gained, cost, values, found, damping = cost - lower, lower, tried, there, damping / 5
        normal = _normal(residuals, values, found, prior, prior_spreads)
        if gained < _LITTLE * (cost + 1e-12):
            break
    return Fit(values, [inverse_row[i] ** 0.5 for i, inverse_row in enumerate(_inverse(normal[0]))], cost)


def _cost(found: Sequence[float], values: Sequence[float], prior: Sequence[float], spreads: Sequence[float]) -> float:
    """Return the sum of the squares, outliers by their size, with what the prior adds."""
    return (sum(x * x if abs(x) <= _OUTLIER else 2 * _OUTLIER * abs(x) - _OUTLIER**2 for x in found)
            + sum(((value - mean) / spread) ** 2 for value, mean, spread in zip(values, prior, spreads, strict=True)))


def _normal(residuals: Callable[[Sequence[float]], list[float]], values: Sequence[float], found: Sequence[float],
            prior: Sequence[float], spreads: Sequence[float]) -> tuple[list[list[float]], list[float]]:
    """Return the normal equations at ``values``: the matrix and the slope of half the cost."""
    columns = []
    for i in range(len(values)):
        beside = [value + _DIFFERENCE * (i == j) for j, value in enumerate(values)]
        columns.append([(b - a) / _DIFFERENCE for a, b in zip(found, residuals(beside), strict=True)])
    weights = [1.0 if abs(x) <= _OUTLIER else _OUTLIER / abs(x) for x in found]
    matrix = [[sum(a * b * w for a, b, w in zip(one, other, weights, strict=True)) for other in columns]
              for one in columns]
    slope = [sum(a * x * w for a, x, w in zip(column, found, weights, strict=True)) for column in columns]
    for i, (value, mean, spread) in enumerate(zip(values, prior, spreads, strict=True)):
        matrix[i][i] += 1 / spread**2
        slope[i] += (value - mean) / spread**2
    return matrix, slope


def solved(matrix: Sequence[Sequence[float]], right: Sequence[float]) -> list[float]:
    """Return the solution of a set of linear equations, by Gauss's elimination with the greatest pivot."""
    size = len(right)
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    for i in range(size):
        pivot = max(range(i, size), key=lambda k: abs(rows[k][i]))
        rows[i], rows[pivot] = rows[pivot], rows[i]
        for k in range(size):
            if k != i:
                times = rows[k][i] / rows[i][i]
                rows[k] = [a - times * b for a, b in zip(rows[k], rows[i], strict=True)]
    return [row[size] / row[i] for i, row in enumerate(rows)]


def _inverse(matrix: Sequence[Sequence[float]]) -> list[list[float]]:
    size = len(matrix)
    return [list(row) for row in zip(*(solved(matrix, [float(i == k) for i in range(size)]) for k in range(size)),
                                     strict=True)]
