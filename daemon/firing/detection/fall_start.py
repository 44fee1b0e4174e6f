"""Where a fall that is too fast left its planned line, and what silent elements may make of its beginning."""

from __future__ import annotations

from typing import NamedTuple

from daemon.firing.detection.rate_test import Rate, least_moved_k
from daemon.firing.situation.planned_line import BEFORE_S, planned_line
from daemon.firing.situation.view import View

_SILENT_S, _SILENT_K = 180.0, 6.0
"""Where a planned fall begins, the elements fall silent and the probe reads lower by up to so much, within so long
[s, K], where this kiln has not shown more (ElementShare). [common practice: 8 K in 3 min]"""
_SINKS_TIMES, _SINKS_MOST_S = 2.0, 1800.0
"""So many times as long as most of the rise took, but no longer than this [1, s], the reading sinks where the
elements fall silent. A slow controller takes the power back as slowly as it gave it: on the bench whose elements glow
in the probe's sight 80 % of the sinking takes 12 to 28 min. It is bounded by how deep it may be, not by time: a fall
that is deeper than the rise was high is not waited for. Weighed against that: ten minutes at the most, as it was;
from then on the sinking counted as a rate. [derived: 96 % of an exponential, of which 80 % took as long as the rise;
from: planned_line, which is counted for so long]"""


class Start(NamedTuple):
    """Where a fall left its planned line."""

    begins_s: float
    below_k: float
    """How far below that line the reading is [K]."""


def fall_start(view: View, fall: Rate, planned_c_per_h: float) -> Start:
    """Return where a fall that is too fast left its planned line.

    It began with its part, or once the reading had left the height it had then: some controllers heat for a moment
    first. Long after that, the line begins where the fall became too fast. Elements fall silent there only where the
    follower may not have seen a part begin: at the end of a ramp, or after a hold that it did not see. A kiln that
    fell as fast before has no such beginning.
    """
    part = view.part
    is_under_way = part is not None and part.rate_c_per_h is not None and -part.rate_c_per_h == planned_c_per_h
    line = planned_line(view, view.part_start_s, planned_c_per_h) if is_under_way else None
    if line is not None:
        rose_s = view.last_at_or_above(line.from_c + least_moved_k(view), view.part_start_s)
        return Start(view.part_start_s if rose_s is None else rose_s, line.below_k)
    bends_s = begins_s = fall.since_s
    if part is not None and is_under_way and view.is_seen_from_start(part) and not view.nears_end(part):
        begins_s = view.part_start_s
    else:
        bend = view.trail.two_line_fit(bends_s - BEFORE_S, view.t_s, bends_s, view.t_s)
        begins_s = bends_s = bends_s if bend is None else bend[0]
    line = planned_line(view, bends_s, planned_c_per_h)
    if line is None or line.before_c_per_h > (planned_c_per_h + fall.c_per_h) / 2:
        gained_k = (fall.c_per_h - planned_c_per_h) * (view.t_s - fall.since_s) / 3600
        return Start(view.part_start_s if is_under_way else fall.since_s, gained_k)
    return Start(begins_s, line.below_k)


def silence(view: View) -> tuple[float, float]:
    """Return by how much the reading sinks where the elements fall silent, and within which time [K, s]."""
    if view.elements.share_k <= _SILENT_K:
        return _SILENT_K, _SILENT_S
    return view.elements.share_k, min(_SINKS_MOST_S, max(_SILENT_S, _SINKS_TIMES * view.elements.takes_s))
