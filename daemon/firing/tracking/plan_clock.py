"""What the plan's own clock says of a boundary, and whether the readings allow it.

A controller times its holds to the second, and a ramp it keeps up with as well. Where the readings bend
softly (a slow fall after a hold, a top that is crept up to, two ramps alike) the clock knows better than
any fit; where they bend sharply elsewhere, the readings win: a hold lengthened or left by hand.
"""

from __future__ import annotations

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.wander import WANDER_MEMORY_S

_CLOCK_NATS = 5.0
"""How much worse the readings may fit at the clock's time than at the best knot: most holds last as planned."""
_SHARE, _LEAST_S, _MOST_S = 0.3, 240.0, 2400.0
"""The clock is asked only this near to the knot [of the planned time, but between these seconds]."""
_BESIDE_S = 480.0
_CREEP_SHARE = 0.6
"""A climb at less than this share of its plan creeps up to its hold."""
_SOON_S = 180.0
_FILTERED_NOISE_SHARE = 0.45
_HELD_SHARE = 0.35
_HEIGHT_K = 4.0
_SHORT_OF_IT_K = 10.0
"""A controller that waits for its kiln begins to time the hold this far below it, at most; common practice."""


def end_by_clock(trail: Trail, knot_s: float, start_s: float, part: PlannedPart, wander_c: float) -> float:
    """Return when ``part`` ended [s]: by the plan's clock if the readings allow it, else at the knot."""
    if part.rate_c_per_h is None:
        return knot_s
    clock_s = start_s + part.duration_s
    return clock_s if is_asked(knot_s, clock_s, part) and _fits(trail, knot_s, clock_s, wander_c) else knot_s


def start_by_clock(trail: Trail, knot_s: float, end_s: float, hold: PlannedPart, wander_c: float,
                   planned_climb_c_per_h: float | None) -> float:
    """Return when ``hold`` began [s], seen from its end; a top that was crept up to may begin below its level."""
    clock_s = end_s - hold.duration_s
    if is_asked(knot_s, clock_s, hold) and _fits(trail, knot_s, clock_s, wander_c):
        return clock_s
    if planned_climb_c_per_h and clock_s < knot_s and _is_crept_up_to(trail, clock_s, end_s, planned_climb_c_per_h):
        return clock_s
    return knot_s


def unseen_hold_s(trail: Trail, left_s: float, hold: PlannedPart, offset_c: float, near_c: float) -> float | None:
    """Return when a short top that no state saw began [s], before the fall that began at ``left_s``; None if none."""
    temps = trail.temps[trail.index_at(left_s - hold.duration_s - 300.0):trail.index_at(left_s)]
    if len(temps) < 5:
        return None
    level_c = sorted(temps)[-1 - len(temps) // 10]
    if abs(level_c - offset_c - hold.to_c) > near_c:
        return None
    first, last = trail.index_at(left_s - hold.duration_s - 300.0), trail.index_at(left_s)
    reached_s = next(trail.times[i] for i in range(first, last) if trail.temps[i] >= level_c - _HEIGHT_K)
    if left_s - reached_s < _HELD_SHARE * hold.duration_s:
        return None
    clock_s = left_s - hold.duration_s
    beside_s = max(30.0, 1.5 * trail.step_s)
    line = trail.line(clock_s - beside_s, clock_s + beside_s)
    return clock_s if line is not None and line.mean_c >= level_c - _SHORT_OF_IT_K else max(clock_s, reached_s)


def is_asked(knot_s: float, clock_s: float, part: PlannedPart) -> bool:
    """Return whether the plan's clock is near enough to a knot to be asked about it."""
    return abs(clock_s - knot_s) <= max(_LEAST_S, min(_SHARE * part.duration_s, _MOST_S))


def _fits(trail: Trail, knot_s: float, clock_s: float, wander_c: float) -> bool:
    """Return whether two lines that meet at ``clock_s`` fit the readings about as well as any that meet elsewhere."""
    i = trail.index_at(min(knot_s, clock_s) - _BESIDE_S)
    j = trail.index_at(max(knot_s, clock_s) + _BESIDE_S)
    knot, clock = trail.index_at(knot_s), trail.index_at(clock_s)
    whole = trail.line_between(i, j)
    if whole is None or not (i + 3 <= clock <= j - 3 and i + 3 <= knot <= j - 3):
        return False
    lost = trail.bend_gain(i, j, knot, whole) - trail.bend_gain(i, j, clock, whole)
    slow = wander_c**2 * max(1.0, WANDER_MEMORY_S / max(trail.step_s, 1.0))
    return lost / (2.0 * (_FILTERED_NOISE_SHARE * trail.noise_c**2 + slow)) < _CLOCK_NATS


def _is_crept_up_to(trail: Trail, clock_s: float, end_s: float, planned_c_per_h: float) -> bool:
    """Return whether the readings at ``clock_s`` stood near where the hold ended: crept there, or soon there."""
    beside_s = max(180.0, 3 * trail.step_s)
    at_clock, at_end = trail.line(clock_s - beside_s, clock_s + 30.0), trail.line(end_s - beside_s, end_s - 20.0)
    if at_clock is None or at_end is None:
        return False
    short_c = at_end.mean_c - at_clock.at(clock_s)
    creeps = abs(at_clock.slope_c_per_s) * 3600 < _CREEP_SHARE * abs(planned_c_per_h)
    return short_c < _SHORT_OF_IT_K and (creeps or short_c / abs(planned_c_per_h) * 3600 < _SOON_S)
