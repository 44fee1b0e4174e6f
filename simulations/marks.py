"""When the beginning of a ramp or hold shows in the watched curve, which may be minutes off the controller's time.

An element that is silent for some minutes, a thick probe, a kiln that creeps up to its target: the controller has
begun the next part, or begins it late, and the curve bends at another time. Any time between the two is right.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

_AROUND_S = 900.0
"""The bend is looked for this far on either side of the controller's own time [s].
[chosen: longer than a hot controller takes to settle, shorter than most parts]"""
_EVERY_S = 20.0
"""The curve is taken this often [s]. [chosen: finer than the 3 minutes by which boundaries are judged]"""
_LEAST = 6
"""Fewest points on either side of a bend. [chosen: two minutes make a line]"""
_CLEARLY = 0.25
"""Two lines must leave no more than this share of the squares that one line leaves, or there is no bend.
[chosen: a bend that can be seen]"""
_LEAST_K = 0.1
"""A curve that one line meets this closely, root mean square, has no bend [K]. [chosen: below any probe's noise]"""
BEFORE_S = 420.0
"""So much of the curve before a boundary says how it went there [s]. [chosen: a hand's ruler on the paper]"""
AFTER_S = 600.0
"""A boundary shows so long after it at the latest [s]. [chosen: as a boundary's wide tolerance]"""
_IDLE, _FULL = 0.02, 0.98
"""Power is off below the first share of full power, and full above the second. [chosen: nearly none, nearly all]"""


def bend_s(
    times_s: Sequence[float], temps_c: Sequence[float | None], at_s: float, after_s: float, before_s: float,
) -> float | None:
    """Return when the curve bends near ``at_s`` [s]; None where it doesn't clearly.

    Two straight lines by least squares, one before and one after; the bend is where the two leave least.

    Parameters
    ----------
    times_s, temps_c
        Seconds, rising, and the curve without noise then [°C]; None where there is none.
    at_s
        When the controller began the part [s].
    after_s, before_s
        The bend is looked for between these [s]: the part before and the part itself.
    """
    from_s, to_s = max(after_s, at_s - _AROUND_S), min(before_s, at_s + _AROUND_S)
    points: list[tuple[float, float]] = []
    for n in range(bisect_left(times_s, from_s), len(times_s)):
        t_s, temp_c = times_s[n], temps_c[n]
        if t_s > to_s:
            break
        if temp_c is not None and (not points or t_s - at_s >= points[-1][0] + _EVERY_S):
            points.append((t_s - at_s, temp_c))
    if len(points) < 2 * _LEAST:
        return None
    sums = _running_sums(points)
    left = {n: _squares(sums, 0, n) + _squares(sums, n, len(points)) for n in range(_LEAST, len(points) - _LEAST + 1)}
    best = min(left, key=lambda n: left[n])
    whole = _squares(sums, 0, len(points))
    if whole < len(points) * _LEAST_K**2 or left[best] > _CLEARLY * whole:
        return None
    return at_s + points[best][0]


def is_unmarked(at_s: float, times_s: Sequence[float], duties: Sequence[float]) -> bool:
    """Return whether a boundary leaves no mark in the curve: the power stays off, or full, all about it.

    A free fall that goes over into a ramp that is steeper than the kiln can cool is one curve, and so are two climbs
    at full power. Nobody can tell from the temperature where the first ends.

    Parameters
    ----------
    at_s
        When the controller began the part [s].
    times_s, duties
        Seconds, rising, and the share of full power then.
    """
    about = duties[bisect_left(times_s, at_s - BEFORE_S):bisect_left(times_s, at_s + AFTER_S)]
    return at_s - BEFORE_S > times_s[0] and bool(about) and (max(about) < _IDLE or min(about) > _FULL)


def _running_sums(points: Sequence[tuple[float, float]]) -> list[tuple[float, float, float, float, float]]:
    """Return the sums of t, T, t², tT and T² over the first n points, for n from 0."""
    sums = [(0.0, 0.0, 0.0, 0.0, 0.0)]
    for t, y in points:
        a, b, c, d, e = sums[-1]
        sums.append((a + t, b + y, c + t * t, d + t * y, e + y * y))
    return sums


def _squares(sums: Sequence[tuple[float, float, float, float, float]], first: int, last: int) -> float:
    """Return the sum of squares that the least-squares line through points ``first`` to ``last - 1`` leaves [K²]."""
    n = last - first
    t, y, tt, ty, yy = (b - a for a, b in zip(sums[first], sums[last], strict=True))
    s_tt, s_ty, s_yy = tt - t * t / n, ty - t * y / n, yy - y * y / n
    return max(0.0, s_yy - (s_ty * s_ty / s_tt if s_tt > 0 else 0.0))
