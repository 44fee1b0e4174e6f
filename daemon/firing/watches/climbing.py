"""Climbs that go wrong: too fast while the glass is brittle, stalled, or not begun at all."""

from __future__ import annotations

from math import inf

from daemon.firing.events import Rank
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import Finding, View
from daemon.firing.watches.hold_off_target import FAR_C, standing
from daemon.firing.watches.rate_test import surest
from daemon.glass.practice import HOT_C, brittle_below_c

TOLERANCE = 1.3
_LURCH_S = 1200.0
"""A cold kiln lurches before it follows its controller."""
_LURCH_BELOW_C = 120.0
STALL_WINDOW_S = 300.0
STALL_SHARE = 0.15
FADE_WINDOW_S, FADE_SHARE = 1800.0, 0.4
"""So long below so much of its plan a climb fades: an element is out, or the mains are weak."""
_FADE_MOST_C_PER_H = 250.0
"""A plan that asks for more than this asks for what the kiln can give; common practice."""
STALL_WAKE_ABOVE_C = 600.0
STALL_WAKE_AFTER_S = 1800.0
"""A climb flat for so long wakes somebody where it is this hot [°C, s]: layers flow there and haze begins. Not the
temperature below which glass is brittle. [chosen: what the alert promises]
"""
_STALL_SURE = 2.0
NOT_STARTED_AFTER_S = 2700.0
_STARTED_C = 15.0


def heating_too_fast(view: View) -> Finding | None:
    """Return the finding where a climb is faster than planned while the glass is brittle."""
    part = view.part
    if part is None or part.direction <= 0 or part.rate_c_per_h is None:
        return None
    brittle_c = brittle_below_c(view.glass)
    if not _LURCH_BELOW_C < view.temp_c < brittle_c:
        return None
    not_before_s = max(view.part_start_s + _LURCH_S, view.resumed_s) if part.index == 0 else \
        max(view.part_start_s + 120.0, view.resumed_s)
    after = view.next_part
    rate = min(part.rate_c_per_h, _asked_here(view, part))
    if after is not None and after.direction > 0 and view.temp_c - view.offset_c > part.to_c - view.near_c:
        rate = max(rate, after.rate_c_per_h or float("inf"))
    found = surest(view, TOLERANCE * rate, not_before_s, way=1)
    if found is None:
        return None
    return Finding("heating-too-fast", Rank.LOOK, found.since_s, part.step, severity_c=view.temp_c, facts={
        "rate_c_per_h": found.c_per_h, "planned_c_per_h": rate, "temp_c": view.temp_c,
        "thickness_mm": view.thickness_mm, "brittle_below_c": brittle_c,
    })


def _asked_here(view: View, climb: PlannedPart) -> float:
    """Return the rate [°C/h] the plan has for this temperature where the kiln is far below where ``climb`` begins.

    A kiln that climbs faster than its first step looks like one that was advanced to the next.
    """
    temp_c = view.temp_c - view.offset_c
    if temp_c > climb.from_c - FAR_C:
        return inf
    return next((part.rate_c_per_h or inf for part in view.parts[:climb.index]
                 if part.direction > 0 and part.from_c <= temp_c + FAR_C and temp_c < part.to_c), inf)


def _is_back_at_the_anneal(view: View, climb: PlannedPart) -> bool:
    """Return whether a kiln that has been hotter than ``climb`` goes stands where its plan anneals.

    After a cut or an open lid it was brought back to the anneal; to push it on to the climb's target would
    be wrong.
    """
    anneal = view.anneal
    return anneal is not None and anneal.index > climb.index and view.peak_c > climb.to_c + view.near_c and (
        abs(view.temp_c - view.offset_c - anneal.to_c) < view.near_c)


def not_climbing(view: View) -> Finding | None:
    """Return the finding where a climb stands still short of its target, or fades long before it."""
    part = view.part if view.unreached_top is None else view.parts[view.unreached_top.index - 1]
    if part is None or part.direction <= 0 or view.temp_c < _LURCH_BELOW_C:
        return None
    if view.temp_c - view.offset_c > part.to_c - view.near_c:
        return None
    if _is_back_at_the_anneal(view, part):
        return None
    not_before_s = max(view.part_start_s + 180.0, view.resumed_s)
    line = view.line(STALL_WINDOW_S, not_before_s)
    if line is None or line.span_s < STALL_WINDOW_S - 60.0:
        return None
    slope, error = line.slope_c_per_s * 3600, view.error_c_per_h(line)
    planned = part.rate_c_per_h if part.rate_c_per_h is not None else 100.0
    if slope + _STALL_SURE * error > max(0.5 * planned, 15.0) or slope > STALL_SHARE * planned:
        return _fades(view, part, not_before_s)
    if slope + 3.0 * error < -30.0:
        return None  # it falls: another watch's business
    if view.temp_c < HOT_C and _has_turned(view):
        return None
    if standing(view) is not None:
        return None  # it stands in the hold it climbs to, only not where it should
    flat_s = _flat_for_s(view, not_before_s)
    rank = Rank.WAKE if view.temp_c > STALL_WAKE_ABOVE_C and flat_s > STALL_WAKE_AFTER_S else Rank.LOOK
    return Finding("not-climbing", rank, view.t_s - flat_s, part.step, facts={
        "temp_c": view.temp_c, "to_c": part.to_c, "rate_c_per_h": slope, "planned_c_per_h": planned, "flat_s": flat_s,
    })


def _has_turned(view: View) -> bool:
    """Return whether the climb has become a fall, which a longer line does not show yet."""
    line = view.line(_TURNED_WINDOW_S, view.resumed_s)
    return line is not None and line.slope_c_per_s * 3600 + 2.0 * view.error_c_per_h(line) < -_TURNED_C_PER_H


def _fades(view: View, part: PlannedPart, not_before_s: float) -> Finding | None:
    """Return the finding where the climb has long been far slower than planned, and its target far away."""
    line = view.line(FADE_WINDOW_S, not_before_s)
    if part.rate_c_per_h is None or line is None or line.span_s < FADE_WINDOW_S - 120.0:
        return None
    slope, error = line.slope_c_per_s * 3600, view.error_c_per_h(line)
    far = view.temp_c - view.offset_c < part.to_c - FAR_C
    least = FADE_SHARE * min(part.rate_c_per_h, _FADE_MOST_C_PER_H)
    if not far or slope < 0.0 or slope + _STALL_SURE * error > least:
        return None
    return Finding("not-climbing", Rank.LOOK, view.t_s - line.span_s, part.step, facts={
        "temp_c": view.temp_c, "to_c": part.to_c, "rate_c_per_h": slope, "planned_c_per_h": part.rate_c_per_h,
        "fades": 1.0,
    })


_TURNED_WINDOW_S, _TURNED_C_PER_H = 150.0, 15.0
"""A climb that falls so fast over so long is one no more [s, °C/h]."""
_FALLEN_K = 12.0
"""Readings so far above now were a fall, not a stand [K]."""


def _flat_for_s(view: View, not_before_s: float) -> float:
    """Return for how long the readings have stood as high as now, and not fallen here [s]."""
    trail = view.trail
    level_c = view.temp_c - 2.0 - 2.0 * trail.noise_c
    fallen_c = view.temp_c + _FALLEN_K + 2.0 * trail.noise_c
    first = trail.index_at(not_before_s)
    for i in range(len(trail.times) - 1, first - 1, -1):
        if trail.temps[i] < level_c or trail.temps[i] > fallen_c:
            return view.t_s - trail.times[i]
    return view.t_s - max(not_before_s, trail.times[0] if trail.times else view.t_s)


def not_started(view: View) -> Finding | None:
    """Return the finding where start was pressed and nothing climbs."""
    waited_s = view.t_s - view.first_s
    if view.state != 0 or waited_s < NOT_STARTED_AFTER_S or view.temp_c > view.first_c + _STARTED_C:
        return None
    return Finding("not-started", Rank.LOOK, view.first_s, facts={"temp_c": view.temp_c, "waited_s": waited_s})


def restarted(view: View) -> Finding | None:
    """Return the finding where the kiln climbs again after a stop, or begins its plan again."""
    part = view.part
    if part is None or len(view.found) < 2:
        return None
    here, before = view.found[-1], view.found[-2]
    if before.part == "hold" and len(view.found) > 2 and before.index < here.index:
        before = view.found[-3]  # it came down to a hold that it had left, and climbs on from there
    again = part.direction > 0 and here.index < before.index
    if not again or view.t_s - here.start_s > STALL_WAKE_AFTER_S:
        return None
    if surest(view, 0.0, max(view.resumed_s, here.start_s), way=1) is None:
        return None
    left_s = max(before.start_s, here.start_s - 3600.0)
    top_c = max(view.trail.temps[view.trail.index_at(left_s):], default=view.temp_c)
    lowest_c = min(view.trail.temps[view.trail.index_at(here.start_s - 300.0):], default=view.temp_c)
    return Finding("restarted", Rank.WAKE, here.start_s, part.step, facts={
        "temp_c": view.temp_c, "lowest_c": lowest_c, "from_c": top_c, "first_step": float(here.index == 0),
        "anneal_c": view.anneal.to_c if view.anneal else 0.0,
        "anneal_min": view.anneal.duration_s / 60 if view.anneal else 0.0,
    })
