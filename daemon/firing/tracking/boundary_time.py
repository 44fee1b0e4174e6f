"""When one planned part gave way to the next: the change of state that the follower saw, placed by the readings."""

from __future__ import annotations

from typing import NamedTuple

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.change_points import ChangePointFinder
from daemon.firing.tracking.jumps import jump_s
from daemon.firing.tracking.plan_clock import end_by_clock
from daemon.firing.tracking.turns import before_sag_s, came_to_hold_s, first_turn_s, temp_at

_ELSEWHERE_K = 30.0
"""A ramp that began further than this from its planned start takes another time than planned [K].
[tuned: by trial on the bench, study not kept]"""
_KEPT_UP_SHARE = 0.12
"""A kiln that went at least at a ramp's rate, less this share, kept up with it, and the ramp took as long as planned.
No kiln runs ahead of its controller: where the readings do, the probe hangs elsewhere than the controller's own.
[tuned: clean firings, seeds 5000 to 5099]"""


class Uncertainty(NamedTuple):
    """How well a time and a target can be told from the readings, as of one beat."""

    wander_k: float
    """Slow wander [K]."""
    offset_k: float
    """The usual difference [K], 0 where unknown."""
    near_k: float
    """How closely a target can be told [K]."""


class StateChange(NamedTuple):
    """A change of state, as the follower saw it."""

    is_start: bool
    """Whether it came from the state before the plan."""
    was: PlannedPart | None
    """The part that ended; None before the plan."""
    becomes: PlannedPart | None
    """The part that began; None after the plan."""
    began_s: float
    """When ``was`` began [s]."""
    began_c: float | None
    """The temperature then [°C]; None in a gap."""
    rough_s: float
    """When the follower changed state [s]."""
    after_s: float
    """When it changed state next, or now [s]."""


def boundary_s(trail: Trail, finder: ChangePointFinder, change: StateChange, uncertainty: Uncertainty) -> float:
    """Return when the change of state truly was [s].

    Tried in this order: the first climb by its first degrees; a change in a gap by the ramp beside it; a jump of the
    readings; two ramps alike by the target between them; else the bend of the readings, at the target between two
    ramps if there is one, under a lid, before a sag or at the first turn up if a hold begins there, or the planned
    time near it.
    """
    began_s, rough_s, after_s = change.began_s, change.rough_s, change.after_s
    if change.is_start:
        return max(began_s, finder.start_of_first_climb(rough_s))
    was, becomes = change.was, change.becomes
    gap = finder.gap_near(rough_s)
    in_gap_s = finder.inside_gap(was, becomes, gap, rough_s) if gap else None
    if in_gap_s is not None:
        return min(max(in_gap_s, began_s), after_s)
    jumped_s = _jump_s(trail, change)
    if jumped_s is not None:
        return min(max(jumped_s, began_s), after_s)
    crossing_s = finder.target_crossing(was, becomes, rough_s, uncertainty.offset_k)
    if crossing_s is not None:
        return min(max(_by_clock_s(trail, change, crossing_s, uncertainty), began_s), after_s)
    bend_s = finder.nearest_bend(began_s, rough_s, after_s)
    if was is not None and becomes is not None and becomes.index == was.index + 1 and (
            was.direction * becomes.direction > 0):
        bend_s = finder.bend_at_target(was, bend_s, (began_s, after_s), uncertainty.offset_k, uncertainty.near_k)
    if was is not None and becomes is not None and becomes.part == "hold":
        if was.direction > 0:
            came_s = came_to_hold_s(trail, began_s, rough_s, after_s, finder.air)
            climbed_s = before_sag_s(trail, began_s, bend_s) if came_s is None else came_s
            return min(max(climbed_s, began_s), after_s)
        if was.direction < 0 and was.rate_c_per_h is None:
            return min(max(first_turn_s(trail, began_s, bend_s), began_s), after_s)
    bend_s = _by_clock_s(trail, change, bend_s, uncertainty)
    if was is not None and was.part == "hold" and becomes is not None and becomes.part == "ramp":
        bend_s = finder.end_of_hold(began_s, rough_s, bend_s, becomes.direction)
    return min(max(bend_s, began_s), after_s)


def _jump_s(trail: Trail, change: StateChange) -> float | None:
    """Return when the readings jumped as one part gave way to the next [s]; None where they did not.

    A jump is sought near the follower's change, and near the planned time of the part that ended.
    """
    was, becomes = change.was, change.becomes
    if was is None or becomes is None or becomes.index != was.index + 1:
        return None  # where a part was passed over, the jump may be its own
    about = [change.rough_s]
    clock_s = change.began_s + was.duration_s
    if was.rate_c_per_h is not None and change.began_s < clock_s < change.rough_s:
        about.append(clock_s)
    for at_s in about:
        found_s = jump_s(trail, at_s, change.began_s, change.after_s)
        if found_s is not None:
            return found_s
    return None


def _by_clock_s(trail: Trail, change: StateChange, bend_s: float, uncertainty: Uncertainty) -> float:
    """Return when a part ended [s]: after its planned time where that counts, else at the bend.

    The planned time of a hold counts; that of a ramp only where a ramp in the same direction follows, and where the
    kiln began it where it was planned to and kept up with it.
    """
    was, becomes = change.was, change.becomes
    if was is None or becomes is None or becomes.index != was.index + 1:
        return bend_s
    if was.part == "ramp":
        at_c = temp_at(trail, bend_s)
        if was.direction * becomes.direction <= 0 or not was.rate_c_per_h or at_c is None or change.began_c is None:
            return bend_s
        if abs(change.began_c - uncertainty.offset_k - was.from_c) > _ELSEWHERE_K:
            return bend_s
        kept = (at_c - change.began_c) / max(bend_s - change.began_s, 1.0) * 3600 / was.rate_c_per_h
        if kept < 1.0 - _KEPT_UP_SHARE:
            return bend_s
    return end_by_clock(trail, bend_s, change.began_s, was, uncertainty.wander_k)
