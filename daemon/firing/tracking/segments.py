"""What the readings show without any plan: segments of one rate, parted by knots.

Two neighbouring windows ending now are held against each other, over several lengths: a generalised likelihood
ratio test for a change of slope, with the white noise and the wander measured on this firing as its error. Where
they differ beyond doubt, and by more than a free fall bends by itself, the knot between them ends a segment.
Everything kept is sums at knots, so memory is bounded by how often the kiln changed its mind.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt

from daemon.firing.trace.recent import Trail
from daemon.regression import Line

LOOK_EVERY_S = 60.0
WINDOWS_S = (180.0, 480.0, 1200.0, 3600.0)
_BEFORE_TIMES = (3.0, 3.0, 3.0, 1.0)
"""How many times as long the window before may reach back; the trail remembers two hours."""
SURE = 5.0
"""Standard errors between two slopes; by trial on clean firings of the bench."""
_FASTEST_C_PER_H = (float("inf"), float("inf"), 120.0, 60.0)
"""Faster than this a window is left out: it would take the bend of a free fall for a knot."""
_FADES_SHARE, _FADES_C_PER_H = 0.4, 8.0
_GROWS_SHARE, _GROWS_C_PER_H = 0.25, 4.0
"""By how much two slopes differ at least: a free kiln's fall and climb fade by less within a window, and do not grow.
"""
_WANDER_MEMORY_S = 240.0
_YOUNGEST_SHARE = 0.4
"""A knot nearer to now than this share of the window may still move."""
_STILL_C_PER_H, _STILL_K = 20.0, 9.0
_SLOWEST_RAMP_C_PER_H = 5.0
"""Nothing is fired by a slower ramp: what moves less is a hold that drifts. Common practice."""
_ROUNDING_S = 720.0
"""A controller rounds a corner within this; what lies between two rates for no longer is no segment."""
_FILTERED_NOISE_SHARE = 0.45
"""Share of the white variance that is left after a median of three (from memory)."""
_AT_MOST = 256


@dataclass(frozen=True, slots=True)
class Segment:
    """One rate from knot to knot.

    Attributes
    ----------
    start_s, end_s
        Its knots [s]; ``end_s`` is None for the one the kiln is in.
    from_c, to_c
        Where the readings stood at both [°C]; ``to_c`` of the last one is now.
    mean_c
        Mean of its readings [°C].
    until_s
        ``end_s``, or now.
    """

    start_s: float
    end_s: float | None
    from_c: float
    to_c: float
    mean_c: float
    until_s: float

    @property
    def length_s(self) -> float:
        """Return its length so far [s]."""
        return self.until_s - self.start_s

    @property
    def rate_c_per_h(self) -> float:
        """Return its mean rate [°C/h]."""
        return (self.to_c - self.from_c) / self.length_s * 3600 if self.length_s > 0 else 0.0

    @property
    def way(self) -> int:
        """Return +1 for a climb, −1 for a fall, 0 for a hold."""
        rate = self.rate_c_per_h
        still = abs(rate) < _SLOWEST_RAMP_C_PER_H or (
            abs(rate) < _STILL_C_PER_H and abs(self.to_c - self.from_c) < _STILL_K)
        return 0 if still else 1 if rate > 0 else -1


@dataclass(frozen=True, slots=True)
class _Knot:
    t_s: float
    temp_c: float
    sum_c: float
    count: int


class SegmentFinder:
    """Finds the segments of a firing as it goes; one object a firing, looking every ``every_s`` [s]."""

    def __init__(self, trail: Trail, every_s: float = LOOK_EVERY_S) -> None:
        self._trail = trail
        self._every_s = every_s
        self._sum_c = 0.0
        self._count = 0
        self._knots: list[_Knot] = []
        self._rate: Line | None = None
        """The line of the present segment, as last seen."""
        self._due_s = float("-inf")
        self.found: tuple[Segment, ...] = ()

    def count_in(self, temp_c: float) -> None:
        """Take one reading [°C] into the running sums."""
        self._sum_c += temp_c
        self._count += 1

    def see(self, t_s: float, wander_c: float, resumed_s: float) -> bool:
        """Look again where that is due; return whether the segments are looked at anew.

        Parameters
        ----------
        t_s
            Now [s].
        wander_c
            Slow wander of the readings [K].
        resumed_s
            No window reaches further back: a hole or a step that came back lies there [s].
        """
        if t_s < self._due_s or not self._trail.times:
            return False
        self._due_s = t_s + self._every_s
        if not self._knots:
            self._knots.append(self._knot(self._trail.times[0]))
        at_s = self._change_s(t_s, wander_c, resumed_s)
        if at_s is not None and len(self._knots) < _AT_MOST:
            self._knots.append(self._knot(at_s))
            self._round_off()
        self.found = self._segments(t_s)
        return True

    def _change_s(self, t_s: float, wander_c: float, resumed_s: float) -> float | None:
        """Return when the slope changed for good [s]; None where it hasn't."""
        trail, start_s = self._trail, self._knots[-1].t_s
        for window_s, times, fastest in zip(WINDOWS_S, _BEFORE_TIMES, _FASTEST_C_PER_H, strict=True):
            now = trail.line(max(t_s - window_s, start_s, resumed_s))
            if now is None or now.span_s < 0.8 * window_s - trail.step_s:
                return None
            from_s = max(t_s - (1 + times) * window_s, start_s, resumed_s)
            before = trail.line(from_s, t_s - window_s)
            if before is None or before.span_s < 0.5 * window_s:
                if resumed_s <= start_s or self._rate is None:
                    return None
                before = self._rate  # only a hole lies between
            elif window_s == WINDOWS_S[1]:
                self._rate = before
            if not self._differ(now, before, wander_c, fastest):
                continue
            if resumed_s > before.mean_t_s:
                return max(resumed_s, start_s + 1.0)
            knot = trail.two_line_fit(from_s, t_s + 1.0, from_s + 0.1 * (t_s - from_s), t_s - 30.0)
            if knot is None or t_s - knot[0] < _YOUNGEST_SHARE * window_s or knot[0] < start_s + LOOK_EVERY_S:
                continue
            return knot[0]
        return None

    def _differ(self, now: Line, before: Line, wander_c: float, fastest_c_per_h: float) -> bool:
        a, b = before.slope_c_per_s * 3600, now.slope_c_per_s * 3600
        apart, most = abs(b - a), max(abs(a), abs(b))
        fades = abs(b) < abs(a)
        least = _FADES_SHARE * most + _FADES_C_PER_H if fades else _GROWS_SHARE * most + _GROWS_C_PER_H
        if apart < least or most > fastest_c_per_h:
            return False
        error = self._error(now, wander_c) ** 2 + self._error(before, wander_c) ** 2
        return apart > SURE * sqrt(error) * 3600

    def _error(self, line: Line, wander_c: float) -> float:
        """Return the standard error of a line's slope [°C/s]; its own scatter counts where it is more than known."""
        trail = self._trail
        slow = line.sse / (line.number - 2) - _FILTERED_NOISE_SHARE * trail.noise_c**2
        return trail.slope_error(line, max(wander_c, sqrt(max(slow, 0.0))), _WANDER_MEMORY_S)

    def _knot(self, t_s: float) -> _Knot:
        since_c, since = self._trail.total(t_s)
        line = self._trail.line(t_s - 30.0, t_s + 31.0)
        i = min(self._trail.index_at(t_s), len(self._trail.temps) - 1)
        return _Knot(t_s, line.at(t_s) if line else self._trail.temps[i], self._sum_c - since_c, self._count - since)

    def _round_off(self) -> None:
        """Take out the segment just ended where it only rounded the corner between two rates."""
        if len(self._knots) < 3:
            return
        a, b, c = self._knots[-3:]
        if c.t_s - b.t_s > _ROUNDING_S:
            return
        now = self._trail.line(c.t_s)
        if now is None:
            return
        was, between = (b.temp_c - a.temp_c) / (b.t_s - a.t_s), (c.temp_c - b.temp_c) / (c.t_s - b.t_s)
        held = abs(between) * 3600 < _STILL_C_PER_H
        if not held and min(was, now.slope_c_per_s) < between < max(was, now.slope_c_per_s):
            # Both rates drawn on meet where the controller changed.
            ahead_c = now.at(b.t_s) - b.temp_c
            meets_s = b.t_s + ahead_c / (was - now.slope_c_per_s)
            self._knots[-2:] = [self._knot(min(max(meets_s, b.t_s), c.t_s))]

    def _segments(self, t_s: float) -> tuple[Segment, ...]:
        here = _Knot(t_s, self._trail.temps[-1], self._sum_c, self._count)
        known = self.found[:len(self._knots) - 1]
        kept: list[Segment] = []
        for i, knot in enumerate(self._knots):
            end = self._knots[i + 1] if i + 1 < len(self._knots) else None
            if end is not None and i < len(known) and (known[i].start_s, known[i].end_s) == (knot.t_s, end.t_s):
                kept.append(known[i])
                continue
            to = end or here
            count = to.count - knot.count
            mean_c = (to.sum_c - knot.sum_c) / count if count > 0 else knot.temp_c
            kept.append(Segment(knot.t_s, end.t_s if end else None, knot.temp_c, to.temp_c, mean_c, to.t_s))
        return tuple(kept)


def join_holds(found: tuple[Segment, ...]) -> list[Segment]:
    """Return the segments with neighbouring holds of one level joined: a controller that hunts, not two holds."""
    kept: list[Segment] = []
    for segment in found:
        last = kept[-1] if kept else None
        if last is not None and last.way == segment.way == 0 and abs(last.mean_c - segment.mean_c) < _STILL_K:
            share = last.length_s / max(last.length_s + segment.length_s, 1.0)
            mean_c = share * last.mean_c + (1 - share) * segment.mean_c
            kept[-1] = replace(last, end_s=segment.end_s, to_c=segment.to_c, mean_c=mean_c, until_s=segment.until_s)
        else:
            kept.append(segment)
    return kept
