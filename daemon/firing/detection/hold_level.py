"""Which hold the kiln stands in, well or ill, and by how much it is off its target."""

from __future__ import annotations

from typing import NamedTuple

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import View
from daemon.regression import Line

OFF_K = 6.0
WORTH_S = 600.0
"""A shorter hold is over before it can be said to stand anywhere."""
FAR_K = 25.0
"""Further from its target than this the kiln stands somewhere else [K]."""
_SETTLE_S = 300.0
_MEAN_S = 300.0
_WINDOWS_S, _WHOLE_SHARE = (300.0, 600.0, 1200.0), 0.8
"""How long a kiln is looked at to say that it stands [s], and how much of it must be seen."""
_MOVING_C_PER_H = 25.0
_MOVING_SHARE, _MANY = 0.3, 40
"""A ramp slower than this share of its plan stands; so few readings are doubted twice as much."""
_COMES_BACK_S = 900.0
"""What is back at its target so soon, as it goes now, only swung past it."""
_TEACHES_S = 300.0
_TAUGHT_SHORTLY_K = 3.0
"""Doubt of a usual difference that only a short hold has shown [K]."""
_HELD_SHARE = 0.5


class Standing(NamedTuple):
    """A hold the kiln stands in, well or ill."""

    hold: PlannedPart
    since_s: float
    off_k: float
    """What it differs by beyond the usual difference [K]."""
    mean_c: float
    usual_k: float
    doubt_k: float
    comes_back: bool
    """Whether it is on its way to the target, so that it only swung past it."""


def standing(view: View) -> Standing | None:
    """Return the hold that the kiln stands in; None where it moves, or nothing is known of the usual difference.

    The follower may not see it: it takes a kiln far off the target for one that is still on its way there, or
    has passed it. So a hold that is due and was not held counts too, as long as the kiln stands near it.
    """
    part = view.part
    usual = _usual(view)
    if part is None or usual is None:
        return None
    usual_k, unsure_k = usual
    doubt_k = 2.0 * view.wander_k + unsure_k
    if part.part == "hold":
        if not view.found or view.found[-1].index != part.index or part.duration_s < WORTH_S:
            return None
        since_s = view.found[-1].start_s
        line = view.line(_MEAN_S, max(since_s + _SETTLE_S, view.resumed_s))
        if line is None or line.span_s < _MEAN_S / 2:
            return None
        slope, error = line.slope_c_per_s * 3600, view.error_c_per_h(line)
        if abs(slope) > _MOVING_C_PER_H + 2.0 * error:
            return None
        off_k = line.mean_c - usual_k - part.to_c
        return Standing(part, since_s, off_k, line.mean_c, usual_k, doubt_k, _comes_back(off_k, slope, error))
    return _unseen(view, part, usual_k, doubt_k)


def _unseen(view: View, ramp: PlannedPart, usual_k: float, doubt_k: float) -> Standing | None:
    """Return the standing in a hold beside the ramp that the follower believes in."""
    line = _still(view, ramp)
    if line is None:
        return None
    slope, error = line.slope_c_per_s * 3600, view.error_c_per_h(line)
    for hold in _due(view, ramp):
        off_k = line.mean_c - usual_k - hold.to_c
        if abs(off_k) <= FAR_K:
            swings = _comes_back(off_k, slope, error)
            return Standing(hold, view.t_s - line.span_s, off_k, line.mean_c, usual_k, doubt_k, swings)
    return None


def _still(view: View, ramp: PlannedPart) -> Line | None:
    """Return the shortest line that can tell a hold from ``ramp``, if it stands still; None otherwise.

    A slow ramp hardly moves, so it is looked at for longer, and by a logger of minutes too.
    """
    pace = _MOVING_C_PER_H
    if ramp.rate_c_per_h is not None:
        pace = min(pace, _MOVING_SHARE * abs(ramp.rate_c_per_h))
    for window_s in _WINDOWS_S:
        line = view.line(window_s, view.resumed_s)
        if line is None or line.span_s < _WHOLE_SHARE * window_s:
            return None
        doubt = view.trail.slope_error(line, 0.0, 1.0) * 3600 * (1.0 if line.number > _MANY else 2.0)
        if doubt <= pace:
            return line if abs(line.slope_c_per_s) * 3600 <= pace else None
    return None


def _due(view: View, ramp: PlannedPart) -> list[PlannedPart]:
    """Return the holds at either end of a ramp that are worth the name and were not held yet."""
    beside = [view.parts[i] for i in (ramp.index + 1, ramp.index - 1) if 0 <= i < len(view.parts)]
    held = {
        run.index for run in view.found
        if (run.end_s if run.end_s is not None else view.t_s) - run.start_s
        > _HELD_SHARE * view.parts[run.index].duration_s
    }
    return [part for part in beside if part.part == "hold" and part.duration_s >= WORTH_S and part.index not in held]


def _comes_back(off_k: float, slope: float, error: float) -> bool:
    """Return whether the kiln is on its way to the target, so that it only swung past it."""
    towards = -slope if off_k > 0 else slope
    return towards > error and abs(off_k) - towards * _COMES_BACK_S / 3600 < OFF_K


def _usual(view: View) -> tuple[float, float] | None:
    """Return the usual difference and how far it may be wrong [K]; None where no other hold has shown it."""
    if view.offset_elsewhere_k is not None:
        return view.offset_elsewhere_k, 0.0
    here = view.part
    shown = [
        (run.end_s - run.start_s, run.mean_c - view.parts[run.index].to_c)
        for run in view.found
        if run.part == "hold" and run.end_s is not None and run.mean_c is not None
        and run.end_s - run.start_s >= _TEACHES_S and (here is None or run.index != here.index)
    ]
    return (max(shown)[1], _TAUGHT_SHORTLY_K) if shown else None
