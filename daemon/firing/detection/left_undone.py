"""Where a climb or hold was left undone by falling."""

from __future__ import annotations

from typing import NamedTuple

from daemon.firing.detection.hold_level import FAR_K
from daemon.firing.events import Part
from daemon.firing.plan.schedule import PlannedPart, part_after
from daemon.firing.situation.hold_measure import missing_at_most_s
from daemon.firing.situation.level_doubt import is_below
from daemon.firing.situation.view import NEVER_NEAR_K, TOP_NEAR_C, View

BEGINS_WITHIN_S = 1800.0
"""Below the annealing range and this long after a part was left, its end is no news [s]. [tuned: by trial on the
bench, study not kept]
"""
_UNSURE_STEPS = 6.0
"""Within so many steps of a slow logger the two ends of a hold are known. [tuned: by trial on the bench, study not
kept]
"""
_PACE_WINDOW_S, _PACE_STEPS, _PACE_SHARE, _PACE_BACK_S = 90.0, 3, 0.3, 1800.0
"""A fall is told from a top that sags by a pace of at least this share of the present one, in windows so long [s] or
so many steps of a slow logger, moved back by a third of their length, up to so far back [s]. [tuned: by trial on the
bench, study not kept]
"""
_WINDOW_PARTS = 3
"""By which part of its length that window is moved. [chosen: a third finds the bend within half a minute]"""
_HEIGHT_BACK_S, _HIGHEST_PART, _MARGIN_K, _MARGIN_SDS = 2400.0, 50, 1.0, 2.0
"""The height a fall began from: the readings of the last so many seconds [s] of the part, all but the highest
fiftieth, since a spike is no height, less this margin [K, and in standard deviations of the noise]. [tuned: by trial
on the bench, study not kept]
"""
_OVERSHOT_K = 15.0
"""A badly tuned controller shoots over by so much at the most [K]. [common practice]"""


class Left(NamedTuple):
    """A part that was left before it was done."""

    t_s: float
    from_c: float
    """Where the readings were when the fall began [°C]."""
    planned: PlannedPart
    """The part that was not done."""


def left_undone(view: View) -> Left | None:
    """Return where a climb or hold was left undone by falling; None if none was.

    What should have been finished is the last part that was no fall: the follower may still be in it, where the fall
    is young, or may have gone on to the fall that the plan has next. An anneal hold that was fallen past comes first.
    A climb that came near its target counts as done, and then its hold is asked for; where that was held long enough,
    only a climb that is due after it can be left undone.

    A hold was long enough by either of two measures: how long the follower was in it, and how long the readings stood
    near its target; one that the follower did not see, by how long they stood near the height they fell from. A hold
    that the trace begins in says nothing: how long it had been held before was not seen.
    """
    undone = next((run for run in reversed(view.found)
                   if view.parts[run.index].direction >= 0 and not _is_of_air(view, run)), None)
    if undone is None:
        return None
    if undone.end_s is not None and view.temp_c < view.glass.band_low_c and (
            view.t_s - undone.end_s > BEGINS_WITHIN_S):
        return None
    missed = _missed_anneal(view, undone)
    if missed is not None:
        level_c = missed.to_c + view.offset_k
        passed_s = view.last_at_or_above(level_c)
        if passed_s is not None:
            return Left(passed_s, level_c, missed)
    planned = view.parts[undone.index]
    left_s, left_c = _last_height(view, undone)
    # In a gap of the readings the kiln may have held on; and a top that sags ends where it falls, not at its highest.
    left_s = max(left_s, view.trail.unbroken_from_s, _fell_s(view, left_c))
    if planned.part == "hold":
        if undone is view.found[0]:
            return None  # joined in the middle of it: how long it had been held was not seen
        if not _short(view, planned, left_s - undone.start_s) or not _short(
                view, planned, view.dwell_s(planned, left_s)):
            return _with_climb(view, planned, left_s, left_c)
        return Left(left_s, left_c, planned)
    hold = part_after(view.parts, planned.index)
    if hold is None or hold.part != "hold":
        is_done = _came_near(view, planned, undone)
        return _with_climb(view, planned, left_s, left_c) if is_done else Left(left_s, left_c, planned)
    # To the follower a hold kept too low is an unfinished climb; what tells is how long the readings stood there.
    if left_c > hold.to_c + view.offset_k - FAR_K and not _short(view, hold, _stood_about_s(view, undone, left_c)):
        return None
    return Left(left_s, left_c, hold if _came_near(view, planned, undone) else planned)


def _is_of_air(view: View, run: Part) -> bool:
    """Return whether a climb is only the air that comes back under a vent that was shut again.

    It began after the vent was opened, and has come to no more than brick and glass had: heat given back. (Weighed: a
    controller that begins again after a vent. It leads higher.)
    """
    if view.parts[run.index].direction <= 0 or view.kiln_c is None or view.vented_s is None or (
            run.start_s < view.vented_s):
        return False
    trail = view.trail
    return max(trail.temps[trail.index_at(run.start_s):], default=view.temp_c) < view.kiln_c


def _with_climb(view: View, done: PlannedPart, left_s: float, left_c: float) -> Left | None:
    """Return the climb that is due after a part as good as done as what was left undone; None where a fall is due."""
    after = part_after(view.parts, done.index)
    return Left(left_s, left_c, after) if after is not None and after.direction > 0 else None


def _short(view: View, hold: PlannedPart, lasted_s: float) -> bool:
    """Return whether a hold that lasted ``lasted_s`` was left too early to be as good as done."""
    missing_s = max(missing_at_most_s(hold), _UNSURE_STEPS * view.trail.step_s)
    return lasted_s < hold.duration_s - missing_s


def _came_near(view: View, planned: PlannedPart, run: Part) -> bool:
    """Return whether the climb came near its target."""
    trail = view.trail
    level_c = planned.to_c + view.offset_k - view.near_k
    return any(trail.temps[i] >= level_c for i in range(trail.index_at(run.start_s), len(trail.times)))


def _stood_about_s(view: View, run: Part, left_c: float) -> float:
    """Return how long the readings stood no more than _OVERSHOT_K below the height they fell from [s].

    A hold that begins with an overshoot is left from its level, not from its greatest height. The time that the climb
    takes through the last _OVERSHOT_K is subtracted.
    """
    level_c = left_c - _OVERSHOT_K
    last_s = view.last_at_or_above(level_c, run.start_s)
    rate = view.parts[run.index].rate_c_per_h
    passing_s = _OVERSHOT_K / abs(rate) * 3600 if rate else 0.0
    if last_s is None:
        return 0.0
    trail = view.trail
    stood_s = next((trail.times[i] for i in range(trail.index_at(run.start_s), len(trail.times))
                    if trail.temps[i] >= level_c), view.t_s)
    return last_s - stood_s - passing_s


def _fell_s(view: View, height_c: float) -> float:
    """Return since when the kiln has fallen at no less than a good share of its present pace [s].

    It left its height ``height_c`` [°C] by then at the soonest: a top sags by less than NEVER_NEAR_K, so a new pace
    further down is one of the fall's own. (Weighed: a part that the follower has not seen, further down. It would be
    no part of what was left at that height.)
    """
    window_s = max(_PACE_WINDOW_S, _PACE_STEPS * view.trail.step_s)
    now = view.line(2 * window_s, view.resumed_s)
    if now is None:
        return view.trail.unbroken_from_s
    at_s, least = view.t_s, _PACE_SHARE * now.slope_c_per_s
    while at_s > view.t_s - _PACE_BACK_S:
        line = view.trail.line(at_s - window_s, at_s)
        if line is None or line.slope_c_per_s > least:
            break
        at_s -= window_s / _WINDOW_PARTS
    else:
        return view.trail.unbroken_from_s  # a fall that long has no beginning to be told from here
    fell_s, trail = at_s - window_s / _WINDOW_PARTS, view.trail
    began_c = max(trail.temps[trail.index_at(fell_s - window_s):trail.index_at(fell_s + window_s)], default=height_c)
    return trail.unbroken_from_s if began_c < height_c - NEVER_NEAR_K else fell_s


def _last_height(view: View, run: Part) -> tuple[float, float]:
    """Return (second, °C) where the latest fall began: the last time the readings stood as high."""
    trail = view.trail
    ended_s = view.ended_s(run)
    first = trail.index_at(max(run.start_s, ended_s - _HEIGHT_BACK_S))
    margin = _MARGIN_SDS * trail.noise_k + _MARGIN_K
    heights = trail.temps[first:]
    if not heights:
        return view.t_s, view.temp_c
    level_c = sorted(heights)[-1 - len(heights) // _HIGHEST_PART] - margin
    planned = view.parts[run.index]
    after = part_after(view.parts, run.index)
    if run.part == "hold" and run.mean_c is not None:
        level_c = min(level_c, run.mean_c - margin)
    elif after is not None and after.part == "hold" and level_c > planned.to_c + view.offset_k - view.near_k:
        # It has as good as reached its top: the fall begins where the readings leave it, not with a swing about it.
        level_c = min(level_c, max(level_c - TOP_NEAR_C, planned.to_c + view.offset_k - margin))
    left_s = view.last_at_or_above(level_c, run.start_s)
    return (view.t_s if left_s is None else left_s), level_c


def _missed_anneal(view: View, undone: Part) -> PlannedPart | None:
    """Return the anneal hold if the kiln fell past it on the way from ``undone`` without holding."""
    anneal = view.anneal
    if anneal is None or not view.leads_to_anneal(undone.index) or any(p.index == anneal.index for p in view.found):
        return None
    return anneal if is_below(view, anneal) else None
