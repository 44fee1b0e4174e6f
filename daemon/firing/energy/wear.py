"""How long a firing was hot enough to age elements and thermocouple."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

AGES_ABOVE_C = 600.0
"""Above this, elements oxidise and base-metal thermocouples drift enough to be counted [°C].
[common practice: wear is counted in hours at high temperature]"""
_LONGEST_STEP_S = 600.0
"""A longer step between readings is a gap, in which nothing is known [s]. [chosen: ten readings of a minute]"""


def hot_s(trace: Sequence[tuple[float, float]]) -> float:
    """Return how long a trace of (second, temperature [°C]) lay above AGES_ABOVE_C [s], gaps left out."""
    return sum(_above_s(*before, *after) for before, after in pairwise(trace)
               if after[0] - before[0] <= _LONGEST_STEP_S)


def _above_s(t0_s: float, c0: float, t1_s: float, c1: float) -> float:
    """Return how long a straight line between two readings lies above AGES_ABOVE_C [s]."""
    low, high = min(c0, c1), max(c0, c1)
    share = 1.0 if low >= AGES_ABOVE_C else 0.0 if high <= AGES_ABOVE_C else (high - AGES_ABOVE_C) / (high - low)
    return share * (t1_s - t0_s)
