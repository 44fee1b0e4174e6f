"""Where a plan has nothing left to climb: whether a climb there can be meant, and how high it may lead."""

from __future__ import annotations

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import View
from daemon.firing.trace.recent import KEEP_S

_SURELY_S = 300.0
"""A part that lasted this long was truly run, and is no guess of the follower's [s].
[tuned: by trial on the bench, study not kept]"""
_OVERSHOOT_K = 15.0
"""The overshoot of a climb back to a hold, beyond how closely that can be told [K].
[tuned: by trial on the bench, study not kept]"""


def last_climb(parts: tuple[PlannedPart, ...]) -> int:
    """Return the index of the plan's last climb, or of the hold it leads to; −1 where nothing climbs."""
    climb = max((part.index for part in parts if part.direction > 0), default=-1)
    held = 0 <= climb < len(parts) - 1 and parts[climb + 1].part == "hold"
    return climb + 1 if held else climb


def climbs_no_more(view: View) -> bool:
    """Return whether the kiln has come so far that its plan only falls or holds from there.

    Not where it never came near its top: then the follower has lost its way, as on a first start that was broken off,
    or on the first lurches of a cold kiln, which fall as the plan's last part does. That stays so once the follower
    has found the climb again: no plan is past a top that the kiln never saw. (Weighed: that the latest part alone
    tells. A controller that begins again after the top is in its first climb as well, and should not be.)
    """
    last = last_climb(view.parts)
    return last >= 0 and view.was_near_top and any(
        run.index > last and view.ended_s(run) - run.start_s >= _SURELY_S
        for run in view.found
    )


def resume_target_c(view: View) -> float | None:
    """Return the temperature an interrupted firing is taken back to, as the probe reads [°C].

    None without an interruption; infinite where it came before the end of the last climb.
    """
    if view.broken is None:
        return None
    if view.broken.index <= last_climb(view.parts):
        return float("inf")
    back = view.anneal if view.anneal is not None else view.parts[view.broken.index]
    return max(back.to_c, back.from_c) + view.offset_k


def keyed_target_c(view: View) -> float | None:
    """Return how high the lines just keyed in climb, as the probe reads [°C], until that climb is behind the kiln.

    It is asked for whatever the follower takes the kiln to do: in a fall without power it soon passes over the climb
    and its hold. It is behind once the readings have come to that temperature and have clearly left it downwards.
    None then; where nothing was keyed in, or longer ago than the trail remembers; and where the lines do not climb.
    """
    keyed_in, trail = view.plan.keyed_in, view.trail
    if keyed_in is None or view.t_s - keyed_in.at_s > KEEP_S:
        return None
    highest_c = max((part.to_c for part in view.parts if part.step >= keyed_in.step and part.direction > 0),
                    default=None)
    if highest_c is None:
        return None
    target_c, is_there = highest_c + view.offset_k, False
    for temp_c in trail.temps[trail.index_at(keyed_in.at_s):]:
        if is_there and temp_c < target_c - view.near_k - _OVERSHOOT_K:
            return None
        is_there = is_there or temp_c > target_c - view.near_k
    return target_c


def is_beyond_plan(view: View) -> bool:
    """Return whether the kiln is where neither its plan, nor a way back that is asked for, still leads.

    Such a way leads back after an interruption, or to the hold that was just keyed in.
    """
    if not climbs_no_more(view):
        return False
    back_c = [asked_c for asked_c in (resume_target_c(view), keyed_target_c(view)) if asked_c is not None]
    return not back_c or view.temp_c > max(back_c) + view.near_k + _OVERSHOOT_K
