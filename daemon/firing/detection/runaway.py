"""A climb that should not be: one faster than the plan ever climbs, and whether one found earlier goes on."""

from __future__ import annotations

from typing import NamedTuple

from daemon.firing.detection.rate_test import LIKELY, LURCH_BELOW_C, Rate, surest
from daemon.firing.plan.schedule import fastest_c_per_h
from daemon.firing.recovery.recovery import PAST_MENDING_C
from daemon.firing.situation.last_climb import climbs_no_more, is_beyond_plan, keyed_target_c, last_climb
from daemon.firing.situation.view import NEVER_NEAR_K, View

FALLS_C_PER_H = 8.0
"""A kiln that moves no faster stands still [°C/h]. [tuned: by trial on the bench, study not kept]"""
_FALLS_FOR_S, _HOLDS_FOR_S = 600.0, 300.0
"""Windows over which a fall and a hold are told [s]. [tuned: by trial on the bench, study not kept]"""
_MISSING_S = 60.0
"""How much of the window of a hold may be missing [s]. [chosen: a few readings of a slow logger]"""
_STANDS_FOR_S = (300.0, 600.0)
"""A kiln stands where its lines over both of these stand still [s]. [chosen: a turn is flat over one of them at the
most, and an anneal is longer]"""
_FELL_K = 50.0
"""A kiln has fallen from where it was too hot once it is so much colder [K]. [chosen: more than a probe reads off,
less than from any top to its anneal]"""
_OFF_MOST_K = 50.0
"""A kiln that stands further from each hold that its plan falls to is read by a false scale [K]. [chosen: a probe of
another type reads an anneal some 100 K off, a moved one about a third of that]"""
PROGRAMS_MOST_TIMES = 1.3
"""No program climbs faster than this many times the plan's fastest climb. [tuned: by trial on the bench, study not
kept]
"""
_NEW_K = 10.0
"""A climb leads to a height of its own where it is this far above what was read before [K]. It must have gained as
much in the last minute, so a steady climb is found only from about 600 °C/h on. [tuned: by trial on the bench, study
not kept]
"""
_LOOK_BACK_S, _OLDER_THAN_S = 900.0, 60.0
"""What was read before: between so long ago and so long ago [s]. Under a lid that is shut again the air comes back to
where it was within the first, and no higher. [tuned: by trial on the bench, study not kept]
"""


class UnaskedClimb(NamedTuple):
    """A climb faster than any of the plan's, where the plan has none left."""

    rate: Rate
    fastest_c_per_h: float
    """The plan's fastest climb."""


class Since(NamedTuple):
    """What the kiln has done since a climb was found."""

    falls: bool
    rate_c_per_h: float
    """How fast it climbs, 0 where it falls [°C/h]."""


def unasked_climb(view: View) -> UnaskedClimb | None:
    """Return the climb that is faster than any of the plan's, where the plan has none left; None without one.

    None too below LURCH_BELOW_C; where the plan has a free climb, since that is as fast as the kiln goes; and where
    the kiln has not risen _NEW_K above what it had: by the last quarter of an hour, or under a lid that stood open.
    Air under a lid just shut comes back that fast, from heat that brick and glass kept.
    """
    if view.temp_c < LURCH_BELOW_C:
        return None
    trail = view.trail
    first, last = trail.index_at(view.t_s - _LOOK_BACK_S), trail.index_at(view.t_s - _OLDER_THAN_S)
    if first < last and view.temp_c < trail.temps[first] + _NEW_K:
        return None  # as in nearly every fall
    if not is_beyond_plan(view):
        return None
    before = trail.temps[first:last]
    # Under a lid just shut, what was read on the way up tells nothing of what the kiln had.
    had_c = max(before, default=view.temp_c) if view.kiln_c is None else max((view.kiln_c, *before[:1]))
    if view.temp_c < had_c + _NEW_K:
        return None
    fastest = fastest_c_per_h(part for part in view.parts if part.direction > 0)  # no rate is beyond a free climb
    found = surest(view, PROGRAMS_MOST_TIMES * fastest, view.resumed_s, way=1)
    return None if found is None else UnaskedClimb(found, fastest)


def since(view: View, found_s: float) -> Since | None:
    """Return what the kiln has done since ``found_s`` [s], over ten minutes at most; None where no line tells."""
    line = view.line(_FALLS_FOR_S, max(view.resumed_s, found_s))
    if line is None:
        return None
    slope, error = line.slope_c_per_s * 3600, view.error_c_per_h(line)
    return Since(slope + LIKELY * error < -FALLS_C_PER_H, max(0.0, slope))


def holds_as_planned(view: View) -> bool:
    """Return whether the kiln holds where its plan still holds: a program is behind it, and one that ends there.

    A hold that the plan has done is none: a controller that began again holds there on its way to a second top. One
    that was just keyed in is not done.
    """
    part = view.part
    if part is None or part.part != "hold" or abs(view.temp_c - view.offset_k - part.to_c) > NEVER_NEAR_K:
        return False
    line = view.line(_HOLDS_FOR_S, view.part_start_s)
    if line is None or line.span_s < _HOLDS_FOR_S - _MISSING_S or abs(line.slope_c_per_s) * 3600 >= FALLS_C_PER_H:
        return False
    is_done = part.index <= last_climb(view.parts) and climbs_no_more(view)
    return not is_done or keyed_target_c(view) is not None


def stands_after_fall(view: View, told_s: float) -> bool:
    """Return whether the kiln has fallen since ``told_s`` [s] and now stands near a hold it falls to: it is heated.

    A kiln that was switched off stands nowhere above PAST_MENDING_C: the slowest falls there at 70 °C/h, its distance
    from the room over its time constant. The level says little, since the probe may read too hot, which is why
    somebody was told. But where it is far from every such hold, the scale is false and no later alert could be
    believed either. A stand before any fall does not count: whoever was told may still be on the way to the kiln.
    Nor does the turn of a climb, or air that comes back under a lid.
    """
    if told_s == float("-inf") or view.temp_c < PAST_MENDING_C:
        return False
    here_c, from_s = view.temp_c - view.offset_k, max(told_s, view.resumed_s)
    fallen_to = (part for part in view.parts[last_climb(view.parts) + 1:] if part.part == "hold")
    if not any(abs(here_c - hold.to_c) <= _OFF_MOST_K for hold in fallen_to):
        return False
    for window_s in _STANDS_FOR_S:
        line = view.line(window_s, from_s)
        if line is None or line.span_s < window_s - _MISSING_S or (
                abs(line.slope_c_per_s) * 3600 >= FALLS_C_PER_H):
            return False
    return max(view.trail.temps[view.trail.index_at(told_s):], default=view.temp_c) - view.temp_c > _FELL_K
