"""Which planned fall governs now, and from when on its rate may be measured."""

from __future__ import annotations

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.level_doubt import low_doubt_k, may_be_at
from daemon.firing.situation.planned_line import DATED_S
from daemon.firing.situation.view import View

_BELOW_HOLD_K = 10.0
"""A fall has passed the anneal where it is so far below it [K].
[tuned: by trial on the bench, study not kept]"""
_YOUNG_SHARE = 0.3
"""An anneal hold is young until this share of it: a fall in it may be the controller that catches the kiln.
[tuned: by trial on the bench, study not kept]"""
_DROPPED_K, _LEFT_K, _HELD_SHARE = 4.0, 10.0, 0.8
"""A hold is left where the kiln is so far below its level: the first once this share of it is over, before that the
second, since a controller may swing so far [K].
[tuned: by trial on the bench, study not kept]"""
_HOLD_SETTLES_S = 240.0
"""A fall out of a hold is measured from so long after that began, where the free fall before it is over [s].
[tuned: by trial on the bench, study not kept]"""


def governing_fall(view: View) -> PlannedPart | None:
    """Return the falling ramp that governs now: from the anneal hold on, or once below its target."""
    part, anneal = view.part, view.anneal
    if part is None:
        return None
    if anneal is None:
        return part if part.direction < 0 else None
    if part.index < anneal.index:
        if part.direction >= 0:
            return None
        if not view.leads_to_anneal(part.index):
            return part  # a fall that climbs again: only its own rate is asked
        doubt_k = max(_BELOW_HOLD_K, view.near_k, low_doubt_k(view, anneal))
        return view.next_fall(anneal.index) if view.temp_c - view.offset_k < anneal.to_c - doubt_k else None
    if may_be_at(view, anneal):
        return None
    if part.part == "ramp":
        return part if part.direction < 0 and not _only_swings(view, anneal) else None
    # In the anneal hold, or in one after it: the fall that comes next governs once the hold is left.
    level = view.found[-1].mean_c if view.found else None
    early = view.t_s - view.part_start_s < _HELD_SHARE * part.duration_s
    dropped = level is None or view.temp_c < level - (_LEFT_K if early else _DROPPED_K)
    return view.next_fall(part.index) if dropped else None


def _only_swings(view: View, anneal: PlannedPart) -> bool:
    """Return whether a fall follows on a young anneal hold or on none, and is no deeper than a controller swings."""
    if len(view.found) < 2 or view.found[-1].index != anneal.index + 1:
        return False
    level_c: float | None = anneal.to_c + view.offset_k
    if view.found[-2].index == anneal.index:
        level_c = view.found[-2].mean_c
        if view.found[-1].start_s - view.found[-2].start_s >= _YOUNG_SHARE * anneal.duration_s:
            return False
    return level_c is not None and view.temp_c > level_c - _LEFT_K


def fall_from_s(view: View) -> float:
    """Return the second before which no window may reach: the free fall into the hold has ended by then.

    The hold itself may be in a window, where it only makes the slope less; the fall that led to it may not.
    """
    found, start_s = view.found, view.part_start_s
    if view.anneal is not None and found and found[-1].index < view.anneal.index:
        passed_s = view.last_at_or_above(view.anneal.to_c + view.offset_k, start_s)
        return max(passed_s if passed_s is not None else start_s, view.resumed_s)
    if found and found[-1].part == "hold":
        start_s = found[-1].start_s + _HOLD_SETTLES_S
    elif len(found) >= 2 and found[-2].part == "hold":
        start_s = min(start_s, max(found[-2].start_s + _HOLD_SETTLES_S, start_s - DATED_S))
    return max(start_s, view.resumed_s)
