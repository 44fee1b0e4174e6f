"""Whether a figure that each firing shows is another since some firing: a change-point test.

At each place that parts the firings into earlier and later ones, the means of both are compared by Student's t with
a spread common to both, and the greatest is taken (the change-point model of statistical process control: Hawkins,
Qiu and Kang, Journal of Quality Technology 35, 2003, from memory). Two things are added. A few firings hardly show
how much nights differ; so what is believed of it beforehand counts as some firings more. And a firing far off, as one
with a draught, is drawn in, so that one alone makes no change.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import copysign, log, sqrt
from statistics import mean, median
from typing import NamedTuple

LEAST_BEFORE, LEAST_SINCE = 3, 3
"""So many firings before and since show a change. [chosen: of three, one may be far off]"""
_DRAWN_IN = 2.0
"""A value further than so many deviations from the middle of its side is drawn in to there. [source: Huber, Robust
Statistics: 1.3 to 2 deviations]"""
_MAD_TO_DEVIATION = 1.4826
"""A deviation is so many median absolute deviations. [source: tables of the normal distribution]"""


class Believed(NamedTuple):
    """How much a figure differs from night to night, before any night is known."""

    spread: float
    """One deviation."""
    worth: float
    """As many firings is it worth."""


class Change(NamedTuple):
    """The likeliest change of a figure."""

    since: int
    """The first value after it."""
    by: float
    """Later mean less earlier one."""
    off: float
    """One deviation of that."""
    deviations: float
    """The same as a normal deviate, with the sign of ``by``: how rarely it comes by chance at this one place."""


def likeliest(values: Sequence[float], believed: Believed) -> Change | None:
    """Return the likeliest change of a figure, however unlikely; None where the values are too few."""
    found = [at_place(values, since, believed)
             for since in range(LEAST_BEFORE, len(values) - LEAST_SINCE + 1)]
    return max(found, key=lambda change: abs(change.deviations), default=None)


def at_place(values: Sequence[float], since: int, believed: Believed) -> Change:
    """Return by how much the values from ``since`` on differ from those before."""
    sides = values[:since], values[since:]
    middles = [median(side) for side in sides]
    off = sorted(abs(value - middle) for side, middle in zip(sides, middles, strict=True) for value in side)
    worth, count = believed.worth, len(values)
    rough = sqrt((worth * believed.spread**2 + count * (_MAD_TO_DEVIATION * median(off)) ** 2) / (worth + count))
    near = [[min(middle + _DRAWN_IN * rough, max(middle - _DRAWN_IN * rough, value)) for value in side]
            for side, middle in zip(sides, middles, strict=True)]
    before, later = (mean(side) for side in near)
    squares = sum((value - centre) ** 2 for side, centre in zip(near, (before, later), strict=True) for value in side)
    freedom = worth + count - 2
    spread = sqrt((worth * believed.spread**2 + squares) / freedom)
    of_difference = spread * sqrt(1 / since + 1 / (count - since))
    return Change(since, later - before, of_difference, normal_deviate((later - before) / of_difference, freedom))


def normal_deviate(t: float, freedom: float) -> float:
    """Return the normal deviate that is as rare as a value of Student's t with so many degrees of freedom.

    [source: Wallace, Annals of Mathematical Statistics 30, 1959, from memory: within a few hundredths from five
    degrees on]
    """
    return copysign((8 * freedom + 1) / (8 * freedom + 3) * sqrt(freedom * log(1 + t * t / freedom)), t)
