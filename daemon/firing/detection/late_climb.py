"""How much later than planned a climb is, and whether the wait costs the glass anything.

Time at heat goes on for the glass while its climb waits: above 600 °C layers flow and haze begins. So what counts is
how late the climb is since it passed there, and how late it will come to its target by its own pace.
"""

from __future__ import annotations

from daemon.firing.plan.schedule import PlannedPart, part_before
from daemon.firing.situation.view import View
from daemon.glass.exposure import HAZE_C
from daemon.regression import Line

STALL_WAKE_ABOVE_C = 600.0
STALL_WAKE_AFTER_S = 1800.0
"""A climb that is so much later than planned wakes somebody where it is this hot [°C, s], if it has stood as long or
comes _LATE_AT_TOP_S late to its target: layers flow there and haze begins. Not the temperature below which glass is
brittle. [chosen: what the alert promises]"""
_LATE_AT_TOP_S = 5400.0
"""So late a climb comes to its target at the pace of the last half hour, for its wait to cost [s].
[chosen: a weak kiln that takes twice as long over its last 200 K is there sooner]"""
_PACE_WINDOW_S, _PACE_MISSING_S = 1800.0, 120.0
"""The pace of a climb is taken over the first; so much of it may be missing [s]. [tuned: by trial on the bench, study
not kept]"""
_UNDER_WAY_S = 600.0
"""A climb that gathers pace does so over so long [s]. [chosen: long against a controller's swing, and a third of the
window that it is weighed against]"""
CREEPS_K = 60.0
"""A weak kiln in order creeps through the last so many kelvins to its target; an element that fails is slow before
[K]. [common practice: as the bench has it, simulations/studies/quiet.py]"""
_FREE_CLIMB_C_PER_H = 100.0
"""A climb without a planned rate is judged as if this were planned [°C/h]. [common practice: any kiln in order climbs
faster]
"""


def planned_c_per_h(climb: PlannedPart) -> float:
    """Return by how much a climb should rise at least [°C/h], also where it has no planned rate."""
    return climb.rate_c_per_h or _FREE_CLIMB_C_PER_H


def pace(view: View, not_before_s: float) -> Line | None:
    """Return the line of the last half hour, no further back than ``not_before_s`` [s]; None where less was seen."""
    return view.trail.line(max(view.t_s - _PACE_WINDOW_S, not_before_s), least_s=_PACE_WINDOW_S - _PACE_MISSING_S)


def late_by_s(view: View, climb: PlannedPart) -> float | None:
    """Return how much later than planned the kiln is since it passed STALL_WAKE_ABOVE_C in ``climb`` [s].

    None where it is colder. Where it passed before the trail begins, the climb counts from there.
    """
    temp_c = view.temp_c - view.offset_k
    if temp_c <= STALL_WAKE_ABOVE_C:
        return None
    from_c = max(climb.from_c, STALL_WAKE_ABOVE_C)
    passed_s, trail = max(view.part_start_s, _due_s(view, climb)), view.trail
    if climb.from_c < STALL_WAKE_ABOVE_C:
        below = [t_s for t_s, read_c in zip(trail.times, trail.temps, strict=True)
                 if t_s >= passed_s and read_c - view.offset_k <= from_c]
        passed_s = below[-1] if below else max(passed_s, trail.times[0])
    return view.t_s - passed_s - max(0.0, temp_c - from_c) / planned_c_per_h(climb) * 3600


def _due_s(view: View, climb: PlannedPart) -> float:
    """Return when ``climb`` is due by the hold before it [s]; 0 where it has none, or where it was joined.

    The reading sags where a controller begins its integral at nothing, in the middle of a hold as well, and creeps
    back: that looks like the hold's end and a climb that stands. And a probe that reads far off stands where the
    follower sees no hold. But no controller gives less than the whole hold: it counts from where it was seen, or from
    where the climb was seen instead. (Weighed: a hold that the maker cut short or skipped. Its climb is told late by
    no more than what was cut.)
    """
    hold = part_before(view.parts, climb.index)
    if hold is None or hold.part != "hold" or len(view.found) < 2:
        return 0.0
    run = view.last_run(hold.index)
    return (view.part_start_s if run is None else run.start_s) + hold.duration_s


def costs(view: View, climb: PlannedPart, late_s: float | None, flat_s: float) -> bool:
    """Return whether a climb that is late costs the glass something.

    It does once it is late by STALL_WAKE_AFTER_S, and either stands, or will reach its target more than
    _LATE_AT_TOP_S late. That is worked out from its pace over half an hour, since the kiln of an on/off controller
    stands for minutes and then climbs on.

    Some controllers take half an hour after a hold until they heat as much as the climb needs. Then the pace of the
    last ten minutes is greater than that of half an hour, and is taken to grow on as it has grown, up to the planned
    one. From HAZE_C on it is not: there each minute of waiting costs, and below it the wait is a longer squeeze.
    (Weighed: a pace that stays slow, as with an element that failed. It is as slow over ten minutes, or grows less
    and less, and wakes then.)

    A weak kiln creeps up to its top, so in its last CREEPS_K it costs only where the kiln stands.
    """
    if late_s is None or late_s <= STALL_WAKE_AFTER_S:
        return False
    if flat_s > STALL_WAKE_AFTER_S:
        return True
    left_k, line = climb.to_c - (view.temp_c - view.offset_k), pace(view, view.resumed_s)
    if line is None or left_k < CREEPS_K:
        return False
    planned_c_per_s = planned_c_per_h(climb) / 3600
    on_time_s = _LATE_AT_TOP_S - late_s + left_k / planned_c_per_s
    lately = None if view.trail.swings_k else view.line(_UNDER_WAY_S, view.resumed_s)
    gained = max(0.0, 0.0 if lately is None else lately.slope_c_per_s - line.slope_c_per_s)
    # The middles of the two windows lie half of their difference apart; drawn on, the pace is the mean until on time.
    is_below_haze = climb.to_c - left_k < HAZE_C[0]
    ahead = (_PACE_WINDOW_S + on_time_s) / (_PACE_WINDOW_S - _UNDER_WAY_S) if is_below_haze else 1.0
    drawn_on = min(planned_c_per_s, line.slope_c_per_s + gained * ahead)
    return left_k > max(0.0, line.slope_c_per_s + gained, drawn_on) * on_time_s
