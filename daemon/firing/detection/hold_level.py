"""Which hold the kiln stands in, near its target or not, and by how much it is off it.

Two watches ask. hold-off-target tells a hold that stands off its target; not-cooling and others leave a kiln alone
that stands in a hold, since it is not on its way anywhere. What it is off is counted beyond the usual difference of
probe and plan, as other holds of this firing, or earlier firings, have shown it. Where neither has, nothing is said:
one probe alone cannot tell a hold that is off from a probe that reads differently.
"""

from __future__ import annotations

from typing import NamedTuple

from daemon.firing.detection.rate_test import LIKELY
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.hold_measure import STOOD_C
from daemon.firing.situation.level_doubt import low_doubt_k, since_fall_s
from daemon.firing.situation.view import NEVER_NEAR_K, View
from daemon.regression import Line

OFF_K = STOOD_C
"""A hold that differs by less than this from its target is as good as on it [K].
[from: daemon.firing.situation.hold_measure.STOOD_C]"""
WORTH_S = 600.0
"""A hold shorter than this is over before it can be said to stand anywhere [s].
[derived: _SETTLE_S and the mean after it]"""
FAR_K = 25.0
"""Further from its target than this the kiln stands somewhere else [K].
[tuned: by trial on the bench, study not kept]"""
_FAR_BELOW_K = NEVER_NEAR_K
"""The same below a hold to which a fall without power led: the plan has nothing else there at which a kiln comes to
rest [K]. [from: daemon.firing.situation.view.NEVER_NEAR_K]"""
_SETTLE_S, _MEAN_S, _MEAN_SHARE = 300.0, 300.0, 0.5
"""A hold counts as settled so long after it began; its level is then the mean of so long, of which this share must
have been seen [s]. [tuned: by trial on the bench, study not kept]"""
_WINDOWS_S, _WHOLE_SHARE = (300.0, 600.0, 1200.0), 0.8
"""How long a kiln beside a hold is looked at to say that it stands [s], and how much of it must be seen.
[tuned: by trial on the bench, study not kept]"""
MOVING_C_PER_H = 25.0
"""A kiln faster than this stands nowhere [°C/h].
[tuned: by trial on the bench, study not kept]"""
_MOVING_SHARE = 0.3
"""Beside a hold it stands where it is also slower than this share of the planned ramp.
[tuned: by trial on the bench, study not kept]"""
_MANY, _FEW_TIMES = 40, 2.0
"""So few readings tell a slope with so many times its standard error, since the noise itself is little known from
them. [common practice]"""
_COMES_BACK_S = 900.0
"""A kiln that will be back at its target so soon, as it goes now, only swung past it [s].
[tuned: by trial on the bench, study not kept]"""
_TEACHES_S, _TAUGHT_SHORTLY_K = 300.0, 3.0
"""A hold of this firing that lasted so long shows the usual difference [s], with this doubt [K].
[tuned: by trial on the bench, study not kept]"""
_WANDERS = 2.0
"""What is off is told beyond so many times the wander of a hold. [common practice]"""
_HELD_SHARE = 0.5
"""A hold that was held for more than this share of its time has been held.
[tuned: by trial on the bench, study not kept]"""


class Standing(NamedTuple):
    """A hold the kiln stands in, near its target or not."""

    hold: PlannedPart
    since_s: float
    off_k: float
    """What it differs by beyond the usual difference [K]; positive where it is too hot."""
    doubt_k: float
    """How far ``off_k`` may be wrong [K]."""
    comes_back: bool
    """Whether it is on its way to the target, so that it only swung past it."""


def standing(view: View) -> Standing | None:
    """Return the hold that the kiln stands in; None where it moves, or nothing is known of the usual difference.

    The follower may not see the hold: it takes a kiln far off the target for one that is still on its way there, or
    has passed it. So a hold that is due and was not held yet counts too, as long as the kiln stands within FAR_K of
    it; or within _FAR_BELOW_K below it where a fall without power led there.
    """
    part = view.part
    if part is None:
        return None
    usual = _usual(view, part)
    if usual is None:
        return None
    usual_k, unsure_k = usual
    doubt_k = _WANDERS * view.wander_k + unsure_k
    if part.part == "hold":
        present = view.present_hold
        if present is None or part.duration_s < WORTH_S:
            return None
        since_s = present.start_s
        line = view.line(_MEAN_S, max(since_s + _SETTLE_S, view.resumed_s))
        if line is None or line.span_s < _MEAN_SHARE * _MEAN_S:
            return None
        slope, error = line.slope_c_per_s * 3600, view.error_c_per_h(line)
        if abs(slope) > MOVING_C_PER_H + LIKELY * error:
            return None
        off_k = line.mean_c - usual_k - part.to_c
        return Standing(part, since_s, off_k, _doubt_k(view, part, off_k, doubt_k), _comes_back(off_k, slope, error))
    return _unseen(view, part, usual_k, doubt_k)


def _unseen(view: View, ramp: PlannedPart, usual_k: float, doubt_k: float) -> Standing | None:
    """Return how the kiln stands in a hold at either end of the ramp that the follower takes it to be in."""
    line = _still(view, ramp)
    if line is None:
        return None
    slope, error = line.slope_c_per_s * 3600, view.error_c_per_h(line)
    for hold in due_beside(view, ramp):
        off_k = line.mean_c - usual_k - hold.to_c
        if abs(off_k) <= (_FAR_BELOW_K if off_k < 0 and since_fall_s(view, hold) is not None else FAR_K):
            return Standing(hold, view.t_s - line.span_s, off_k, _doubt_k(view, hold, off_k, doubt_k),
                            _comes_back(off_k, slope, error))
    return None


def _doubt_k(view: View, hold: PlannedPart, off_k: float, doubt_k: float) -> float:
    """Return how far a level ``off_k`` from its hold may be wrong [K]: too low more than too high."""
    return doubt_k + low_doubt_k(view, hold) if off_k < 0 else doubt_k


def _still(view: View, ramp: PlannedPart) -> Line | None:
    """Return the line of the shortest window that can tell a hold from ``ramp``; None where the kiln moves.

    A slow ramp hardly moves, so the kiln is looked at for longer, as it is by a logger of minutes.
    """
    pace = MOVING_C_PER_H
    if ramp.rate_c_per_h is not None:
        pace = min(pace, _MOVING_SHARE * abs(ramp.rate_c_per_h))
    for window_s in _WINDOWS_S:
        line = view.line(window_s, view.resumed_s)
        if line is None or line.span_s < _WHOLE_SHARE * window_s:
            return None
        doubt = view.trail.slope_error(line, 0.0, 1.0) * 3600 * (1.0 if line.number > _MANY else _FEW_TIMES)
        if doubt <= pace:
            return line if abs(line.slope_c_per_s) * 3600 <= pace else None
    return None


def due_beside(view: View, ramp: PlannedPart) -> list[PlannedPart]:
    """Return the holds at either end of a ramp, the later one first, that are long enough and were not held yet."""
    beside = [view.parts[i] for i in (ramp.index + 1, ramp.index - 1) if 0 <= i < len(view.parts)]
    held = {
        run.index for run in view.found
        if view.ended_s(run) - run.start_s
        > _HELD_SHARE * view.parts[run.index].duration_s
    }
    return [part for part in beside if part.part == "hold" and part.duration_s >= WORTH_S and part.index not in held]


def _comes_back(off_k: float, slope: float, error: float) -> bool:
    """Return whether the kiln is on its way to the target, so that it only swung past it."""
    towards = -slope if off_k > 0 else slope
    return towards > error and abs(off_k) - towards * _COMES_BACK_S / 3600 < OFF_K


def _usual(view: View, here: PlannedPart) -> tuple[float, float] | None:
    """Return the usual difference and how far it may be wrong [K]; None where no other hold has shown it."""
    if view.offset_elsewhere_k is not None:
        return view.offset_elsewhere_k, 0.0
    shown = [
        (run.end_s - run.start_s, run.mean_c - view.parts[run.index].to_c)
        for run in view.found
        if run.part == "hold" and run.end_s is not None and run.mean_c is not None
        and run.end_s - run.start_s >= _TEACHES_S and run.index != here.index
    ]
    return (max(shown)[1], _TAUGHT_SHORTLY_K) if shown else None
