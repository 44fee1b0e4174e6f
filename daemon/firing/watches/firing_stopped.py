"""The plan and the kiln part ways: it falls before its plan is done, or does not fall when it should."""

from __future__ import annotations

from daemon.firing.events import Part, Rank
from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart
from daemon.firing.situation.hold_measure import STOOD_C
from daemon.firing.situation.view import TOP_NEAR_C, Finding, View
from daemon.firing.watches.hold_off_target import FAR_C, standing
from daemon.glass.practice import HOT_C

LOOK_AFTER_S = 100.0
WAKE_AFTER_S, WAKE_AFTER_STEPS = 240.0, 6.0
"""A fall must have lasted so long [s, and in steps of a slow logger], lest two peeks in a row wake somebody."""
_FALLEN_C = 10.0
_EARLY_HOLD_S = 120.0
_EARLY_SHARE = 0.25
_PACE_WINDOW_S, _PACE_SHARE, _PACE_BACK_S = 90.0, 0.3, 1800.0
"""Over what, and by how much of its pace, a fall is told from a top that sags, and how far back [s]; by trial."""
_UNSURE_STEPS = 6.0
"""Where a hold begins and ends is known to within so many steps of a slow logger."""
_NATURAL_TIME_H = 10.0
"""A closed kiln cools with a time constant well below this [h]; slower than that is heated. Common practice."""
_STUCK_AFTER_S = 600.0
_AT_PEAK_K, _SHORT_OF_TOP_K = 3.0, 3.0
"""A kiln this near its peak has not come down; one this far below its top was never there [K]."""
_OVERSHOT_C = 15.0
"""A badly tuned controller shoots over by so much at the most; common practice."""
_SURE = 3.0
_BEGINS_WITHIN_S = 1800.0
"""Below the band and this long after a part was left, its end is no news; watches/stopped.py keeps what stands."""


def firing_stopped(view: View) -> Finding | None:
    """Return the finding where the kiln falls freely though its plan wants it to climb or hold."""
    recent = view.line(120.0, view.resumed_s)
    if recent is None or -recent.slope_c_per_s * 3600 < 0.8 * least_natural_fall(view.temp_c):
        return None
    left = _left_early(view)
    if left is None:
        return None
    began_s, from_c, planned = left
    if view.temp_c < view.glass.band_low_c and view.t_s - began_s > _BEGINS_WITHIN_S:
        return None
    line = view.line(180.0, max(view.resumed_s, began_s - 20.0))
    if line is None or line.span_s < 60.0:
        return None
    fall, error = -line.slope_c_per_s * 3600, view.error_c_per_h(line)
    least = max(least_natural_fall(view.temp_c), 1.4 * _planned_after(view, planned))
    if fall - 2.0 * error < least or from_c - view.temp_c < _FALLEN_C or view.rises:
        return None
    rank = _rank(view, planned, from_c, view.t_s - began_s)
    if view.t_s - began_s < LOOK_AFTER_S and rank is not Rank.LOG:
        return None
    return Finding("firing-stopped", rank, began_s, planned.step, facts={
        "from_c": from_c, "temp_c": view.temp_c, "fall_c_per_h": fall, "to_c": planned.to_c,
        "anneal_c": view.anneal.to_c if view.anneal else 0.0, "climbing": float(planned.direction > 0),
        "anneal": float(_in_anneal(view, planned)), "undone": float(planned.index),
        "held_s": view.dwell_s(planned, began_s) if planned.part == "hold" else 0.0,
        "here_c": view.temp_c - view.offset_c,
    })


def _rank(view: View, planned: PlannedPart, from_c: float, lasted_s: float) -> Rank:
    if view.temp_c < view.glass.band_low_c and from_c < HOT_C and not _in_anneal(view, planned):
        return Rank.LOG
    matters = from_c >= HOT_C or _in_anneal(view, planned)
    patience_s = max(WAKE_AFTER_S, WAKE_AFTER_STEPS * view.trail.step_s)
    return Rank.WAKE if matters and lasted_s >= patience_s else Rank.LOOK


def _in_anneal(view: View, planned: PlannedPart) -> bool:
    return view.anneal is not None and planned.index == view.anneal.index


def least_natural_fall(temp_c: float) -> float:
    """Return the slowest fall [°C/h] that looks like a kiln without power at ``temp_c``."""
    return max(20.0, (temp_c - ASSUMED_ROOM_C) / 5.0)


def _planned_after(view: View, planned: PlannedPart) -> float:
    """Return the planned fall [°C/h] that governs once ``planned`` is left; 0 where it is none or free."""
    here = view.part
    after = here if here is not None and here.direction < 0 and here.index > planned.index else \
        view.next_fall(planned.index)
    if after is None or after.rate_c_per_h is None:
        return 0.0
    return view.governing_fall_c_per_h(after)


_Left = tuple[float, float, PlannedPart]


def _left_early(view: View) -> _Left | None:
    """Return (second, °C, part) of where a climb or hold was left undone by falling; None if none was.

    The follower may still be in that part (the fall is young) or may have gone on to the fall that the
    plan has next; either way the last part that was no fall is what should have been finished.
    """
    undone = next((run for run in reversed(view.found) if view.parts[run.index].direction >= 0), None)
    if undone is None:
        return None
    if undone.end_s is not None and view.temp_c < view.glass.band_low_c and (
            view.t_s - undone.end_s > _BEGINS_WITHIN_S):
        return None
    missed = _missed_anneal(view, undone)
    if missed is not None:
        level_c = missed.to_c + view.offset_c
        passed_s = view.last_at_or_above(level_c)
        if passed_s is not None:
            return passed_s, level_c, missed
    planned = view.parts[undone.index]
    left_s, left_c = _last_height(view, undone)
    # In a hole the kiln may have held on; and a top that sags is left where it falls, not where it was highest.
    left_s = max(left_s, view.trail.unbroken_from_s, _fell_s(view))
    if planned.part == "hold":
        if undone is view.found[0]:
            return None  # joined in the middle of it: how long it had been held was not seen
        if not _short(view, planned, left_s - undone.start_s) or not _short(
                view, planned, view.dwell_s(planned, left_s)):
            return _with_climb(view, planned, left_s, left_c)
        return left_s, left_c, planned
    hold = view.parts[planned.index + 1] if planned.index + 1 < len(view.parts) else None
    # A hold kept too low leaves the climb unfinished in the follower's eyes; standing there is what tells.
    low = hold is not None and hold.part == "hold" and left_c > hold.to_c + view.offset_c - FAR_C
    if low and hold is not None and not _short(view, hold, _stood_about_s(view, undone, left_c)):
        return None
    if not _came_near(view, planned, undone):
        return left_s, left_c, planned
    if hold is None or hold.part != "hold":
        return _with_climb(view, planned, left_s, left_c)
    if not _short(
            view, hold, left_s - _stood_from_s(view, undone, min(left_c, hold.to_c + view.offset_c + view.near_c))):
        return _with_climb(view, hold, left_s, left_c)
    if not _short(view, hold, view.dwell_s(hold, left_s)):
        return _with_climb(view, hold, left_s, left_c)
    return left_s, left_c, hold


def _with_climb(view: View, done: PlannedPart, left_s: float, left_c: float) -> _Left | None:
    """Return the climb that is due after a part as good as done as what was left undone; None where a fall is due."""
    after = view.parts[done.index + 1] if done.index + 1 < len(view.parts) else None
    return (left_s, left_c, after) if after is not None and after.direction > 0 else None


def _short(view: View, hold: PlannedPart, lasted_s: float) -> bool:
    missing_s = max(_EARLY_HOLD_S, _EARLY_SHARE * hold.duration_s, _UNSURE_STEPS * view.trail.step_s)
    return lasted_s < hold.duration_s - missing_s


def _came_near(view: View, planned: PlannedPart, run: Part) -> bool:
    """Return whether the climb came near its target."""
    trail = view.trail
    level_c = planned.to_c + view.offset_c - view.near_c
    return any(trail.temps[i] >= level_c for i in range(trail.index_at(run.start_s), len(trail.times)))


def _stood_from_s(view: View, run: Part, left_c: float) -> float:
    """Return since when the readings had stood near the height they fell from, or above it [s].

    Near that height and not near the target, which may differ from what the probe reads.
    """
    trail = view.trail
    for i in range(trail.index_at(run.start_s), len(trail.times)):
        if trail.temps[i] >= left_c - STOOD_C:
            return trail.times[i]
    return view.t_s


def _stood_about_s(view: View, run: Part, left_c: float) -> float:
    """Return how long the readings stood no more than _OVERSHOT_C below the height they fell from [s].

    A hold that begins by shooting over its level is left from there, not from the crest. What the climb takes
    through that much is taken off.
    """
    level_c = left_c - _OVERSHOT_C
    last_s = view.last_at_or_above(level_c, run.start_s)
    rate = view.parts[run.index].rate_c_per_h
    passing_s = _OVERSHOT_C / abs(rate) * 3600 if rate else 0.0
    return 0.0 if last_s is None else last_s - _stood_from_s(view, run, level_c + STOOD_C) - passing_s


def _fell_s(view: View) -> float:
    """Return since when the kiln has fallen at no less than a good share of its present pace [s]."""
    window_s = max(_PACE_WINDOW_S, 3 * view.trail.step_s)
    now = view.line(2 * window_s, view.resumed_s)
    if now is None:
        return view.trail.unbroken_from_s
    at_s, least = view.t_s, _PACE_SHARE * now.slope_c_per_s
    while at_s > view.t_s - _PACE_BACK_S:
        line = view.trail.line(at_s - window_s, at_s)
        if line is None or line.slope_c_per_s > least:
            break
        at_s -= window_s / 3
    return at_s - window_s / 3


def _last_height(view: View, run: Part) -> tuple[float, float]:
    """Return (second, °C) where the latest fall began: the last time the readings stood as high."""
    trail = view.trail
    ended_s = view.t_s if run.end_s is None else run.end_s
    first = trail.index_at(max(run.start_s, ended_s - 2400.0))
    margin = 2.0 * trail.noise_c + 1.0
    heights = trail.temps[first:]
    if not heights:
        return view.t_s, view.temp_c
    level_c = sorted(heights)[-1 - len(heights) // 50] - margin  # a spike is no height
    planned = view.parts[run.index]
    after = view.parts[run.index + 1] if run.index + 1 < len(view.parts) else None
    if run.part == "hold" and run.mean_c is not None:
        level_c = min(level_c, run.mean_c - margin)
    elif after is not None and after.part == "hold" and level_c > planned.to_c + view.offset_c - view.near_c:
        # As good as at the top: a swing about it is not the fall, what leaves it is.
        level_c = min(level_c, max(level_c - TOP_NEAR_C, planned.to_c + view.offset_c - margin))
    left_s = view.last_at_or_above(level_c, run.start_s)
    return (view.t_s if left_s is None else left_s), level_c


def _missed_anneal(view: View, undone: Part) -> PlannedPart | None:
    """Return the anneal hold if the kiln fell past it on the way from ``undone`` without holding."""
    anneal = view.anneal
    if anneal is None or not view.leads_to_anneal(undone.index) or any(p.index == anneal.index for p in view.found):
        return None
    if view.swings_to_anneal:
        return None
    return anneal if view.temp_c - view.offset_c < anneal.to_c - view.near_c else None


def _goes_on(view: View, not_before_s: float, span_s: float) -> bool:
    """Return whether a climb goes on longer than the air under a lid that is shut again takes to come back."""
    recent = view.line(180.0, not_before_s)
    return span_s > _STUCK_AFTER_S - 60.0 and recent is not None and (
        recent.slope_c_per_s * 3600 > _SURE * view.error_c_per_h(recent))


def not_cooling(view: View) -> Finding | None:
    """Return the finding where the kiln holds or climbs though its plan falls."""
    part = view.part
    if part is None or part.direction >= 0:
        return None
    if view.temp_c - view.offset_c < part.to_c + view.near_c:
        return None  # as good as there; what comes next begins
    if view.swings_to_anneal or _may_not_be_done_above(view, part) or view.unreached_top is not None:
        return None
    not_before_s = max(view.part_start_s + 120.0, view.resumed_s)
    line = view.line(_STUCK_AFTER_S, not_before_s)
    if line is None or line.span_s < 240.0 or not view.goes_on(line, +1):
        return None
    slope, error = line.slope_c_per_s * 3600, view.error_c_per_h(line)
    # So close to a hold that is due the kiln swings in, or holds it too warm.
    swing_c = FAR_C if view.next_part is not None and view.next_part.part == "hold" else 2.0 * view.near_c
    climbing = slope - _SURE * error > 8.0 and view.temp_c - view.offset_c > part.to_c + swing_c
    if view.temp_c < view.glass.band_low_c:
        climbing = climbing and _goes_on(view, not_before_s, line.span_s)
    natural = (view.temp_c - ASSUMED_ROOM_C) / _NATURAL_TIME_H
    planned = abs(part.rate_c_per_h) if part.rate_c_per_h is not None else natural
    recent = view.line(180.0, not_before_s)
    falls = recent is not None and (
        recent.slope_c_per_s * 3600 + 2.0 * view.error_c_per_h(recent) < -0.3 * min(planned, natural))
    slow = -slope + 2.0 * error < 0.3 * min(planned, natural) and line.span_s > _STUCK_AFTER_S - 60.0
    if falls or not (climbing or slow) or view.temp_c < 100.0:
        return None
    if not climbing and standing(view) is not None:
        return None  # it stands in a hold that is due, only not where it should
    above = view.anneal is not None and view.temp_c - view.offset_c > view.anneal.to_c + (
        FAR_C if part.index < view.anneal.index else 10.0)
    rank = Rank.WAKE if climbing or above else Rank.LOOK
    return Finding("not-cooling", rank, view.t_s - line.span_s, part.step, severity_c=view.temp_c, facts={
        "rate_c_per_h": slope, "planned_c_per_h": planned, "temp_c": view.temp_c, "to_c": part.to_c,
        "climbing": float(climbing),
    })


def _may_not_be_done_above(view: View, fall: PlannedPart) -> bool:
    """Return whether the kiln may still be on its way to the top before ``fall``, or in that top's hold.

    A peek leaves a dip that looks like the beginning of the fall; so does a weak kiln that creeps to its top.
    """
    if fall.index < 2:
        return False
    climb, top = view.parts[fall.index - 2], view.parts[fall.index - 1]
    lately_c = max(view.trail.temps[view.trail.index_at(view.t_s - _STUCK_AFTER_S):], default=view.temp_c)
    if climb.direction > 0 and lately_c > view.peak_c - _AT_PEAK_K and (
            view.peak_c - view.offset_c < top.to_c - _SHORT_OF_TOP_K):
        return True  # as hot as it has ever been, and its top never reached
    if climb.direction <= 0 or top.part != "hold" or view.temp_c - view.offset_c < top.to_c - FAR_C:
        return False
    highest_c = max(view.trail.temps[view.trail.index_at(view.part_start_s - 1800.0):], default=view.temp_c)
    if highest_c - view.offset_c < top.to_c - view.near_c:
        return True
    return view.t_s - view.part_start_s < top.duration_s + _STUCK_AFTER_S / 2
