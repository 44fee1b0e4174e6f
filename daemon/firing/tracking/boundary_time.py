"""When one planned part gave way to the next: the change of state that the follower saw, placed by the readings."""

from __future__ import annotations

from operator import sub
from typing import NamedTuple

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.change_points import ChangePointFinder
from daemon.firing.tracking.plan_clock import end_by_clock

_ELSEWHERE_K = 30.0
"""A ramp that began further than this from its planned start takes another time than planned [K].
[tuned: by trial on the bench, study not kept]"""
_KEPT_UP_SHARE = 0.12
"""A kiln within this share of a ramp's rate kept up with it, and the ramp took as long as planned.
[tuned: clean firings, seeds 5000 to 5099]"""
_BESIDE_S = (45.0, 200.0)
"""The temperature at a boundary is that of a line over so long before and after it; the second serves slow loggers
[s]. [tuned: by trial on the bench, study not kept]"""

_GIVEN_BACK_S = 900.0
"""So long after a lid was shut, brick and glass have given back to the air what they had more than it [s].
[from: daemon.firing.detection.heat_under_air._GIVEN_BACK_S]"""

_SAGS_K, _SAGS_SDS = 3.0, 4.0
"""A climb has ended where the readings then sag by more than this: in kelvin, and in standard deviations of the noise
besides. [tuned: clean firings, seeds 1061000000 to 1061000059]"""
_SAG_BACK_S = 5400.0
"""A kiln is back at its hold from such a sag within this [s].
[tuned: clean firings, seeds 1061000000 to 1061000059]"""
_SAG_LASTS_S = 900.0
"""A sag lasts at least so long, or to the hold's flat part [s]: the teeth of a controller that only switches are
passed by the next one within minutes, as long as the kiln climbs. [tuned: clean firings, seeds 1061000000 to
1061000059]"""
_AS_HIGH_K = 10.0
"""The climb had come this near to the level at which the kiln then stood [K]: what it lacks of that, no climb made
up. [from: daemon.firing.tracking.plan_clock._SHORT_OF_IT_K]"""


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

    Tried in this order: the first climb by its first degrees; a change in a gap by the ramp beside it; two ramps
    alike by the target between them; else the bend of the readings, at the target between two ramps if there is one,
    or the planned time near it.
    """
    began_s, rough_s, after_s = change.began_s, change.rough_s, change.after_s
    if change.is_start:
        return max(began_s, finder.start_of_first_climb(rough_s))
    was, becomes = change.was, change.becomes
    gap = finder.gap_near(rough_s)
    in_gap_s = finder.inside_gap(was, becomes, gap, rough_s) if gap else None
    if in_gap_s is not None:
        return min(max(in_gap_s, began_s), after_s)
    crossing_s = finder.target_crossing(was, becomes, rough_s, uncertainty.offset_k)
    if crossing_s is not None:
        return min(max(_by_clock_s(trail, change, crossing_s, uncertainty), began_s), after_s)
    bend_s = finder.nearest_bend(began_s, rough_s, after_s)
    if was is not None and becomes is not None and becomes.index == was.index + 1 and (
            was.direction * becomes.direction > 0):
        bend_s = finder.bend_at_target(was, bend_s, (began_s, after_s), uncertainty.offset_k, uncertainty.near_k)
    if was is not None and was.direction > 0 and becomes is not None and becomes.part == "hold":
        return min(max(before_sag_s(trail, began_s, bend_s), began_s), after_s)
    bend_s = _by_clock_s(trail, change, bend_s, uncertainty)
    if was is not None and was.part == "hold" and becomes is not None and becomes.part == "ramp":
        bend_s = finder.end_of_hold(began_s, rough_s, bend_s, becomes.direction)
    return min(max(bend_s, began_s), after_s)


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
        if abs(kept - 1.0) > _KEPT_UP_SHARE:
            return bend_s
    return end_by_clock(trail, bend_s, change.began_s, was, uncertainty.wander_k)


def before_sag_s(trail: Trail, began_s: float, bend_s: float) -> float:
    """Return when a climb ended that seems to have ended at ``bend_s`` [s]: before the readings sagged, if they did.

    As a climb comes to its hold, the controller takes power back. Air and elements were hotter than brick and glass,
    and give that away: the readings fall by some kelvin and creep back while the walls soak, for up to an hour.
    They are flat only at the end of that, but the hold began at its top. (Weighed: a lid or a power cut on the way
    up. The climb then goes on to a level well above where it broke off. And the teeth of a controller that only
    switches: while the kiln climbs, the next one is higher.)

    Parameters
    ----------
    trail
        The recent readings.
    began_s
        When the climb began [s].
    bend_s
        Where the readings become flat [s].
    """
    first, last = trail.index_at(max(began_s, bend_s - _SAG_BACK_S)), trail.index_at(bend_s)
    level_c = temp_at(trail, bend_s)
    if level_c is None:
        return bend_s
    sags_k, least_c = _SAGS_K + _SAGS_SDS * trail.noise_k, level_c - _AS_HIGH_K
    times, temps = trail.times, trail.temps
    top, has_sagged = first, False
    for i in range(first, last):
        if has_sagged and times[i] - times[top] > _SAG_LASTS_S:
            break
        if temps[i] >= temps[top]:
            top, has_sagged = i, False
        elif temps[top] - temps[i] > sags_k:
            if temps[top] < least_c:
                top = i
            else:
                has_sagged = True
    return times[top] if has_sagged else bend_s


def air_is_back_s(trail: Trail, change_s: float, shut_s: float, rough_s: float) -> float:
    """Return when a part ended in which a lid stood open [s]: not before the air had come back under the shut lid.

    Parameters
    ----------
    trail
        The recent readings.
    change_s
        When it ended by the readings alone [s].
    shut_s
        When the readings began to come back [s].
    rough_s
        When the follower saw the next part [s]: the air was highest before.
    """
    if change_s > shut_s + _GIVEN_BACK_S:
        return change_s
    first = trail.index_at(max(change_s, shut_s))
    last = trail.index_at(min(rough_s, shut_s + _GIVEN_BACK_S))
    if first >= last:
        return max(change_s, shut_s)
    return trail.times[max(range(first, last), key=trail.temps.__getitem__)]


def temp_at(trail: Trail, t_s: float) -> float | None:
    """Return the temperature at ``t_s`` [°C], of a line through the readings beside it; None in a gap."""
    for reach_s in _BESIDE_S:
        first, last = trail.index_at(t_s - reach_s), trail.index_at(t_s + reach_s)
        line = trail.line_between(first, last)
        if line is None:
            continue
        times = trail.times[first:last]
        if line.span_s <= trail.longest_step_s or max(map(sub, times[1:], times)) <= trail.longest_step_s:
            return line.at(t_s)
    return None
