"""Whether readings stand still, and what they come to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, linear_regression

from daemon.sensor.reference import Method

WINDOW_S = 60.0
"""Readings of so long are averaged [s]. [chosen: a sheath of 3 mm follows within that]"""
LEAST_READINGS = 10
"""Fewer readings are not averaged: the window grows until it has them. [chosen: tells the scatter
within a quarter]"""
STILL_K = {Method.ICE: 0.3, Method.BOILING: 0.5, Method.HOLD: 3.0}
"""A mean that moves by no more than this in a window stands still [K]. [chosen: small against what is stated; a kiln
swings by some kelvins as its elements switch]"""


@dataclass(frozen=True, slots=True)
class Steady:
    """What readings of one window come to.

    Attributes
    ----------
    mean_c
        Their mean [°C].
    scatter_k
        Standard deviation around their line [K].
    moved_k
        How far the line moved within the window, with its sign [K].
    number, span_s
        How many they are, and from the first to the last [s].
    """

    mean_c: float
    scatter_k: float
    moved_k: float
    number: int
    span_s: float

    def stands_still(self, method: Method) -> bool:
        """Return whether the mean stood still, as well as the scatter lets one tell.

        The movement of a line through n evenly spaced readings of scatter s has the standard deviation
        s·√(12/n) [derived: least squares]; twice that is borne with.
        """
        return abs(self.moved_k) <= STILL_K[method] + 2 * self.scatter_k * sqrt(12 / self.number)


def latest(readings: Sequence[tuple[float, float]]) -> Steady | None:
    """Return what the last readings come to; None for too few, or where they span too little time.

    Parameters
    ----------
    readings
        Times [s] and temperatures [°C], oldest first.
    """
    if len(readings) < LEAST_READINGS or readings[-1][0] - readings[0][0] < WINDOW_S:
        return None
    begin_s = readings[-1][0] - WINDOW_S
    inside = [one for one in readings if one[0] >= begin_s]
    if len(inside) < LEAST_READINGS:
        inside = list(readings[-LEAST_READINGS:])
    times, temps = [t_s for t_s, _ in inside], [temp_c for _, temp_c in inside]
    span_s = times[-1] - times[0]
    if span_s <= 0.0:
        return None
    slope, start_c = linear_regression(times, temps)
    left = [temp_c - (start_c + slope * t_s) for t_s, temp_c in inside]
    return Steady(fmean(temps), sqrt(sum(one * one for one in left) / (len(left) - 2)), slope * span_s, len(inside),
                  span_s)
