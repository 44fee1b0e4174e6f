"""What the climbs of a kiln show: how much its elements can do, and how long its controller waits."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median
from typing import NamedTuple

from daemon.firing.energy.thermal import Heat, Thermal, losing_k_per_s, walls_along
from daemon.kiln.past_firing import PastFiring, Ran

_SETTLES_S, _NEAR_TARGET_K, _COLD_C = 420.0, 10.0, 150.0
"""A climb shows the power from so long after its beginning until so long before its end, up to so far below its
target, and above this [s, K, °C]. [chosen: two minutes more than half the ten minutes of a slope; near the target the
controller holds back; most probes are worst when cold]"""
_LEAST_ROWS = 10
"""Readings of a climb that show its power. [chosen: ten minutes]"""
_HIGH_SHARE = 0.93
"""The power of a climb is the one that this share of its readings is below. [chosen: the highest but for noise]"""
_FADES, _BELOW_PLAN = 0.85, 0.93
"""A climb in which all power is on slows down to less than the first share of its first quarter, and all of them to
less than the second of the plan. [tuned: kilns of the bench, seeds 0 to 39 of benchmarks.foresight]"""
_AS_HIGH, _NEIGHBOURS, _SPARE = 0.82, 4, 4
"""And it has at least this share of the highest power that the firing, and so many before and after it, showed; of
more climbs than the last figure the second highest. [tuned: kilns of the bench, seeds 1000 to 1059 of
benchmarks.wear; elements tire, so that firings far apart are not compared]"""
_MORE_THAN_SEEN = 1.15
"""Where no climb showed the limit, it lies so many times higher than the greatest power seen. [chosen: above it, the
kiln may be able to do more; nobody has tried]"""
_PRIOR_POWER_K_PER_S = 700.0 / 3600.0
"""The power of a kiln that was never seen to climb [K/s]. [common practice: a small studio kiln]"""
_LEAST_CLIMB_S = 900.0
"""A shorter climb tells more of where its boundary was put than of the kiln [s]. [chosen: a boundary may be some
minutes off]"""


class Climb(NamedTuple):
    """What one climb shows."""

    firing: int
    """Which of the firings, from 0."""
    rise_k: float
    longer_s_per_k: float | None
    """By how much each kelvin took longer than planned [s/K]; None where nothing was planned, or it is short."""
    high_k_per_s: float
    """The greatest power it took [K/s of the chamber]."""
    late_k_per_s: float
    """The power of its last quarter [K/s of the chamber]."""
    is_short: bool
    """Whether it was slower than planned in its last quarter and ended late, or was asked to climb as fast as it can.

    One that ended in time only made up for having been ahead."""
    fades: bool
    """Whether it slowed down on the way."""


def climbs_of(past: Sequence[PastFiring], thermal: Thermal) -> list[Climb]:
    """Return what the climbs of the firings show."""
    found = []
    for number, firing in enumerate(past):
        walls = walls_along(thermal, firing.trace, firing.room_c)
        powers = [slope + losing_k_per_s(thermal, Heat(temp_c, walls_c), firing.room_c)
                  for slope, (_, temp_c), walls_c in zip(firing.slopes, firing.trace, walls, strict=True)]
        for ran in firing.ran:
            planned = firing.planned[ran.part]
            rows = [i for i in firing.rows(ran.start_s + _SETTLES_S, ran.end_s - _SETTLES_S)
                    if _COLD_C < firing.trace[i][1] < planned.to_c - _NEAR_TARGET_K]
            if planned.direction > 0 and len(rows) >= _LEAST_ROWS:
                found.append(_climb(number, firing, ran, rows, powers))
    return found


def _climb(number: int, firing: PastFiring, ran: Ran, rows: Sequence[int], powers: Sequence[float]) -> Climb:
    planned = firing.planned[ran.part]
    rise_k, rate = planned.to_c - planned.from_c, planned.rate_c_per_h
    ordered, quarter = sorted(powers[i] for i in rows), max(1, len(rows) // 4)
    first, last = (median(firing.slopes[i] for i in part) for part in (rows[:quarter], rows[-quarter:]))
    is_timed, is_late = rate is not None and planned.duration_s >= _LEAST_CLIMB_S, ran.took_s > planned.duration_s
    return Climb(number, rise_k, (ran.took_s - planned.duration_s) / rise_k if is_timed else None,
                 ordered[int(_HIGH_SHARE * len(ordered))], median(powers[i] for i in rows[-quarter:]),
                 rate is None or (is_late and last < _BELOW_PLAN * rate / 3600),
                 rate is None or last < _FADES * first)


def at_full_power(climbs: Sequence[Climb]) -> list[Climb]:
    """Return the climbs that ended with all power on.

    They are slower than planned, and take as much power as any of the firings around them: the elements' limit is
    the same in each climb, but what a controller takes that waits, or holds back, depends on the climb. One of
    them at least slows down on the way, as a kiln does that loses more the hotter it is.
    """
    found = []
    for climb in climbs:
        around = sorted(other.late_k_per_s for other in climbs if abs(other.firing - climb.firing) <= _NEIGHBOURS)
        highest = around[-2 if len(around) >= _SPARE else -1]
        if climb.is_short and climb.late_k_per_s >= _AS_HIGH * highest:
            found.append(climb)
    return [climb for climb in found
            if any(other.fades and abs(other.firing - climb.firing) <= _NEIGHBOURS for other in found)]


def power(climbs: Sequence[Climb]) -> tuple[float, bool]:
    """Return the elements' greatest power [K/s of the chamber], and whether a climb showed that it is."""
    limits = [climb.late_k_per_s for climb in at_full_power(climbs)]
    if limits:
        return median(limits), True
    highest = [climb.high_k_per_s for climb in climbs]
    return (_MORE_THAN_SEEN * max(highest) if highest else _PRIOR_POWER_K_PER_S), False


def shown_power(climbs: Sequence[Climb]) -> float:
    """Return the most that the elements have surely shown [K/s of the chamber]: their limit, or the greatest seen.

    ``climbs`` are one or more.
    """
    greatest, is_limit = power(climbs)
    return greatest if is_limit else greatest / _MORE_THAN_SEEN


def waits_s_per_k(climbs: Sequence[Climb]) -> float:
    """Return how much longer the controller makes each kelvin of a climb [s/K]: the median, by kelvins.

    A controller that waits until the kiln has come after makes each kelvin longer by the same time, whatever the
    rate. A climb in which the kiln could do no more tells nothing of the controller.
    """
    full = {id(climb) for climb in at_full_power(climbs)}
    found = sorted((climb.longer_s_per_k, climb.rise_k) for climb in climbs
                   if climb.longer_s_per_k is not None and id(climb) not in full)
    passed_k, all_k = 0.0, sum(rise_k for _, rise_k in found)
    for longer_s_per_k, rise_k in found:
        passed_k += rise_k
        if passed_k >= all_k / 2:
            return max(0.0, longer_s_per_k)
    return 0.0
