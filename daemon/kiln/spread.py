"""How far firings are off, from what was believed beforehand and what was seen."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from statistics import median

PRIOR_WEIGHT = 2.0
"""So many past parts is what is believed beforehand worth. [chosen: three firings outweigh it]"""
_CHI2_MEDIAN = 0.455
"""Median of a squared normal deviate. [source: tables of the chi-squared distribution, one degree of freedom]"""


def times_prior(squares: Sequence[float]) -> float:
    """Return how many times the deviation believed beforehand is right.

    By the median of the squares one night with a vent does not widen it.

    Parameters
    ----------
    squares
        The squares of what was seen, each over the deviation believed beforehand [1].
    """
    if not squares:
        return 1.0
    return sqrt((PRIOR_WEIGHT + len(squares) * median(squares) / _CHI2_MEDIAN) / (PRIOR_WEIGHT + len(squares)))
