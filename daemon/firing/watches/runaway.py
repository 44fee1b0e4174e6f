"""A climb where the plan has none left: a welded contact, or a controller that began again."""

from __future__ import annotations

from dataclasses import replace

from daemon.firing.events import Rank
from daemon.firing.situation.last_climb import is_beyond_plan
from daemon.firing.situation.view import Finding, View
from daemon.firing.watches.rate_test import surest

_FASTER = 1.3
"""A climb beyond this many times the plan's fastest is nobody's program."""
_NEW_K = 10.0
_LOOK_BACK_S = 900.0
"""A lid that is shut again lets the air come back to where it was within this long, and no higher [K, s]."""
_OLDER_THAN_S = 60.0
_WARM_C = 120.0
_FALLS_C_PER_H = 8.0
_FALLS_FOR_S = 600.0
_HOLDS_FOR_S = 300.0


class RunawayWatch:
    """Remembers a climb that should not be, until the kiln falls again; sees every beat."""

    def __init__(self) -> None:
        self._fast: Finding | None = None
        self._again: Finding | None = None

    def see(self, view: View) -> Finding | None:
        """Return the finding where the kiln climbs faster than its plan ever does, and should not climb at all."""
        self._fast = _kept(self._fast or _too_fast(view), view)
        return self._fast

    def hold_on(self, again: Finding | None, view: View) -> Finding | None:
        """Return the finding of a climb that began ``again``.

        One that leads beyond all the plan has stands until the kiln falls, or holds where the plan holds: what
        holds there is a program, and no welded contact.
        """
        if self._again is None and again is not None and again.facts.get("beyond"):
            self._again = again
        if self._again is not None and _holds_as_planned(view):
            self._again = None
        self._again = _kept(self._again, view)
        return self._again or again


def _too_fast(view: View) -> Finding | None:
    if view.temp_c < _WARM_C or not is_beyond_plan(view):
        return None
    climbs = [part.rate_c_per_h for part in view.parts if part.direction > 0]
    known = [rate for rate in climbs if rate is not None]
    if len(known) < len(climbs):
        return None  # a free climb is as fast as the kiln goes
    trail = view.trail
    before = trail.temps[trail.index_at(view.t_s - _LOOK_BACK_S):trail.index_at(view.t_s - _OLDER_THAN_S)]
    if view.temp_c < max(before, default=view.temp_c) + _NEW_K:
        return None
    found = surest(view, _FASTER * max(known), view.resumed_s, way=1)
    if found is None:
        return None
    return Finding("over-temperature", Rank.WAKE, found.since_s, severity_c=view.temp_c, facts={
        "temp_c": view.temp_c, "rate_c_per_h": found.c_per_h, "fastest_c_per_h": max(known),
    })


def _holds_as_planned(view: View) -> bool:
    part, line = view.part, view.line(_HOLDS_FOR_S, view.part_start_s)
    if part is None or part.part != "hold" or line is None or line.span_s < _HOLDS_FOR_S - 60.0:
        return False
    return abs(line.slope_c_per_s) * 3600 < _FALLS_C_PER_H


def _kept(finding: Finding | None, view: View) -> Finding | None:
    """Return ``finding`` as it stands now; None once the kiln falls."""
    if finding is None:
        return None
    line = view.line(_FALLS_FOR_S, max(view.resumed_s, finding.since_s))
    if line is None:
        return finding
    slope, error = line.slope_c_per_s * 3600, view.error_c_per_h(line)
    if slope + 2.0 * error < -_FALLS_C_PER_H:
        return None
    return replace(finding, severity_c=view.temp_c, facts=finding.facts | {
        "temp_c": view.temp_c, "rate_c_per_h": max(0.0, slope)})
