"""Whether a top hold is as good as done, though the follower may still see the climb to it."""

from __future__ import annotations

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.hold_measure import near_maximum_s
from daemon.firing.situation.natural_fall import is_unpowered
from daemon.firing.situation.view import NEVER_NEAR_K, View

_LEAVES_S = 120.0
"""A top may have been left so much later than the fall is dated [s]. [chosen: the window of a slope]"""
_CREPT_K, _MOST_SHARE = 25.0, 0.7
"""A top counts as held within so far of its maximum [K], and as good as done after this share of its time.
[chosen: a weak kiln takes the last 25 K slowly, and of ten minutes three are no loss]"""
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
    if hold.part == "ramp" and view.next_part_of(hold) is view.top and view.top is not None and (
            view.peak_c - view.offset_k > view.top.to_c - NEVER_NEAR_K):
        hold = view.top
    after = view.next_fall(hold.index)
    if hold.part != "hold" or after is None or not is_unpowered(after) or not view.leads_to_anneal(hold.index):
        return False
    climb = view.parts[hold.index - 1].rate_c_per_h if hold.index else None
    passing_s = _CREPT_K / abs(climb) * 3600 if climb else 0.0
    near_s = near_maximum_s(view.trail, left_s + _LEAVES_S, hold.duration_s, _CREPT_K) - passing_s
    return hold.duration_s - near_s <= min((1.0 - _MOST_SHARE) * hold.duration_s, _MISSING_S)
