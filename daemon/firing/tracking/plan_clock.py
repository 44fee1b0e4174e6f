"""What the plan's own clock says of a boundary between two parts, and whether the readings allow it.

A controller times its holds to the second, and so does a ramp that the kiln keeps up with. Where the readings bend
softly (a slow fall after a hold, a top approached slowly, two ramps of like rates), the planned time is known
better than any fit can tell it. Where they bend sharply at another time, the readings win: somebody lengthened the
hold or left it by hand.
"""

from __future__ import annotations

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.trace.recent import FILTERED_VARIANCE_SHARE, Trail
from daemon.firing.tracking.wander import WANDER_MEMORY_S

_CLOCK_NATS = 5.0
"""How much worse the readings may fit at the planned time than at the best change point [nats]: most holds last as
planned. [tuned: clean firings, seeds 5000 to 5099]"""
_ASKED_SHARE, _ASKED_LEAST_S, _ASKED_MOST_S = 0.3, 240.0, 2400.0
"""The planned time counts only this near to the change point: a share of the part's planned length, but no less and
no more than so many seconds. [tuned: clean firings, seeds 5000 to 5099]"""
_AROUND_S = 480.0
"""Two lines are fitted over so long before and after both times [s]. [tuned: clean firings, seeds 5000 to 5099]"""
_FIT_LEAST_EACH = 3
"""Each of the two lines needs so many readings. [derived: a line with residuals needs three]"""
_SLOW_SHARE = 0.6
"""A climb at less than this share of its planned rate approaches its hold slowly.
[tuned: clean firings, seeds 5000 to 5099]"""
_NEAR_S = 180.0
"""A climb that needs no longer than this at its planned rate is as good as there [s]; lines beside a time are drawn
over as long. [tuned: clean firings, seeds 5000 to 5099]"""
_BESIDE_STEPS, _AT_CLOCK_S, _BEFORE_END_S = 3.0, 30.0, 20.0
"""A line beside a time takes at least so many readings of a slow logger; at the planned start it reaches a little
beyond [s], at the hold's end it stops a little before [s]. [tuned: by trial on the bench, study not kept]"""
_HELD_SHARE = 0.35
"""A short top that no state saw must have stood at its height for this share of its planned time.
[tuned: clean firings, seeds 5000 to 5099]"""
_HEIGHT_K = 4.0
"""… within this of its greatest height [K]. [tuned: clean firings, seeds 5000 to 5099]"""
_BEFORE_TOP_S = 300.0
"""The greatest height is sought from this long before the planned start of the top [s].
[tuned: by trial on the bench, study not kept]"""
_TOP_SHARE, _TOP_LEAST_READINGS = 10, 5
"""The height of a top is its highest reading but for one in so many, and needs so many readings at least, so that
no lone reading sets it. [tuned: by trial on the bench, study not kept]"""
_BESIDE_TOP_S, _BESIDE_TOP_STEPS = 30.0, 1.5
"""The mean at the planned start of a top is taken over so many seconds, or steps of a slow logger, on each side.
[tuned: by trial on the bench, study not kept]"""
_SHORT_OF_IT_K = 10.0
"""A controller that waits for its kiln begins to time the hold this far below it, at most [K]. [common practice]"""


def end_by_clock(trail: Trail, bend_s: float, start_s: float, part: PlannedPart, wander_k: float) -> float:
    """Return when ``part`` ended [s]: after its planned time if the readings allow it, else at the change point."""
    if part.rate_c_per_h is None:
        return bend_s
    clock_s = start_s + part.duration_s
    return clock_s if is_asked(bend_s, clock_s, part) and _fits(trail, bend_s, clock_s, wander_k) else bend_s


def start_by_clock(trail: Trail, bend_s: float, end_s: float, hold: PlannedPart, wander_k: float,
                   planned_climb_c_per_h: float | None) -> float:
    """Return when ``hold`` began [s], counted back from its end.

    A top that the kiln approached slowly may have begun below its level: a controller that waits for its kiln starts
    the hold's time within a few kelvin of the target. One that seems to have lasted longer than planned, and to which
    the kiln still climbed meanwhile, began when it had come near. (Weighed: a hold that the maker made longer. The
    kiln stands still in that.) ``planned_climb_c_per_h`` is the planned rate of the climb before it, None where no
    climb leads to it.
    """
    clock_s = end_s - hold.duration_s
    if is_asked(bend_s, clock_s, hold) and _fits(trail, bend_s, clock_s, wander_k):
        return clock_s
    if not planned_climb_c_per_h:
        return bend_s
    if clock_s >= bend_s:
        return clock_s if _still_climbs(trail, bend_s, clock_s) else bend_s
    return clock_s if _is_approached_slowly(trail, clock_s, end_s, planned_climb_c_per_h) else bend_s


def unseen_hold_s(trail: Trail, left_s: float, hold: PlannedPart, offset_k: float, near_k: float) -> float | None:
    """Return when a short top that the follower passed over began [s]; None if there was none.

    Parameters
    ----------
    trail
        The recent readings.
    left_s
        When the fall after the top began [s].
    hold
        The top as planned.
    offset_k
        The usual difference of probe and plan [K].
    near_k
        How closely a target can be told [K].
    """
    first, last = trail.index_at(left_s - hold.duration_s - _BEFORE_TOP_S), trail.index_at(left_s)
    temps = trail.temps[first:last]
    if len(temps) < _TOP_LEAST_READINGS:
        return None
    level_c = sorted(temps)[-1 - len(temps) // _TOP_SHARE]
    if abs(level_c - offset_k - hold.to_c) > near_k:
        return None
    reached_s = next(trail.times[i] for i in range(first, last) if trail.temps[i] >= level_c - _HEIGHT_K)
    if left_s - reached_s < _HELD_SHARE * hold.duration_s:
        return None
    clock_s = left_s - hold.duration_s
    beside_s = max(_BESIDE_TOP_S, _BESIDE_TOP_STEPS * trail.step_s)
    line = trail.line(clock_s - beside_s, clock_s + beside_s)
    return clock_s if line is not None and line.mean_c >= level_c - _SHORT_OF_IT_K else max(clock_s, reached_s)


def is_asked(bend_s: float, clock_s: float, part: PlannedPart) -> bool:
    """Return whether the planned end ``clock_s`` of a part is near enough to a change point to be believed of it."""
    return abs(clock_s - bend_s) <= max(_ASKED_LEAST_S, min(_ASKED_SHARE * part.duration_s, _ASKED_MOST_S))


def _fits(trail: Trail, bend_s: float, clock_s: float, wander_k: float) -> bool:
    """Return whether two lines that meet at ``clock_s`` fit about as well as two that meet at ``bend_s``.

    The log likelihood lost is the growth of the sum of squared residuals over twice the variance of the readings.
    """
    i = trail.index_at(min(bend_s, clock_s) - _AROUND_S)
    j = trail.index_at(max(bend_s, clock_s) + _AROUND_S)
    bend, clock = trail.index_at(bend_s), trail.index_at(clock_s)
    whole = trail.line_between(i, j)
    first, last = i + _FIT_LEAST_EACH, j - _FIT_LEAST_EACH
    if whole is None or not (first <= clock <= last and first <= bend <= last):
        return False
    lost = trail.bend_gain(i, j, bend, whole) - trail.bend_gain(i, j, clock, whole)
    slow = wander_k**2 * max(1.0, WANDER_MEMORY_S / max(trail.step_s, 1.0))
    return lost / (2.0 * (FILTERED_VARIANCE_SHARE * trail.noise_k**2 + slow)) < _CLOCK_NATS


def _still_climbs(trail: Trail, bend_s: float, clock_s: float) -> bool:
    """Return whether the kiln was clearly lower at ``bend_s`` than at ``clock_s``."""
    beside_s = max(_NEAR_S, _BESIDE_STEPS * trail.step_s)
    early, late = trail.line(bend_s, bend_s + 2 * beside_s), trail.line(clock_s - beside_s, clock_s + beside_s)
    return early is not None and late is not None and late.at(clock_s) - early.at(bend_s) > _HEIGHT_K


def _is_approached_slowly(trail: Trail, clock_s: float, end_s: float, planned_c_per_h: float) -> bool:
    """Return whether at ``clock_s`` the kiln was a little short of the hold's level, and slow or soon there."""
    beside_s = max(_NEAR_S, _BESIDE_STEPS * trail.step_s)
    at_clock = trail.line(clock_s - beside_s, clock_s + _AT_CLOCK_S)
    at_end = trail.line(end_s - beside_s, end_s - _BEFORE_END_S)
    if at_clock is None or at_end is None:
        return False
    short_c = at_end.mean_c - at_clock.at(clock_s)
    is_slow = abs(at_clock.slope_c_per_s) * 3600 < _SLOW_SHARE * abs(planned_c_per_h)
    return short_c < _SHORT_OF_IT_K and (is_slow or short_c / abs(planned_c_per_h) * 3600 < _NEAR_S)
