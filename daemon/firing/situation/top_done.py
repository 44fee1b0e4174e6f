"""Whether a top hold is as good as done, though the follower may still see the climb to it."""

from __future__ import annotations

from daemon.firing.plan.schedule import PlannedPart, passing_s
from daemon.firing.situation.hold_measure import entered_maximum_s, near_maximum_s
from daemon.firing.situation.natural_fall import is_unpowered
from daemon.firing.situation.view import NEVER_NEAR_K, View

_LEAVES_S = 120.0
"""A top may have been left so much later than the fall is dated [s]. [chosen: the window of a slope]"""
_CREPT_K, _MOST_SHARE = 25.0, 0.7
"""A top counts as held within so far of its maximum [K], and as good as done after this share of its time.
[chosen: a weak kiln takes the last 25 K slowly, and of ten minutes three are no loss]"""
_HALF = 0.5
"""A top of which more than this share was held may have been ended by hand [1]. [chosen: a maker who looks in goes on
when the piece is done, which is seldom before half of the time that was planned for it]"""
_MISSING_S = 600.0
"""More than this missing of a long top is a loss [s]. [chosen: no controller that begins to count by its set-point,
or by its own sensor, is earlier by more]"""


def is_top_as_good_as_done(view: View, hold: PlannedPart, left_s: float) -> bool:
    """Return whether a top that was left at ``left_s`` [s] was held for most of its time, before a free fall.

    This asks whether anything is lost, of a top before a free fall only. Whether the program of any hold may have
    ended by itself is asked more strictly, by daemon.firing.situation.hold_measure.missing_at_most_s.

    What is left of it cannot be told from a controller that counted it earlier: a weak kiln creeps up to its top, and
    nothing that is done now gives the piece its last minutes. If the power is gone, the fall goes on past the anneal,
    and that wakes. ``hold`` may also be the climb to the top, where the follower saw no hold: the probe may read it
    too low.
    """
    top = _before_free_fall(view, hold)
    if top is None:
        return False
    near_s = near_maximum_s(view.trail, left_s + _LEAVES_S, top.duration_s, _CREPT_K)
    held_s = near_s - passing_s(view.parts, top, _CREPT_K)
    return top.duration_s - held_s <= min((1.0 - _MOST_SHARE) * top.duration_s, _MISSING_S)


def may_be_ended_by_hand(view: View, hold: PlannedPart, left_s: float) -> bool:
    """Return whether a top that was left at ``left_s`` [s], before a free fall, may have been ended by the maker.

    A maker who looks in, finds the piece done and presses on stands beside the kiln. What follows is the planned
    fall, and nothing in the readings tells it from a kiln whose power went in the same minutes. (Weighed: power lost
    then. It is rare beside the other, and nothing is lost that night by waiting: the fall goes on past the anneal,
    which wakes, and the whole anneal can still be held.) Here the fall away from the top is no part of it.
    """
    top = _before_free_fall(view, hold)
    entered_s = None if top is None else entered_maximum_s(
        view.trail, left_s + _LEAVES_S, top.duration_s, _CREPT_K)
    if top is None or entered_s is None:
        return False
    held_s = left_s - entered_s - passing_s(view.parts, top, _CREPT_K)
    return held_s > _HALF * top.duration_s and top.duration_s - held_s <= _MISSING_S


def _before_free_fall(view: View, hold: PlannedPart) -> PlannedPart | None:
    """Return ``hold``, or the top that it climbs to, if a free fall to the anneal comes after it; None otherwise."""
    if hold.part == "ramp" and view.next_part_of(hold) is view.top and view.top is not None and (
            view.peak_c - view.offset_k > view.top.to_c - NEVER_NEAR_K):
        hold = view.top
    after = view.next_fall(hold.index)
    is_free = hold.part == "hold" and after is not None and is_unpowered(after)
    return hold if is_free and view.leads_to_anneal(hold.index) else None
