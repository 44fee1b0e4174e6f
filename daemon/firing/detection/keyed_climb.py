"""Whether the kiln takes up the climb that the maker has just keyed in.

A maker who finds the kiln without power may key in lines and say so though the power is not back, or without pressing
start. The plan then begins with a climb from where the kiln is, and the falls that it has after that climb look like
the fall that goes on: to the follower, passing over climb and hold is soon the cheapest explanation. So the climb is
asked for by the readings alone, whatever part the follower takes the kiln to be in: until they have come up since the
lines were keyed in, the climb has not been begun.
"""

from __future__ import annotations

from daemon.firing.detection.left_undone import Left
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import View

_ASKED_FROM_S, _ASKED_UNTIL_S = 480.0, 6000.0
"""A climb is asked for from so long after its lines were keyed in, and until so long [s]. [chosen: eight minutes to
find the breaker, press start, and for elements and probe to warm, in which a fall of 200 °C/h loses less than 30 K;
and somewhat less than the two hours for which the trail remembers whether it was begun]"""
_TAKEN_UP_K, _TAKEN_UP_NOISES = 5.0, 4.0
"""Readings that come up from their lowest by so much, and so many times their noise more, climb [K].
[chosen: more than a probe wanders in a fall, and two minutes of a climb of 150 °C/h]"""
_WORTH_TIMES = 2.0
"""A climb of less than so many times that is not asked for. [chosen: it can be over without being seen]"""
_REBOUND_S = 600.0
"""For so long after a lid or a vent stood open the air comes back to the glass [s]. [common practice: it does so
within minutes]"""


def keyed_climb_left(view: View) -> Left | None:
    """Return where the kiln was as its lines were keyed in, where they begin with a climb that it has not begun.

    None where nothing was keyed in, or just now, or long ago; where the lines begin with a fall, a hold or a very
    small climb; and where the readings have come up since. What is left undone after that is told by
    daemon.firing.detection.left_undone.
    """
    keyed_in, climb = view.plan.keyed_in, _climb(view)
    if keyed_in is None or climb is None or not _ASKED_FROM_S <= view.t_s - keyed_in.at_s < _ASKED_UNTIL_S:
        return None
    if _has_come_up(view, keyed_in.at_s):
        return None
    at = min(view.trail.index_at(keyed_in.at_s), len(view.trail.temps) - 1)
    return Left(max(keyed_in.at_s, view.trail.unbroken_from_s), view.trail.temps[at], climb)


def is_just_keyed_in(view: View) -> bool:
    """Return whether lines that begin with a climb were keyed in so short a time ago that it is not asked for yet.

    The kiln may fall meanwhile as it did before: none of the falls that the lines have later.
    """
    keyed_in = view.plan.keyed_in
    return keyed_in is not None and view.t_s - keyed_in.at_s < _ASKED_FROM_S and _climb(view) is not None


def _climb(view: View) -> PlannedPart | None:
    """Return the climb that the lines keyed in begin with; None where they do not, or with too small a one."""
    keyed_in = view.plan.keyed_in
    if keyed_in is None:
        return None
    first = next((part for part in view.parts if part.step >= keyed_in.step), None)
    if first is None or first.direction <= 0 or first.to_c - first.from_c < _WORTH_TIMES * _enough_k(view):
        return None
    return first


def is_back_to_anneal(view: View, planned: PlannedPart) -> bool:
    """Return whether ``planned`` is a climb that was keyed in to come back to the anneal hold, which is next."""
    keyed_in, anneal = view.plan.keyed_in, view.anneal
    return (keyed_in is not None and anneal is not None and planned.direction > 0
            and planned.step >= keyed_in.step and planned.index + 1 == anneal.index)


def _enough_k(view: View) -> float:
    """Return by how much readings come up that climb [K]."""
    return _TAKEN_UP_K + _TAKEN_UP_NOISES * view.trail.noise_k


def _has_come_up(view: View, since_s: float) -> bool:
    """Return whether the readings have come up from the lowest that they were since ``since_s`` [s].

    What they come up by after a lid or a vent was shut is no climb, and is left out.
    """
    trail, enough_k = view.trail, _enough_k(view)
    opened = [opened_s + _REBOUND_S for opened_s in (view.dropped_s, view.vented_s) if opened_s is not None]
    since_s = max(since_s, *opened) if opened else since_s
    lowest_c = float("inf")
    for temp_c in trail.temps[trail.index_at(since_s):]:
        if temp_c > lowest_c + enough_k:
            return True
        lowest_c = min(lowest_c, temp_c)
    return False
