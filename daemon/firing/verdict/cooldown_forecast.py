"""When the probe will be at 40 °C: a time and a margin, from the plan's ramps and how this kiln falls by itself.

A closed kiln without power falls towards the room as an exponential (Newton's law of cooling); its time constant
is measured in the fall itself. The bench's kilns fall a fifth more slowly below 300 °C than their fall above it
promises.

A time constant is measured only in the last fall, after which the plan asks for nothing more. In a fall from the top
to the anneal air and elements lose at first what they have above the brick: it promised the end of the last fall two
to three hours too early on the bench, within a margin of one. Until the last fall the usual time constant and its
wide margin stand. (Weighed against that: a factor by temperature, as below 300 °C. It would have to be another one
for each kiln.)

Where past firings of the kiln have shown how its time constant grows (daemon/kiln/slowing.py), that is taken instead
of the factor. daemon/kiln/ahead.py weighs this forecast of tonight's fall against what those firings foresee.

The margin adds up, as independent errors, what the forecast rests on: the time constant, the room, and the wander of
the readings, which near the room is the most. On 27 clean firings of the bench that were kept closed (seeds 62000 to
62026, not those it was tuned on) the truth lay within it in 81, 93, 89 and 81 of 100 at one, two, four and eight
hours.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, log
from typing import NamedTuple

from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.wander import PRIOR_WANDER_K, WANDER_MEMORY_S
from daemon.firing.verdict.slowing import Slowing
from daemon.glass.advice import ROOM_C
from daemon.regression import Line

OPEN_C = ROOM_C
"""Cool enough at the probe to open; shelf and mould may be warmer [°C]. [from: daemon.glass.advice.ROOM_C]"""
_USUAL_TIME_S = 3.0 * 3600.0
"""Time constant of a small closed kiln [s]. [tuned: by trial on the bench's kilns, which have 2.5 to 4.5 h]"""
_SHORTEST_TIME_S, _LONGEST_TIME_S = 1800.0, 12 * 3600.0
"""A measured time constant outside of these is taken for the nearer one [s]. [common practice]"""
_WINDOWS_S, _LEAST_SPAN_S = (1800.0, 3600.0, 5400.0), 600.0
"""It is measured over the first of these in which the kiln falls far enough, else over the last; over no less than
the second [s]. [chosen: in half an hour a kiln near the room falls no further than its reading wanders]"""
_LEAST_DROP_K = 10.0
"""So far it must fall in a window [K]. [tuned: clean firings of the bench, kept closed, seeds 61000 to 61039]"""
_SLOWER_ABOVE = ((300.0, 1.2), (200.0, 1.1))
"""A time constant measured above such a temperature [°C] counts so many times, since a kiln falls more slowly further
down; the first that applies.
[tuned: by trial on the bench, study not kept]"""
_WARMEST_ROOM_C = 35.0
"""A first reading below this is the room's [°C]. [chosen: a studio in summer]"""
_SLOWER_THAN_PLANNED = 0.85
"""A kiln that keeps to less than this share of its planned rate falls by itself. [tuned: by trial on the bench, study
not kept]"""
_GUESSED_SHARE = 0.5
"""Share of the time in which the kiln falls by itself that it may be off by where its time constant was not measured.
[tuned: clean firings of the bench, kept closed, seeds 61000 to 61039]"""
_ROOM_GUESSED_OFF_K = 5.0
"""The room may be off by so much where no reading showed it [K]. [tuned: clean firings of the bench, kept closed,
seeds 61000 to 61039]"""
_READING_OFF_K = 0.8
"""A reading may wander by so much when the kiln comes to OPEN_C [K]: the slower the kiln, the more time that is.
[tuned: clean firings of the bench, kept closed, seeds 61000 to 61039]"""


class _Off(NamedTuple):
    """What a forecast from a measured time constant may be off by, in eight of ten firings."""

    own_s: float
    """The margin's own part [s]."""
    share: float
    """Share of the time in which the kiln falls by itself."""
    slope_errors: float
    """The slope that the time constant comes from may be off by so many standard errors [1]."""
    room_k: float
    """The room goes on so far from where the first reading had it [K]."""


_WITHOUT_PAST = _Off(600.0, 0.18, 2.0, 2.0)
"""[tuned: clean firings of the bench, kept closed, seeds 61000 to 61039]"""
_WITH_PAST = _Off(300.0, 0.09, 1.28, 2.0)
"""Where past firings of the kiln have shown how its fall becomes slower. (Weighed against one share for all kilns:
how far a kiln's own falls are off its curve. The band then held no more evenly.)
[tuned: kilns of the bench, seeds 400 to 430 and 440 to 455 of benchmarks.foresight, between the two]"""


@dataclass(frozen=True, slots=True)
class Opening:
    """When the probe will be at OPEN_C [s of firing], give or take ``margin_s``."""

    at_s: float
    margin_s: float
    off_share: float | None = None
    """By what share the time of the fall may be off, where it is measured in how the kiln falls now; else None."""


@dataclass(frozen=True, slots=True)
class _Fall:
    """How a kiln falls by itself.

    Attributes
    ----------
    time_s
        Its time constant [s].
    off_share
        By what share that may be off.
    above_k
        How far above the room it had that time constant [K].
    slows
        How the time constant grows as the kiln comes nearer to the room; None for Newton's law.
    """

    time_s: float
    off_share: float
    above_k: float = 1.0
    slows: Slowing | None = None

    def takes_s(self, from_k: float, to_k: float) -> float:
        """Return how long a fall takes between two distances from the room [s]."""
        if self.slows is None:
            return self.time_s * log(from_k / to_k)
        return self.slows.takes_s(self.time_s, self.above_k, from_k, to_k)


def opening(trail: Trail, first_c: float | None, now: PlannedPart | None, rest: Sequence[PlannedPart],
            left_s: float | None, began_s: float | None = None, wander_k: float = PRIOR_WANDER_K,
            slows: Slowing | None = None) -> Opening | None:
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
    began_s
        When the present part began [s]: no fall before that is this part's; None where that is not known.
    wander_k
        Slow wander of the readings [K].
    slows
        How this kiln's last fall becomes slower, as its past firings show (daemon/kiln/slowing.py); None where that
        is not known.
    """
    temp_c, t_s = trail.temps[-1], trail.times[-1]
    if temp_c <= OPEN_C:
        return Opening(t_s, 0.0, off_share=0.0)
    is_room_seen = first_c is not None and first_c < _WARMEST_ROOM_C
    room_c = first_c if first_c is not None and is_room_seen else ASSUMED_ROOM_C
    is_last = now is None or not rest
    measured = _measured(trail, room_c, now, began_s, wander_k, slows) if is_last else None
    fall = measured or _Fall(_USUAL_TIME_S, _GUESSED_SHARE)
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
        natural_s = fall.takes_s(here_c - room_c, end_c - room_c)
        planned_s = 0.0 if rate is None else (here_c - end_c) / abs(rate) * 3600
        if natural_s > planned_s:
            by_itself_s += natural_s
        at_s += max(natural_s, planned_s)
        here_c = end_c
    off = _WITHOUT_PAST if slows is None else _WITH_PAST
    room_off_k = off.room_k if is_room_seen else _ROOM_GUESSED_OFF_K
    return Opening(at_s + holds_s, hypot(
        off.own_s, fall.off_share * by_itself_s, room_off_k * _per_room_kelvin_s(fall.time_s, temp_c, room_c),
        _READING_OFF_K * fall.time_s / (OPEN_C - room_c)),
        None if measured is None else measured.off_share)


def _per_room_kelvin_s(time_s: float, temp_c: float, room_c: float) -> float:
    """Return how much later a kiln is at OPEN_C in a room that is one kelvin warmer [s].

    The derivative of time_s · ln((temp_c − room_c) / (OPEN_C − room_c)) by room_c.
    """
    return time_s * (1.0 / (OPEN_C - room_c) - 1.0 / (temp_c - room_c))


def _measured(trail: Trail, room_c: float, now: PlannedPart | None, began_s: float | None,
              wander_k: float, slows: Slowing | None) -> _Fall | None:
    """Return how a kiln falls that falls by itself; None where it does not, or too short a while."""
    line = _recent_fall(trail, began_s)
    if line is None or line.span_s < _LEAST_SPAN_S or line.slope_c_per_s >= 0.0:
        return None
    if now is not None:
        if now.direction >= 0:
            return None
        planned = now.rate_c_per_h
        if planned is not None and line.slope_c_per_s * 3600 < _SLOWER_THAN_PLANNED * planned:
            return None  # the controller holds it back
    slower = next((times for above_c, times in _SLOWER_ABOVE if line.mean_c > above_c), 1.0)
    if slows is not None:
        slower = 1.0
    time_s = min(max(slower * (line.mean_c - room_c) / -line.slope_c_per_s, _SHORTEST_TIME_S), _LONGEST_TIME_S)
    off = _WITHOUT_PAST if slows is None else _WITH_PAST
    error = off.slope_errors * trail.slope_error(line, wander_k, WANDER_MEMORY_S) / -line.slope_c_per_s
    return _Fall(time_s, hypot(off.share, error), max(1.0, line.mean_c - room_c), slows)


def _recent_fall(trail: Trail, began_s: float | None) -> Line | None:
    """Return the line through the shortest window in which the kiln fell far enough, else through the longest."""
    line = None
    for window_s in _WINDOWS_S:
        line = trail.line(max(trail.times[-1] - window_s, trail.unbroken_from_s, began_s or 0.0))
        if line is not None and -line.slope_c_per_s * line.span_s >= _LEAST_DROP_K:
            break
    return line
