"""When the probe will be at 40 °C: a time and a margin, from the plan's ramps and how this kiln falls by itself.

A closed kiln without power falls towards the room as an exponential (Newton's law of cooling); its time constant
is measured in the fall itself. The bench's kilns fall a fifth more slowly below 300 °C than their fall above it
promises, and up to eight hours ahead the margins hold nine of ten of their forecasts; both by trial there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart
from daemon.firing.trace.recent import Trail
from daemon.glass.advice import ROOM_C

OPEN_C = ROOM_C
"""Cool enough at the probe to open; shelf and mould may be warmer [°C]. [from: daemon.glass.advice.ROOM_C]"""
_USUAL_TIME_S = 3.0 * 3600.0
"""Time constant of a small closed kiln [s]. [tuned: by trial on the bench's kilns, which have 2.5 to 4.5 h]"""
_SHORTEST_TIME_S, _LONGEST_TIME_S = 1800.0, 12 * 3600.0
"""A measured time constant outside of these is taken for the nearer one [s]. [common practice]"""
_WINDOW_S, _LEAST_SPAN_S = 1800.0, 600.0
"""It is measured over so long, and over no less than the second [s]. [tuned: by trial on the bench, study not
kept]"""
_SLOWER_ABOVE = ((300.0, 1.2), (200.0, 1.1))
"""A time constant measured above such a temperature [°C] counts so many times, since a kiln falls more slowly further
down; the first that applies.
[tuned: by trial on the bench, study not kept]"""
_WARMEST_ROOM_C = 35.0
"""A first reading below this is the room's [°C]. [chosen: a studio in summer]"""
_SLOWER_THAN_PLANNED = 0.85
"""A kiln that keeps to less than this share of its planned rate falls by itself. [tuned: by trial on the bench, study
not kept]"""
_MARGIN_S, _MEASURED_SHARE, _GUESSED_SHARE = 600.0, 0.15, 0.5
"""The margin: so many seconds, and this share of the time in which the kiln falls by itself, where its time constant
was measured and where not. [tuned: nine of ten forecasts on the bench, study not kept]"""


@dataclass(frozen=True, slots=True)
class Opening:
    """When the probe will be at OPEN_C [s of firing], give or take ``margin_s``."""

    at_s: float
    margin_s: float


def opening(trail: Trail, first_c: float | None, now: PlannedPart | None, rest: Sequence[PlannedPart],
            left_s: float | None) -> Opening | None:
    """Return the forecast.

    Parameters
    ----------
    trail
        Recent readings; not empty.
    first_c
        The firing's first reading, which is the room's where it was cold [°C].
    now, rest
        The part the kiln is in (None once the plan is done) and those to come, with no climb among them.
    left_s
        How long the present part still goes on, where it is a hold [s].
    """
    temp_c, t_s = trail.temps[-1], trail.times[-1]
    if temp_c <= OPEN_C:
        return Opening(t_s, 0.0)
    room_c = first_c if first_c is not None and first_c < _WARMEST_ROOM_C else ASSUMED_ROOM_C
    measured_s = _measured_s(trail, room_c, now)
    time_s = _USUAL_TIME_S if measured_s is None else measured_s
    at_s, here_c, by_itself_s = t_s, temp_c, 0.0
    if now is not None and now.part == "hold":
        at_s += left_s or 0.0
    falls = [(part.to_c, part.rate_c_per_h) for part in ([now] if now is not None else []) + list(rest)
             if part.direction < 0]
    holds_s = sum(part.duration_s for part in rest if part.part == "hold")
    for to_c, rate in [*falls, (OPEN_C, None)]:
        end_c = max(to_c, OPEN_C)
        if end_c >= here_c:
            continue
        natural_s = time_s * log((here_c - room_c) / (end_c - room_c))
        planned_s = 0.0 if rate is None else (here_c - end_c) / abs(rate) * 3600
        if natural_s > planned_s:
            by_itself_s += natural_s
        at_s += max(natural_s, planned_s)
        here_c = end_c
    share = _GUESSED_SHARE if measured_s is None else _MEASURED_SHARE
    return Opening(at_s + holds_s, _MARGIN_S + share * by_itself_s)


def _measured_s(trail: Trail, room_c: float, now: PlannedPart | None) -> float | None:
    """Return the time constant of a kiln that falls by itself [s]; None where it does not, or too short a while."""
    line = trail.line(max(trail.times[-1] - _WINDOW_S, trail.unbroken_from_s))
    if line is None or line.span_s < _LEAST_SPAN_S or line.slope_c_per_s >= 0.0:
        return None
    if now is not None:
        if now.direction >= 0:
            return None
        planned = now.rate_c_per_h
        if planned is not None and line.slope_c_per_s * 3600 < _SLOWER_THAN_PLANNED * planned:
            return None  # the controller holds it back
    slower = next((times for above_c, times in _SLOWER_ABOVE if line.mean_c > above_c), 1.0)
    return min(max(slower * (line.mean_c - room_c) / -line.slope_c_per_s, _SHORTEST_TIME_S), _LONGEST_TIME_S)
