"""What the climbs of a kiln show: how much its elements can do, and how long its controller waits."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median
from typing import NamedTuple

from daemon.kiln.past_firing import PastFiring, Ran
from daemon.kiln.thermal import Heat, Thermal, losing_k_per_s, walls_along

_SETTLES_S, _NEAR_TARGET_K, _COLD_C = 420.0, 10.0, 150.0
"""A climb shows the power from so long after its beginning until so long before its end, up to so far below its
target, and above this [s, K, °C]. [chosen: two minutes more than half the ten minutes of a slope; near the target the
controller holds back; most probes are worst when cold]"""
_LEAST_ROWS = 10
"""Readings of a climb that show its power. [chosen: ten minutes]"""
_LONG_ROWS = 30
"""Fewer readings do not show that a climb slows down. [chosen: half an hour; at first the controller catches up, and
near the target it holds back]"""
_HIGH_SHARE = 0.93
"""The power of a climb is the one that this share of its readings is below. [chosen: the highest but for noise]"""
_FADES, _BELOW_PLAN = 0.85, 0.9
"""A climb in which all power is on slows down to less than this share of its first quarter, and of the plan.
[tuned: kilns of the bench, seeds 0 to 39 of benchmarks.foresight]"""
_MORE_THAN_SEEN = 1.15
"""Where no climb showed the limit, it lies so many times higher than the greatest power seen. [chosen: above it, the
kiln may be able to do more; nobody has tried]"""
_UPPER = 0.6
"""Nor does it lie below this share of the climbs' highest powers. [chosen: mains and load differ from night to night;
a little above the middle]"""
_PRIOR_POWER_K_PER_S = 700.0 / 3600.0
"""The power of a kiln that was never seen to climb [K/s]. [common practice: a small studio kiln]"""
_LEAST_CLIMB_S = 900.0
"""A shorter climb tells more of where its boundary was put than of the kiln [s]. [chosen: a boundary may be some
minutes off]"""


class Climb(NamedTuple):
    """What one climb shows."""

    rise_k: float
    longer_s_per_k: float | None
    """By how much each kelvin took longer than planned [s/K]; None where nothing was planned, or it is short."""
    high_k_per_s: float
    """The greatest power it took [K/s of the chamber]."""
    limit_k_per_s: float | None
    """The power at which it could do no more; None where it shows no limit."""


def climbs_of(past: Sequence[PastFiring], thermal: Thermal) -> list[Climb]:
    """Return what the climbs of the firings show.

    With all power on, a climb slows down as the kiln gets hotter. A controller that waits keeps its pace.
    """
    found = []
    for firing in past:
        walls = walls_along(thermal, firing.trace, firing.room_c)
        powers = [slope + losing_k_per_s(thermal, Heat(temp_c, walls_c), firing.room_c)
                  for slope, (_, temp_c), walls_c in zip(firing.slopes, firing.trace, walls, strict=True)]
        for ran in firing.ran:
            planned = firing.planned[ran.part]
            rows = [i for i in firing.rows(ran.start_s + _SETTLES_S, ran.end_s - _SETTLES_S)
                    if _COLD_C < firing.trace[i][1] < planned.to_c - _NEAR_TARGET_K]
            if planned.direction > 0 and len(rows) >= _LEAST_ROWS:
                found.append(_climb(firing, ran, rows, powers))
    return found


def _climb(firing: PastFiring, ran: Ran, rows: Sequence[int], powers: Sequence[float]) -> Climb:
    planned = firing.planned[ran.part]
    rise_k, rate = planned.to_c - planned.from_c, planned.rate_c_per_h
    ordered, quarter = sorted(powers[i] for i in rows), max(1, len(rows) // 4)
    first, last = (median(firing.slopes[i] for i in part) for part in (rows[:quarter], rows[-quarter:]))
    is_limit = rate is None or (
        len(rows) >= _LONG_ROWS and last < min(_FADES * first, _BELOW_PLAN * rate / 3600))
    is_timed = rate is not None and planned.duration_s >= _LEAST_CLIMB_S
    return Climb(rise_k, (ran.took_s - planned.duration_s) / rise_k if is_timed else None,
                 ordered[int(_HIGH_SHARE * len(ordered))],
                 median(powers[i] for i in rows[-quarter:]) if is_limit else None)


def power(climbs: Sequence[Climb]) -> tuple[float, bool]:
    """Return the elements' greatest power [K/s of the chamber], and whether a climb showed that it is."""
    highest = sorted(climb.high_k_per_s for climb in climbs)
    limits = [climb.limit_k_per_s for climb in climbs if climb.limit_k_per_s is not None]
    if limits:
        return max(median(limits), highest[int(_UPPER * len(highest))]), True
    return (_MORE_THAN_SEEN * highest[-1] if highest else _PRIOR_POWER_K_PER_S), False


def waits_s_per_k(climbs: Sequence[Climb]) -> float:
    """Return how much longer the controller makes each kelvin of a climb [s/K]: the median, by kelvins.

    A controller that waits until the kiln has come after makes each kelvin longer by the same time, whatever the
    rate. A climb in which the kiln could do no more tells nothing of the controller.
    """
    found = sorted((climb.longer_s_per_k, climb.rise_k) for climb in climbs
                   if climb.longer_s_per_k is not None and climb.limit_k_per_s is None)
    passed_k, all_k = 0.0, sum(rise_k for _, rise_k in found)
    for longer_s_per_k, rise_k in found:
        passed_k += rise_k
        if passed_k >= all_k / 2:
            return max(0.0, longer_s_per_k)
    return 0.0
