"""The hold that lies just before the present ramp: how long it was held, and whether the kiln has left it.

How long a hold lasted is counted from when the kiln first came to the level it then held, without the time that the
readings stood a step down in it, as under an open lid. The kiln has left it once it has moved on from where it was
then, as the plan's next ramp does, and still moves; not where it only comes to rest, or swings.
"""

from __future__ import annotations

from math import exp, inf
from typing import NamedTuple

from daemon.firing.detection.hold_level import MOVING_C_PER_H
from daemon.firing.events import Part
from daemon.firing.plan.schedule import PlannedPart, way_to
from daemon.firing.situation.level_doubt import is_below, is_settling
from daemon.firing.situation.view import SLOW_WINDOW_STEPS, SWINGS_K, View
from daemon.regression import Line

_SHORT_S, _SHORT_SHARE = 180.0, 0.15
"""A hold may lack so many seconds, and this share of its time.
[tuned: by trial on the bench, study not kept]"""
_LEFT_K, _NOISES = 4.0, 2.0
"""A kiln has left a level where it is so far from it, and so many times the noise further [K].
[tuned: by trial on the bench, study not kept]"""
_AT_END_S = 60.0
"""The level at the end of a hold is that of so long before and after it [s].
[tuned: by trial on the bench, study not kept]"""
_SETTLES_S = 2400.0
"""A hold's level was first reached at most so long before the follower took it for held [s].
[tuned: by trial on the bench, study not kept]"""
LEAVING_WINDOW_S, _STILL_SHARE = 240.0, 0.2
"""Over so long [s] a kiln that left its hold goes on at no less than this share of the planned rate.
[tuned: by trial on the bench, study not kept]"""
_MOVING_SHARE = 0.3
"""Since it left its hold a kiln has moved at no less than this share of the planned rate, or of MOVING_C_PER_H where
the ramp is free.
[tuned: by trial on the bench, study not kept]"""
SETTLING_S, _GOES_ON_SHARE = 300.0, 0.6
"""A fall that goes on keeps over so long [s] no less than this share of the planned rate.
[tuned: by trial on the bench, study not kept]"""
_RESTS_IN_S = 1200.0
"""A fall that comes to rest dies out with a time constant of at most this [s].
[chosen: of a controller with a wide band; a third of what the fastest kiln without power has]"""
_SLACK_K, _SLACK_LEAST_S, _SLACK_MOST_S = 3.0, 120.0, 300.0
"""Whether it does is told from two windows, one after the other, each as long as the planned fall takes for so much
[K], within these bounds [s]. [chosen: several times the noise of most probes]"""
_PASSED_TIMES = 2.0
"""A kiln came to a hold where, as it turned, it was within so many times as near to it as can be told.
[tuned: by trial on the bench, study not kept]"""
_SWUNG_K, _MINUTE_S = 2.0, 60.0
"""A kiln whose means of a minute, or of a few steps of a slow logger, come up by so much has not left its hold [K,
s]. [tuned: by trial on the bench, study not kept]"""


class Ended(NamedTuple):
    """A hold that has ended."""

    hold: PlannedPart
    held_s: float
    left_s: float
    """When it ended [s]."""
    run_s: float = 0.0
    """How long the part is that the follower saw, and that is told as measured [s]; ``held_s`` is no shorter."""


def hold_before(view: View) -> Ended | None:
    """Return the hold that should lie just before the present ramp, where it may have been too short.

    None where there is none, where it was not seen, and where the follower alone saw it held for long enough.
    """
    found, here = view.found, view.found[-1]
    if view.parts[here.index].part != "ramp" or not here.index or len(found) < 2:
        return None
    before = view.parts[here.index - 1]
    if before.part != "hold":
        return None
    if found[-2].index == before.index:
        # Where it is the first part found, it was joined in the middle. It was reached no later than it was found.
        first = _first_piece(view)
        left_s = _left_s(view, here)
        away_s = view.stood_s(found[first].start_s, left_s)
        if not first or left_s - found[first].start_s - away_s > enough_s(before):
            return None
        return Ended(before, left_s - _reached_s(view, before, first) - away_s, left_s,
                     left_s - found[first].start_s - away_s)
    return Ended(before, 0.0, here.start_s) if _is_passed(view, before, here.start_s) else None


def _is_passed(view: View, hold: PlannedPart, turn_s: float) -> bool:
    """Return whether a kiln that turned at ``turn_s`` [s] had come to ``hold`` by climbing, or has fallen past it.

    Where a climb turned short of the hold something else happened first, and that is told. A hold that it fell to it
    has passed once it is below it, however far: a vent that was left ajar takes what the elements give, so that the
    kiln stands 20 K and more below its anneal as if it cooled slowly. (Weighed: a kiln without power. It falls on as
    fast as a free fall, and has its own watch.) While the kiln is no lower than the hold, nothing is lost yet. The
    fall of a heavy kiln slackens well above its hold, as its elements heat again, and looks like the slow ramp after
    the hold. (Weighed: a hold that was skipped there. At the pace of that ramp the kiln is below it soon.)

    Nor has it passed an anneal that the readings show whole, with no doubt in its favour, though the follower did not
    see it: a reading that creeps down all through the hold looks like the slow ramp after it. (Weighed: a hold that
    was skipped, by a probe that reads too high. Ten kelvins at 80 °C/h are eight minutes of the hold.)
    """
    if way_to(view.parts, hold) == -1:
        return is_below(view, hold) and not view.is_annealed
    line = _at_turn(view, turn_s)
    return line is not None and abs(line.mean_c - view.offset_k - hold.to_c) <= _PASSED_TIMES * view.near_k


def _left_s(view: View, ramp: Part) -> float:
    """Return when the kiln left its hold for ``ramp`` [s]: for a fall, when it was last as hot as at the ramp's date.

    After a free fall the reading may creep up for an hour and stand, and only then fall. The follower may date the
    ramp from the middle of that. The hold lasts while the kiln is no colder than at that date, which itself is known
    to _AT_END_S only. (Weighed: a maker who skips to the ramp while the kiln still creeps up. It falls from then on.
    And a noisy probe, which reads that level some minutes longer: until the fall is deeper than its noise.)
    """
    line = _at_turn(view, ramp.start_s)
    if line is None or view.parts[ramp.index].direction >= 0:
        return ramp.start_s
    stood_s = view.last_at_or_above(line.at(ramp.start_s), ramp.start_s + _AT_END_S)
    return ramp.start_s if stood_s is None else stood_s


def _first_piece(view: View) -> int:
    """Return the place in ``view.found`` of the first piece of the hold before the present ramp.

    A reading that creeps back after a free fall, for as long as the controller takes to find its power, may look like
    the ramp before the hold taken up again, so that the hold is found in two pieces. The kiln stood between them.
    """
    found, first = view.found, len(view.found) - 2
    while first >= 2 and found[first - 2].index == found[first].index:
        between = found[first - 1]
        if between.index != found[first].index - 1 or not _stood(view, found[first - 2], between):
            break
        first -= 2
    return first


def _stood(view: View, hold: Part, between: Part) -> bool:
    """Return whether the kiln stood near the level of ``hold`` in what the follower took for a ramp after it."""
    first, last = view.trail.index_at(between.start_s), view.trail.index_at(view.ended_s(between))
    seen = view.trail.temps[first:last]
    return hold.mean_c is not None and abs(between.rate_c_per_h or 0.0) <= MOVING_C_PER_H and (
        all(abs(temp_c - hold.mean_c) <= SWINGS_K for temp_c in seen))


def _reached_s(view: View, hold: PlannedPart, first: int) -> float:
    """Return when the last hold was first reached [s]: after a crash cool it swings back before it settles.

    ``first`` is the place of its first piece among the parts found.
    """
    run, trail = view.found[first], view.trail
    began_s = view.found[first - 1].start_s
    way = way_to(view.parts, hold)
    if run.mean_c is None or not way:
        return run.start_s
    first, last = trail.index_at(max(began_s, run.start_s - _SETTLES_S)), trail.index_at(run.start_s)
    mean_c = run.mean_c
    for i, temp_c in enumerate(trail.temps[first:last], first):
        if (temp_c - mean_c) * way >= -_LEFT_K:
            return trail.times[i]
    return run.start_s


def enough_s(hold: PlannedPart) -> float:
    """Return how long a hold must have been held, beyond which nothing is said of it [s]."""
    return hold.duration_s - max(_SHORT_S, _SHORT_SHARE * hold.duration_s)


def _at_turn(view: View, turn_s: float) -> Line | None:
    """Return the line about the turn from a hold at ``turn_s`` [s]: two minutes, or three steps of a slow logger."""
    half_s = max(_AT_END_S, SLOW_WINDOW_STEPS / 2 * view.trail.step_s)
    return view.trail.line(turn_s - half_s, turn_s + half_s)


def leaves(view: View, ramp: PlannedPart, left_s: float) -> bool:
    """Return whether the kiln has moved on from where it was at ``left_s``, and still does.

    Not from the target: a probe that reads differently from the controller stands off it in every hold.
    """
    at_end = _at_turn(view, left_s)
    if at_end is None:
        return False
    moved_k = (view.temp_c - at_end.at(left_s)) * ramp.direction
    planned = abs(ramp.rate_c_per_h) if ramp.rate_c_per_h is not None else MOVING_C_PER_H
    least_k = _LEFT_K + _NOISES * view.trail.noise_k
    line = view.line(LEAVING_WINDOW_S, max(left_s, view.resumed_s))
    if line is None or line.slope_c_per_s * 3600 * ramp.direction - view.error_c_per_h(line) < _STILL_SHARE * planned:
        return False
    return moved_k > max(least_k, _MOVING_SHARE * planned * (view.t_s - left_s) / 3600)


def only_settles(view: View, ramp: PlannedPart, left_s: float) -> bool:
    """Return whether the kiln comes to rest rather than goes on: the last of a free fall looks like a slow ramp."""
    line = view.line(SETTLING_S, max(left_s, view.resumed_s))
    if line is None or ramp.rate_c_per_h is None:
        return False
    return line.slope_c_per_s * 3600 * ramp.direction < _GOES_ON_SHARE * abs(ramp.rate_c_per_h)


def comes_to_rest(view: View, hold: PlannedPart, planned_c_per_h: float) -> bool:
    """Return whether the free fall to ``hold`` is dying out, so that what it passes is no lost hold.

    It becomes slower all the time; ``planned_c_per_h`` is the ramp after the hold, above 0.

    A controller that heats again after a free fall gives the more power the nearer the kiln is to its hold, so the
    fall dies out like an exponential, over half an hour where it has a wide band. A probe that sees the elements
    reads too low all that while, and may come to rest 25 K below the hold. A kiln that passed its hold goes on at the
    rate of the next ramp, which stays the same. So the level tells little, and the course tells it.

    Weighed against it: a wider doubt of the level after a fall (``level_doubt``). It would have to be 30 K for an
    hour, and would hide a hold that was skipped for as long.
    """
    if not is_settling(view, hold):
        return False
    window_s = min(_SLACK_MOST_S, max(_SLACK_LEAST_S, _SLACK_K / planned_c_per_h * 3600))
    window_s = max(window_s, SLOW_WINDOW_STEPS * view.trail.step_s)
    middle_s = view.t_s - window_s
    if middle_s - window_s < view.resumed_s:
        return False
    before, now = view.trail.line(middle_s - window_s, middle_s), view.trail.line(middle_s)
    return before is not None and now is not None and (
        now.slope_c_per_s > exp(-window_s / _RESTS_IN_S) * before.slope_c_per_s)


def swings(view: View, left_s: float) -> bool:
    """Return whether the kiln has come up again since ``left_s``: a controller that swings about its hold."""
    trail = view.trail
    lowest_c, back_k = inf, _SWUNG_K + _NOISES * trail.noise_k
    minute_s = max(_MINUTE_S, SLOW_WINDOW_STEPS * trail.step_s)
    until_s = left_s
    while until_s + minute_s <= view.t_s:
        from_s, until_s = until_s, until_s + minute_s
        line = trail.line(from_s, until_s)
        if line is None:
            continue
        if line.mean_c > lowest_c + back_k:
            return True
        lowest_c = min(lowest_c, line.mean_c)
    return False
