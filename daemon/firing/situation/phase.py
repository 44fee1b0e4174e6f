"""What the moment of the plan makes of an event: how bad missing readings are, whether a fall is planned."""

from __future__ import annotations

from enum import Enum

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.hold_measure import missing_at_most_s
from daemon.firing.situation.top_done import is_top_as_good_as_done, may_be_ended_by_hand
from daemon.firing.situation.view import NEVER_NEAR_K, View
from daemon.glass.common_practice import HOT_C

_REACHED_S = 900.0
"""A climb that was near its target within so long may be over, though the follower still sees it [s].
[tuned: by trial on the bench, study not kept]"""
_CLEARLY_ABOVE_TIMES = 2.0
"""A fall has surely not ended where the reading is so many times further above its target than that can be told.
[tuned: by trial on the bench, study not kept]"""

_NEAR_TOP_K = 40.0
"""So near its highest target a kiln may be at its top, though the follower still sees the climb [K].
[common practice: probes read a top up to 40 K too low]"""


class FreeFall(Enum):
    """Whether the plan lets the kiln fall freely at a moment."""

    NO = 0
    POSSIBLE = 1
    """It may begin to any minute."""
    CERTAIN = 2


def is_blindness_dangerous(view: View) -> bool:
    """Return whether missing readings can cost the piece: climbing hot, or between top and end of the anneal."""
    part = view.part
    if part is None:
        return False
    if not view.is_climb_due:
        anneal = view.anneal
        return anneal is None or part.index <= anneal.index or _may_be_in(view, anneal)
    return view.temp_c > HOT_C


def _may_be_in(view: View, anneal: PlannedPart) -> bool:
    """Return whether the kiln may still be in its anneal, though the follower takes it to be past it.

    It may take the dip after a free fall for the cooling after the anneal. (Weighed: an anneal that was skipped. Then
    the reading is soon further below it than any dip.)
    """
    is_near = abs(view.temp_c - view.offset_k - anneal.to_c) < NEVER_NEAR_K
    return is_near and view.progress is not None and not view.progress.is_whole


def is_before_top(view: View) -> bool:
    """Return whether the kiln still climbs and has not come near its top yet, by the highest that it has read."""
    return view.is_climb_due and view.peak_c - view.offset_k < view.plan.highest_c - _NEAR_TOP_K


def planned_free_fall(view: View) -> FreeFall:
    """Return whether the plan falls freely here outside the annealing range, or may begin to any minute.

    Inside that range no fall is free of danger, whatever the plan says of its rate.
    """
    part = view.part
    if part is None:
        return FreeFall.CERTAIN if view.state > 0 else FreeFall.NO
    fall = part if part.direction < 0 else view.next_fall(part.index)
    if fall is None or fall.rate_c_per_h is not None:
        return FreeFall.NO
    if part.direction >= 0 and not _may_be_over(view, part) and not is_top_as_good_as_done(view, part, view.t_s):
        return FreeFall.NO
    clearly_above_c = fall.to_c + _CLEARLY_ABOVE_TIMES * view.near_k
    above = view.temp_c - view.offset_k > clearly_above_c and fall.to_c > view.glass.band_low_c
    if not above and view.temp_c >= view.glass.band_low_c:
        return FreeFall.NO
    return FreeFall.CERTAIN if part.direction < 0 else FreeFall.POSSIBLE


def _enough_s(hold: PlannedPart) -> float:
    """Return how long a hold has been held at least when its program may be over [s]."""
    return hold.duration_s - missing_at_most_s(hold)


def _may_be_over(view: View, part: PlannedPart) -> bool:
    """Return whether the hold ``part`` may be over, or the hold that a climb ``part`` leads to.

    The follower may still see the climb when its hold is over.
    """
    if part.part == "hold":
        return max(view.t_s - view.part_start_s, view.dwell_s(part, view.t_s)) >= _enough_s(part)
    level_c = part.to_c + view.offset_k - view.near_k
    if view.last_at_or_above(level_c, view.t_s - _REACHED_S) is None:
        return False
    hold = view.next_part
    if hold is None or hold.part != "hold" or may_be_ended_by_hand(view, part, view.t_s):
        return True
    return view.dwell_s(hold, view.t_s) >= _enough_s(hold)
