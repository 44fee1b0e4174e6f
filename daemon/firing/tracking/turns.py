"""Where the readings turned within one part: sagged after a climb, crept back after a fall, were those of air."""

from __future__ import annotations

from collections.abc import Sequence
from operator import sub

from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.change_points import NARROWEST_S, WIDEST_S

_BESIDE_S = (45.0, 200.0)
"""The temperature at a boundary is that of a line over so long before and after it; the second serves slow loggers
[s]. [tuned: by trial on the bench, study not kept]"""
_GIVEN_BACK_S = 900.0
"""So long after a lid was shut, brick and glass have given back to the air what they had more than it [s].
[from: daemon.firing.detection.steps.heat_under_air.GIVEN_BACK_S]"""

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

_TURN_LEAST_K = 25.0
"""A free fall turns no further than this from its hold, and the depth of the controller's teeth besides [K].
[tuned: clean firings, seeds 1081000000 to 1081000149]"""


def came_to_hold_s(trail: Trail, began_s: float, rough_s: float, after_s: float,
                   air: Sequence[tuple[float, float]]) -> float | None:
    """Return when a climb came to its hold [s], where somebody looked inside about then; None where nobody did.

    Under the open lid nothing is seen of it. The climb before, drawn on, comes to the level after. (Weighed: a look
    on the way up. The level after it is higher, so that the climb comes there only later than the look. And a top
    that was left under the lid: the level after it is below where the climb was.)

    Parameters
    ----------
    trail
        The recent readings.
    began_s
        When the climb began [s].
    rough_s
        When the follower saw the hold [s].
    after_s
        When the follower left it, or now [s].
    air
        From when to when the readings were those of air, and settled again [s].
    """
    for opened_s, settled_s in air:
        if not began_s < opened_s < rough_s or settled_s < rough_s - WIDEST_S:
            continue
        until_s = max(min(after_s - NARROWEST_S, settled_s + WIDEST_S), settled_s + NARROWEST_S)
        climb, held = trail.line(max(began_s, opened_s - WIDEST_S), opened_s), trail.line(settled_s, until_s)
        if climb is None or held is None or climb.slope_c_per_s <= 0.0:
            continue
        came_s = climb.mean_t_s + (held.mean_c - climb.mean_c) / climb.slope_c_per_s
        if opened_s - NARROWEST_S < came_s < settled_s:
            return came_s
    return None


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


def first_turn_s(trail: Trail, began_s: float, bend_s: float) -> float:
    """Return when a free fall ended that seems to have ended at ``bend_s`` [s]: where the readings first turned up.

    A controller that waits for the fall's end gives power only then. The kiln has fallen past the level meanwhile and
    creeps back to it, or a controller that only switches begins its teeth: the readings are flat later, or never.
    (Weighed: a vent shut again, after which the walls give the air back what they have more. The kiln then goes on
    falling below the turn, or the turn lies far below the hold, or the air comes back to far above the hold.)

    Parameters
    ----------
    trail
        The recent readings.
    began_s
        When the fall began [s].
    bend_s
        Where the readings become flat [s].
    """
    first, last = trail.index_at(max(began_s, bend_s - _SAG_BACK_S)), trail.index_at(bend_s)
    level_c = temp_at(trail, bend_s)
    if level_c is None or first >= last:
        return bend_s
    turns_k, far_k = _SAGS_K + _SAGS_SDS * trail.noise_k, _TURN_LEAST_K + trail.swings_k
    times, temps = trail.times, trail.temps
    first = next((i for i in range(last - 1, first, -1) if temps[i] > level_c + far_k), first)
    low, has_turned = first, False
    for i in range(first, last):
        if temps[i] < temps[low] - (turns_k if has_turned else 0.0):
            low, has_turned = i, False
        elif temps[i] - temps[low] > turns_k:
            has_turned = True
    return times[low] if has_turned and abs(temps[low] - level_c) < far_k else bend_s


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
