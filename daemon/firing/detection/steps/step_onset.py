"""Where the readings leave the line that they were going along, and drop below it."""

from __future__ import annotations

from math import sqrt
from typing import NamedTuple

from daemon.firing.detection.steps.heat_under_air import FASTER_TIMES
from daemon.firing.detection.steps.step_signs import strays
from daemon.firing.plan.schedule import ASSUMED_ROOM_C
from daemon.firing.situation.natural_fall import FASTEST_TIME_H
from daemon.firing.trace.recent import Trail
from daemon.firing.trace.swings import CONTROLLERS_MOST_K

_BEFORE_S, _AFTER_S = 240.0, 60.0
"""The line that a step leaves is drawn through the readings between so long ago and so long ago [s]. [tuned: by trial
on the bench, study not kept]
"""
_LEAST_LINE_S = 60.0
"""A line shorter than this leads nowhere [s]. [tuned: by trial on the bench, study not kept]"""
_LEAST_K = 8.0
"""A smaller step is none [K]. [tuned: by trial on the bench, study not kept]"""
_SURE = 6.0
"""Standard deviations of noise and wander that a step is larger than. [tuned: by trial on the bench, study not kept]
"""
_DEEPER_TIMES = 1.3
"""A step is so many times deeper than the falls that came back by themselves [1]. [chosen: swings differ by less]"""
_ONSET_SHARE = 0.15
"""A reading has left the line where it is below it by this share of the step. [tuned: by trial on the bench, study
not kept]
"""
_COLD_C = 100.0
"""Below this there is nothing to lose and no steady line [°C]. [common practice]"""


class Onset(NamedTuple):
    """Where the readings left their line."""

    since_s: float
    from_c: float
    """What they were then [°C]."""
    c_per_s: float
    """How the line went on from there [°C/s]."""
    drop_k: float
    """How far below the line the readings are now [K]."""


def onset(t_s: float, temp_c: float, trail: Trail, wander_k: float) -> Onset | None:
    """Return where a step down began that is seen at ``t_s`` [s]; None where none is seen.

    The last three readings must lie below the line of the minutes before by more than the line's own scatter, the
    wander and the free fall of a brisk kiln explain; and they must have fallen deeper than they swing anyway.

    Where spikes, a dip or a controller's teeth lie in those minutes, no line leads from them. Air is then what is
    further below the lowest of them than a controller makes it.
    """
    earlier = trail.index_at(t_s - _AFTER_S)
    if earlier >= len(trail.temps) or trail.temps[earlier] - temp_c < _LEAST_K:
        return None  # most readings are done here: no need of a line
    if trail.swings_k and max(trail.temps[earlier:]) - temp_c < _DEEPER_TIMES * trail.swings_k:
        return None
    before = trail.line(t_s - _BEFORE_S, t_s - _AFTER_S)
    if before is None or before.span_s < _LEAST_LINE_S or before.mean_c < _COLD_C:
        return None
    here_c = max(temp_c, *trail.temps[-2:])  # one or two readings are no step
    natural_k = (before.mean_c - ASSUMED_ROOM_C) / FASTEST_TIME_H / 3600 * _AFTER_S
    if strays(before, trail.noise_k):
        lowest_c = min(trail.temps[trail.index_at(t_s - _BEFORE_S):earlier])
        is_step = lowest_c - here_c >= CONTROLLERS_MOST_K + FASTER_TIMES * natural_k
        return _left_line(t_s, trail, 0.0, lowest_c, lowest_c - here_c) if is_step else None
    going_c = before.at(t_s)
    noise_k = sqrt(max(trail.noise_k**2, before.sse / (before.number - 2)) + wander_k**2)
    if going_c - here_c < max(_LEAST_K, _SURE * noise_k) + FASTER_TIMES * natural_k:
        return None
    return _left_line(t_s, trail, before.slope_c_per_s, going_c, going_c - here_c)


def _left_line(t_s: float, trail: Trail, c_per_s: float, going_c: float, drop_k: float) -> Onset:
    """Return the latest reading that was still on the line, which leads to ``going_c`` at ``t_s``."""
    for i in range(len(trail.times) - 1, -1, -1):
        at_s = trail.times[i]
        line_c = going_c - c_per_s * (t_s - at_s)
        if line_c - trail.temps[i] < _ONSET_SHARE * drop_k:
            return Onset(at_s, line_c, c_per_s, drop_k)
    return Onset(t_s, going_c, c_per_s, drop_k)
