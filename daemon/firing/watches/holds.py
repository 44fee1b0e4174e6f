"""Holds that end too soon, or never began."""

from __future__ import annotations

from math import inf

from daemon.firing.events import Part, Rank
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import Finding, View

_SHORT_SHARE = 0.15
_SHORT_S = 180.0
_WORTH_HOLDING_S = 300.0
_TOLD_FOR_S = 1800.0
_LEFT_C = 4.0
_FAR_OFF_K = 40.0
_SETTLES_S = 2400.0
_LEAVING_WINDOW_S = 240.0
_CREEP_WINDOW_S, _CREEP_C_PER_H, _CREEP_BELOW_K = 3600.0, 4.0, 2.0
"""What climbs by so much over so long, so far below its target, is a weak kiln on its way and no hold."""
_STILL_SHARE = 0.2
"""… and goes on, when it is told, at no less than this share."""
_SETTLING_S, _GOES_ON_SHARE, _PASSES_SHARE = 300.0, 0.6, 0.4
"""Over so long [s] a fall that passed its hold goes on at no less than this share of the plan's next; by trial."""
_SWUNG_K, _MINUTE_S = 2.0, 60.0
"""A kiln whose minutes' means come up by so much again has not left its hold [K, s]; by trial."""
_MOVING_C_PER_H = 25.0
"""The same where the ramp is free [°C/h]."""
_MOVING_SHARE = 0.3
"""A hold that was left is left at no less than this share of the planned rate."""


def hold_cut_short(view: View) -> Finding | None:
    """Return the finding where the last hold was left early or passed over by the plan's next ramp."""
    if not view.found or view.swings_to_anneal:
        return None
    passed = _passed_anneal(view)
    if passed is not None:
        return passed
    here = view.found[-1]
    hold, held_s, left_s = _hold_before(view, here)
    if hold is None or hold.duration_s < _WORTH_HOLDING_S:
        return None
    enough_s = hold.duration_s - max(_SHORT_S, _SHORT_SHARE * hold.duration_s, 2 * view.trail.step_s)
    if held_s > enough_s or view.dwell_s(hold, left_s) > enough_s:
        return None
    if not _leaves(view, view.parts[here.index], left_s):
        return None
    if left_s - held_s < view.trail.unbroken_from_s:
        return None  # a hole lies in it, or where it ended: how long it was held was not seen
    anneal = view.anneal is not None and hold.index == view.anneal.index
    if anneal and (_only_settles(view, view.parts[here.index], left_s) or _swings(view, left_s)):
        return None
    if not anneal and view.t_s - left_s > _TOLD_FOR_S:
        return None
    if anneal and view.temp_c < view.glass.band_low_c:
        return None
    return _cut_short(view, hold, held_s, left_s, anneal=anneal)


def _leaves(view: View, ramp: PlannedPart, left_s: float) -> bool:
    """Return whether the kiln has moved on from where it was at ``left_s``, and still does.

    Not from the target: a probe that reads differently from the controller stands off it in every hold.
    """
    at_end = view.trail.line(left_s - 60.0, left_s + 60.0)
    if at_end is None:
        return False
    moved = (view.temp_c - at_end.at(left_s)) * ramp.direction
    planned = abs(ramp.rate_c_per_h) if ramp.rate_c_per_h is not None else _MOVING_C_PER_H
    least = _LEFT_C + 2.0 * view.trail.noise_c
    line = view.line(_LEAVING_WINDOW_S, max(left_s, view.resumed_s))
    if line is None or line.slope_c_per_s * 3600 * ramp.direction - view.error_c_per_h(line) < _STILL_SHARE * planned:
        return False
    return moved > max(least, _MOVING_SHARE * planned * (view.t_s - left_s) / 3600)


def _only_settles(view: View, ramp: PlannedPart, left_s: float) -> bool:
    """Return whether the kiln comes to rest rather than goes on: the last of a free fall looks like a slow ramp."""
    line = view.line(_SETTLING_S, max(left_s, view.resumed_s))
    if line is None or ramp.rate_c_per_h is None:
        return False
    return line.slope_c_per_s * 3600 * ramp.direction < _GOES_ON_SHARE * abs(ramp.rate_c_per_h)


def _swings(view: View, left_s: float) -> bool:
    """Return whether the kiln has come up again since ``left_s``: a controller that swings about its hold."""
    trail = view.trail
    lowest_c, back_c = inf, _SWUNG_K + 2.0 * trail.noise_c
    minute_s = max(_MINUTE_S, 3 * trail.step_s)
    for k in range(1, int((view.t_s - left_s) / minute_s) + 1):
        line = trail.line(left_s + (k - 1) * minute_s, left_s + k * minute_s)
        if line is None:
            continue
        if line.mean_c > lowest_c + back_c:
            return True
        lowest_c = min(lowest_c, line.mean_c)
    return False


def _cut_short(view: View, hold: PlannedPart, held_s: float, left_s: float, *, anneal: bool) -> Finding:
    undone = {"undone": float(hold.index), "here_c": view.temp_c - view.offset_c} if anneal else {}
    return Finding("hold-cut-short", Rank.WAKE if anneal else Rank.LOOK, left_s, hold.step, facts={
        **undone, "held_s": held_s, "asked_s": hold.duration_s, "hold_c": hold.to_c, "temp_c": view.temp_c,
        "anneal": float(anneal), "band_low_c": view.glass.band_low_c,
    })


def _passed_anneal(view: View) -> Finding | None:
    """Return the finding where the fall to the anneal goes on below it, before the follower has gone on.

    A fall that is still as fast as a free one is a kiln without power, which has its own watch.
    """
    part, anneal = view.part, view.anneal
    if part is None or anneal is None or part.direction >= 0 or not view.leads_to_anneal(part.index):
        return None
    if anneal.duration_s < _WORTH_HOLDING_S or view.temp_c - view.offset_c > anneal.to_c - view.near_c:
        return None
    passed_s = view.last_at_or_above(anneal.to_c + view.offset_c)
    after, line = view.next_fall(anneal.index), view.line(150.0, view.resumed_s)
    if passed_s is None or after is None or line is None or view.t_s - passed_s < 120.0:
        return None
    if passed_s < view.trail.unbroken_from_s:
        return None  # it came down in a hole, where it may have been held
    fall, planned = -line.slope_c_per_s * 3600, view.governing_fall_c_per_h(after)
    settling = view.line(_SETTLING_S, max(passed_s, view.resumed_s))
    if settling is not None:
        fall = min(fall, -settling.slope_c_per_s * 3600)
    if fall < max(5.0, _PASSES_SHARE * planned) or fall > 1.4 * planned:
        return None
    return _cut_short(view, anneal, 0.0, passed_s, anneal=True)


def _hold_before(view: View, here: Part) -> tuple[PlannedPart | None, float, float]:
    """Return the hold that should lie just behind the present ramp, how long it was held, and its end [s]."""
    planned = view.parts[here.index]
    if planned.part != "ramp" or here.index == 0:
        return None, 0.0, 0.0
    before = view.parts[here.index - 1]
    if before.part != "hold":
        return None, 0.0, 0.0
    if len(view.found) == 2 and view.found[-2].index == before.index:
        return None, 0.0, 0.0  # joined in the middle of it: how long it had been held was not seen
    if len(view.found) >= 2 and view.found[-2].index == before.index:
        return before, here.start_s - _reached_s(view, before), here.start_s
    if len(view.found) < 2:
        return None, 0.0, 0.0  # joined in the middle: what came before was not seen
    line = view.trail.line(here.start_s - 60.0, here.start_s + 60.0)
    if line is None or abs(line.mean_c - view.offset_c - before.to_c) > 2.0 * view.near_c:
        return None, 0.0, 0.0  # never came near it: something else happened first
    return before, 0.0, here.start_s


def _reached_s(view: View, hold: PlannedPart) -> float:
    """Return when the last hold was first reached [s]: after a crash cool it swings back before it settles."""
    run, trail = view.found[-2], view.trail
    began_s = view.found[-3].start_s if len(view.found) >= 3 else run.start_s
    way = view.parts[hold.index - 1].direction if hold.index else 0
    if run.mean_c is None or not way:
        return run.start_s
    first, last = trail.index_at(max(began_s, run.start_s - _SETTLES_S)), trail.index_at(run.start_s)
    return next((trail.times[i] for i in range(first, last) if (trail.temps[i] - run.mean_c) * way >= -_LEFT_C),
                run.start_s)


def hold_overrun(view: View) -> Finding | None:
    """Return the finding where a hold goes on long past its time."""
    part = view.part
    if part is None or part.part != "hold" or not view.found or view.found[-1].index != part.index:
        return None
    if abs(view.temp_c - view.offset_c - part.to_c) > _FAR_OFF_K:
        return None  # after a hole the follower comes late: this is no hold any more
    over_s = view.t_s - view.found[-1].start_s - part.duration_s
    if over_s < max(900.0, 0.5 * part.duration_s):
        return None
    if view.next_part is None or _creeps_up(view, part):
        return None
    top = view.top is not None and part.index == view.top.index
    anneal = view.anneal is not None and part.index == view.anneal.index
    rank = Rank.WAKE if top else Rank.LOG if anneal else Rank.LOOK
    return Finding("hold-overrun", rank, view.t_s - over_s, part.step, facts={
        "over_s": over_s, "asked_s": part.duration_s, "hold_c": part.to_c, "temp_c": view.temp_c,
    })


def _creeps_up(view: View, hold: PlannedPart) -> bool:
    """Return whether the kiln is still on its way up to the hold: a weak one takes hours for the last kelvins."""
    line = view.line(_CREEP_WINDOW_S, view.resumed_s)
    if line is None or hold.index == 0 or view.parts[hold.index - 1].direction <= 0:
        return False
    short_c = hold.to_c - (view.temp_c - view.offset_c)
    creeps = line.slope_c_per_s * 3600 > max(_CREEP_C_PER_H, 2.0 * view.error_c_per_h(line))
    return short_c > view.near_c or (creeps and short_c > _CREEP_BELOW_K)
