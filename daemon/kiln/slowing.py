"""By how much the last fall of this kiln becomes slower as the kiln gets colder.

Newton's law of cooling has one time constant. A kiln's grows while it falls: the lining conducts worse when it is
colder, radiation fades with the third power of the absolute temperature, and heat comes from ever deeper in the
walls. Within the last fall the time constant grows about as a power of the distance from the room. The power is about
the same on every night in a kiln, whatever lies in it; the time constant is not, and is measured in the fall.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import log

from daemon.kiln.past_firing import PastFiring

_STRETCH = 0.3
"""A fall is looked at in stretches in which the distance from the room falls by such a logarithm. [chosen: a
third]"""
_APART = 0.5
"""Stretches nearer together than this say nothing of how the time constant grows. [chosen: two stretches]"""
_HIGHEST_K = 200.0
"""Further above the room than this a fall says nothing of it [K]: at first the chamber falls to the walls, and its
time constant grows with every hour, whatever the kiln. (Weighed against that: all of the fall. The power was then too
large, and the opening foreseen 20 minutes too late six to eight hours before.) [tuned: kilns of the bench, seeds 400
to 430 of benchmarks.foresight]"""
_PRIOR, _PRIOR_WEIGHT = 0.04, 2.0
"""What is believed beforehand, and how many pairs of stretches that is worth. [tuned: kilns of the bench, seeds
400 to 430 of benchmarks.foresight]"""
_LEAST, _MOST = -0.1, 0.5
"""No kiln is outside of these. [chosen: twice what any of the bench has]"""


def slows(past: Sequence[PastFiring]) -> float:
    """Return the power p: the time constant of the last fall is in proportion to (temperature − room) ** −p.

    The weighted median over all pairs of stretches of a night, so that a vent or a look spoils little.
    """
    found = [(_PRIOR, _PRIOR_WEIGHT)]
    for firing in past:
        for (high, time_high), (low, time_low) in combinations(_time_constants(firing), 2):
            if high - low >= _APART:
                found.append(((time_low - time_high) / (high - low), high - low))
    half, passed = sum(weight for _, weight in found) / 2, 0.0
    for value, weight in sorted(found):
        passed += weight
        if passed >= half:
            return min(max(value, _LEAST), _MOST)
    return _PRIOR


def _time_constants(firing: PastFiring) -> list[tuple[float, float]]:
    """Return (log of the distance from the room, log of the time constant) along the fall after the plan."""
    falls = firing.unpowered_falls()
    if not falls or not firing.ran or firing.ran[-1].part != len(firing.planned) - 1 or (
            firing.trace[falls[-1][0]][0] < firing.ran[-1].start_s):
        return []
    along = ((firing.trace[i][0], firing.trace[i][1] - firing.room_c) for i in falls[-1])
    points = [(t_s, above_k) for t_s, above_k in along if 0.0 < above_k < _HIGHEST_K]
    if not points:
        return []
    found, (from_s, from_k) = [], points[0]
    for t_s, above_k in points:
        fallen = log(from_k / above_k)
        if fallen >= _STRETCH:
            found.append(((log(from_k) + log(above_k)) / 2, log((t_s - from_s) / fallen)))
            from_s, from_k = t_s, above_k
    return found
