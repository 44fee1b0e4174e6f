"""Whether the kiln climbs at several times its planned rate, and has not stopped since.

A contact that has welded gives full power: most kilns then climb at several times the rate of a plan, and go through
every target. Two mistakes of the maker look like half of that. A rate that was mistyped climbs too fast, but stops at
the next target. A hold that was left out is passed, but at the planned rate. So each sign alone is worth a look, and
both together mean that the kiln may not obey its controller. A maker who made both mistakes is woken as well.

A climb that is far too fast over a quarter of an hour is not left until it has passed its hold (unexplained_climb):
that may be an hour. Two other causes look like it. A controller that catches up, after a power cut, an open lid or a
cold start, comes back to the line that its plan draws and no further: the kiln must be clearly above that. A mistyped
rate cannot be told from a weld so soon, and the one look that settles it is worth getting up for.
"""

from __future__ import annotations

from math import inf
from typing import NamedTuple

from daemon.firing.detection.hold_level import MOVING_C_PER_H
from daemon.firing.detection.over_limit import KNOWN_MARGIN_K, UNKNOWN_MARGIN_K
from daemon.firing.detection.rate_test import LURCH_BELOW_C, SURE, surest
from daemon.firing.detection.runaway import PROGRAMS_MOST_TIMES
from daemon.firing.plan.schedule import fastest_c_per_h
from daemon.firing.situation.view import View

SEVERAL = 2.0
"""A climb beyond so many times its planned rate is several times as fast [1]. [chosen: far past what a controller is
off by; full power passes it early in a climb]"""
_LURCH_S = 1200.0
"""A cold kiln climbs in lurches for so long before it follows its controller [s]. [common practice]"""
_STANDS_S, _SEEN_SHARE = 300.0, 0.8
"""A kiln that climbs by less than MOVING_C_PER_H over so long has stopped [s], where this share of it was seen.
[chosen: as the hold of a kiln that is known to stand]"""
_UNASKED_S, _UNASKED_SEEN_SHARE = 900.0, 0.9
"""A climb is measured over so long [s], and this share of it must be seen.
[chosen: a lid just shut, a lurch and a swing are short against it, and full power gains 100 K and more in it]"""
_UNASKED_FROM_C = 200.0
"""Below this a climb can wait [°C]. [chosen: far from where the kiln or its room is at risk]"""
_ABOVE_LINE_K = 25.0
"""A kiln so far above what its plan can have brought it to does not catch up [K].
[chosen: as far as an unknown probe may be off]"""


class Fast(NamedTuple):
    """A climb at several times its planned rate."""

    since_s: float
    rate_c_per_h: float
    planned_c_per_h: float


class FastClimb:
    """Sees every beat; remembers a climb at several times its planned rate until the kiln stops or falls.

    Full power lifts a hot kiln more slowly than a cool one. So what was found early in a climb counts until the climb
    ends, though its rate has come down to the planned one.
    """

    def __init__(self) -> None:
        self._found: Fast | None = None

    def see(self, view: View) -> Fast | None:
        """Return the climb that is or was several times too fast, and has not ended; None without one."""
        if self._found is not None and (  # in a hole of the readings it may have stopped
                self._found.since_s < view.trail.unbroken_from_s or stands(view, view.resumed_s)):
            self._found = None
        found = fast_climb(view)
        if found is not None and (self._found is None or found.rate_c_per_h > self._found.rate_c_per_h):
            self._found = found
        return self._found


def fast_climb(view: View) -> Fast | None:
    """Return the climb that is surely more than SEVERAL times as fast as planned; None without one.

    Nothing is said below LURCH_BELOW_C and in the first minutes of a firing, where a cold kiln lurches, nor where
    the plan climbs freely.
    """
    if view.temp_c < LURCH_BELOW_C:
        return None
    planned = planned_here_c_per_h(view)
    if planned is None:
        return None
    found = surest(view, SEVERAL * planned, max(view.first_s + _LURCH_S, view.resumed_s), way=1)
    return None if found is None else Fast(found.since_s, found.c_per_h, planned)


def unexplained_climb(view: View) -> Fast | None:
    """Return the climb far too fast that no step of the plan explains; None without one.

    The line through the last quarter of an hour climbs at more than SEVERAL times what is planned here, and so does
    each third of it; faster than every climb that is still to come; it does not slacken to half; and the kiln is
    above all that its plan can have brought it to. None where a climb still to come is free.

    A contact that has welded heats all the time. Air that comes back when a vent is shut in the climb rises as far,
    but in some minutes.
    """
    if view.temp_c < _UNASKED_FROM_C:
        return None
    planned = planned_here_c_per_h(view)
    line = None if planned is None else view.line(_UNASKED_S, view.resumed_s)
    if planned is None or line is None or line.span_s < _UNASKED_SEEN_SHARE * _UNASKED_S:
        return None
    here = 0 if view.part is None else view.part.index
    fastest = max(planned, fastest_c_per_h(part for part in view.parts[here:] if part.direction > 0))
    rate = line.slope_c_per_s * 3600
    if rate - view.error_c_per_h(line) * SURE < max(SEVERAL * planned, PROGRAMS_MOST_TIMES * fastest):
        return None
    began_s = view.t_s - line.span_s
    if not view.goes_on(line, +1) or not _is_steady(view, began_s, SEVERAL * planned):
        return None
    until_now = (part.rate_c_per_h or 0.0 for part in view.parts[:here + 1] if part.direction > 0)
    if view.temp_c < _line_c(view, began_s, max((planned, *until_now))) + _ABOVE_LINE_K:
        return None
    return Fast(began_s, rate, planned)


def _is_steady(view: View, from_s: float, rate_c_per_h: float) -> bool:
    """Return whether the kiln climbed faster than ``rate_c_per_h`` in each third of the time since ``from_s`` [s]."""
    third_s = (view.t_s - from_s) / 3
    thirds = (view.trail.line(from_s + n * third_s, from_s + (n + 1) * third_s) for n in range(3))
    return all(line is not None and line.slope_c_per_s * 3600 > rate_c_per_h for line in thirds)


def _line_c(view: View, until_s: float, rate_c_per_h: float) -> float:
    """Return the most that a controller can have brought the kiln to by now [°C], from all that was read before.

    It climbs at ``rate_c_per_h`` at the most, from the highest of the readings until ``until_s`` [s] on such a line.
    """
    trail = view.trail
    before = range(trail.index_at(until_s))
    return max((trail.temps[i] + rate_c_per_h * (view.t_s - trail.times[i]) / 3600 for i in before), default=0.0)


def planned_here_c_per_h(view: View) -> float | None:
    """Return the fastest rate that the plan climbs with about this temperature [°C/h]; None where it is free or none.

    The rates of the steps before and after count too where the probe may read so far off.
    """
    temp_c = view.temp_c - view.offset_k
    margin_k = KNOWN_MARGIN_K if view.offset_known else UNKNOWN_MARGIN_K
    fastest = fastest_c_per_h(
        part for part in view.parts
        if part.direction > 0 and part.from_c - margin_k <= temp_c <= part.to_c + margin_k)
    return fastest if 0.0 < fastest < inf else None


def stands(view: View, not_before_s: float) -> bool:
    """Return whether the kiln has stopped climbing, over _STANDS_S and no further back than ``not_before_s`` [s]."""
    line = view.line(_STANDS_S, not_before_s)
    return line is not None and line.span_s >= _SEEN_SHARE * _STANDS_S and (
        line.slope_c_per_s * 3600 < MOVING_C_PER_H)
