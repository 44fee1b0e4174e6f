"""Whether an anneal was, or will have been, long and hot enough for this load, whatever the probe may be off."""

from __future__ import annotations

from math import inf

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.anneal_progress import enough_min, relaxes_min
from daemon.firing.situation.level_doubt import low_doubt_k, settled_doubt_k
from daemon.firing.situation.view import View

_WAITS_SHARE = 0.5
"""For this share of an anneal hold it is waited whether a reading that is low after a fall without power comes back.
Then the level counts as read, so that there is time to lengthen the hold.
[common practice: such a reading is back within half an hour, and an hour is the usual hold at 6 mm]"""


def is_held(view: View, held_s: float) -> bool:
    """Return whether the anneal, held for ``held_s`` [s], was held for long and hot enough for this load."""
    progress = view.progress
    if progress is None:
        return False
    anneal, held_min = progress.hold, held_s / 60
    if not held_s:  # the follower saw no hold; the readings may show one, or a fall that passed it
        after = view.next_fall(anneal.index)
        rate = view.governing_fall_c_per_h(after) if after is not None else inf
        held_min = progress.worth_min - progress.passing_min(rate)
    if held_min < enough_min(view.thickness_mm, view.faces, anneal):
        return False
    # A hold seen at its level is worth its minutes: under large doubt it counts as above the range, and so as none.
    worth_min = max(progress.worth_min, held_min if held_s and _was_at_level(view, anneal) else 0.0)
    return worth_min >= relaxes_min(view.glass, view.thickness_mm, view.faces, anneal)


def _was_at_level(view: View, anneal: PlannedPart) -> bool:
    """Return whether the anneal that the follower saw stood at its level or above, in the plan's terms."""
    levels = [run.mean_c for run in view.found if run.index == anneal.index and run.mean_c is not None]
    return bool(levels) and levels[-1] - view.usual_k >= anneal.to_c


def will_be_held(view: View, off_k: float, since_s: float) -> bool:
    """Return whether the anneal will have been held for long enough when its planned time is over.

    The kiln is taken to stay where it is, ``off_k`` off its target [K], read with the benefit of the doubt. What a
    fall without power adds to that doubt counts for _WAITS_SHARE of the hold: a reading that has not come back by
    then is the kiln's own. (Weighed: a probe that sees much of the elements, and a slow controller. More than half of
    its dip is gone by then.) From then on the whole hold counts at the present level, or, where the readings stood
    higher before, as they read. Where the follower does not see the hold, it began when the fall to it ended, or at
    ``since_s`` [s], whichever was earlier.
    """
    progress, hold = view.progress, view.present_hold
    if progress is None:
        return False
    anneal = progress.hold
    began_s = min(since_s, view.fell_until_s) if view.fell_until_s is not None else since_s
    if hold is not None and hold.index == anneal.index:
        began_s = hold.start_s
    level_c, left_s = anneal.to_c + off_k, began_s + anneal.duration_s - view.t_s
    if left_s < (1.0 - _WAITS_SHARE) * anneal.duration_s:
        speed = progress.speed(level_c + settled_doubt_k(view))
        end_min = max(speed * anneal.duration_s, 60 * progress.read_min + speed * max(0.0, left_s)) / 60
    else:
        end_min = progress.at_end_min(level_c + low_doubt_k(view, anneal), left_s)
    return end_min >= relaxes_min(view.glass, view.thickness_mm, view.faces, anneal)


def does_as_read(view: View, off_k: float) -> bool:
    """Return whether a whole anneal hold, ``off_k`` off its target [K, below 0], does its work without any doubt."""
    progress = view.progress
    if progress is None:
        return False
    anneal = progress.hold
    return progress.speed(anneal.to_c + off_k) * anneal.duration_s / 60 >= relaxes_min(
        view.glass, view.thickness_mm, view.faces, anneal)
