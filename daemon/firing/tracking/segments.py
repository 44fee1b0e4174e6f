"""What the readings show without any plan: segments of one rate each, with change points between them.

At each look the slope of the window that ends now is compared with the slope of the window before it, over several
lengths: a generalised likelihood ratio test for a change of slope. Its error is the white noise and the wander
measured on this firing. Where the slopes differ by enough standard errors, and by more than a free fall bends by
itself, a fit of two lines finds the change point, which ends the segment. Only sums at change points are kept, so
memory is bounded however long the firing.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import sqrt

from daemon.firing.trace.recent import FILTERED_VARIANCE_SHARE, Trail
from daemon.firing.tracking.wander import WANDER_MEMORY_S
from daemon.regression import Line

LOOK_EVERY_S = 60.0
"""How often the parts of a firing are looked at again [s]. [chosen: three beats of the follower]"""
WINDOWS_S = (180.0, 480.0, 1200.0, 3600.0)
"""Lengths of the window that ends now [s]: the short ones are quick, the long ones tell a slow ramp from a hold.
[tuned: by trial on clean firings of the bench, study not kept]"""
_BEFORE_TIMES = (3.0, 3.0, 3.0, 1.0)
"""How many times as long the window before may reach back. [derived: the trail keeps two hours]"""
SURE = 5.0
"""By so many standard errors two slopes must differ.
[tuned: by trial on clean firings of the bench, study not kept]"""
_FASTEST_C_PER_H = (float("inf"), float("inf"), 120.0, 60.0)
"""Above this rate a window is left out: it would take the bend of a free fall for a change point [°C/h].
[tuned: by trial on clean firings of the bench, study not kept]"""
_FADES_SHARE, _FADES_C_PER_H = 0.4, 8.0
_GROWS_SHARE, _GROWS_C_PER_H = 0.25, 4.0
"""By how much two slopes differ at least, as a share of the steeper one and in °C/h: where the slope fades, and where
it grows. The fall and the climb of a kiln left to itself fade a little within a window, and never grow.
[tuned: by trial on clean firings of the bench, study not kept]"""
_WINDOW_FILLED, _BEFORE_FILLED = 0.8, 0.5
"""A window must hold readings over this share of its length, the one before over this share of the window's.
[tuned: by trial on the bench, study not kept]"""
_FIT_FROM_SHARE, _FIT_MARGIN_S = 0.1, 30.0
"""The change point is sought after this share of both windows and until so long before now [s].
[tuned: by trial on the bench, study not kept]"""
_YOUNGEST_SHARE = 0.4
"""A change point nearer to now than this share of the window may still move.
[tuned: by trial on the bench, study not kept]"""
_BESIDE_S = 30.0
"""The temperature at a change point is that of a line over so long before and after it [s].
[tuned: by trial on the bench, study not kept]"""
_STILL_C_PER_H, SAME_LEVEL_K = 20.0, 9.0
"""A segment slower than this that moved by less than this is a hold [°C/h, K]; two holds nearer than this to each
other are one that swings. [tuned: by trial on the bench, study not kept]"""
_SLOWEST_RAMP_C_PER_H = 5.0
"""Nothing is fired by a slower ramp: what moves less is a hold that drifts [°C/h]. [common practice]"""
_ROUNDING_S = 720.0
"""A controller rounds a corner within this [s]: what lies between two rates for no longer is no segment of its own.
[tuned: by trial on the bench, study not kept]"""
_MOST_CHANGES = 256
"""So many change points are kept. [chosen: bounds the memory; no plan has as many parts]"""


@dataclass(frozen=True, slots=True)
class Segment:
    """A time of one rate, from one change point to the next.

    Attributes
    ----------
    start_s, end_s
        Its change points [s]; ``end_s`` is None for the segment the kiln is in.
    from_c, to_c
        The temperature at both [°C]; ``to_c`` of the last segment is the newest reading.
    mean_c
        Mean of its readings [°C].
    until_s
        ``end_s``, or now.
    length_s
        Its length so far [s].
    rate_c_per_h
        Its mean rate [°C/h].
    way
        +1 for a climb, −1 for a fall, 0 for a hold.
    """

    start_s: float
    end_s: float | None
    from_c: float
    to_c: float
    mean_c: float
    until_s: float
    length_s: float = field(init=False)
    rate_c_per_h: float = field(init=False)
    way: int = field(init=False)

    def __post_init__(self) -> None:
        length_s, change_k = self.until_s - self.start_s, self.to_c - self.from_c
        rate = change_k / length_s * 3600 if length_s > 0 else 0.0
        still = abs(rate) < _SLOWEST_RAMP_C_PER_H or (abs(rate) < _STILL_C_PER_H and abs(change_k) < SAME_LEVEL_K)
        for name, value in (("length_s", length_s), ("rate_c_per_h", rate),
                            ("way", 0 if still else 1 if rate > 0 else -1)):
            object.__setattr__(self, name, value)  # which is how a frozen one is completed


@dataclass(frozen=True, slots=True)
class _Change:
    """A change point, with the sum [°C] and the number of all readings before it."""

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
        self._changes: list[_Change] = []
        self._rate: Line | None = None
        """The line of the present segment, as last seen."""
        self._due_s = float("-inf")
        self.found: tuple[Segment, ...] = ()

    def count_in(self, temp_c: float) -> None:
        """Take one reading [°C] into the running sums."""
        self._sum_c += temp_c
        self._count += 1

    def see(self, t_s: float, wander_k: float, resumed_s: float) -> bool:
        """Look again where that is due; return whether the segments are looked at anew.

        Parameters
        ----------
        t_s
            Now [s].
        wander_k
            Slow wander of the readings [K].
        resumed_s
            No window reaches further back than this [s]: readings came back then after a gap, or settled after a
            step.
        """
        if t_s < self._due_s or not self._trail.times:
            return False
        self._due_s = t_s + self._every_s
        if not self._changes:
            self._changes.append(self._change_at(self._trail.times[0]))
        at_s = self._change_s(t_s, wander_k, resumed_s)
        if at_s is not None and len(self._changes) < _MOST_CHANGES:
            self._changes.append(self._change_at(at_s))
            self._round_off()
        self.found = self._segments(t_s)
        return True

    def _change_s(self, t_s: float, wander_k: float, resumed_s: float) -> float | None:
        """Return when the slope changed [s], by the shortest window that shows it surely; None where it didn't."""
        trail, start_s = self._trail, self._changes[-1].t_s
        for window_s, times, fastest in zip(WINDOWS_S, _BEFORE_TIMES, _FASTEST_C_PER_H, strict=True):
            now = trail.line(max(t_s - window_s, start_s, resumed_s))
            if now is None or now.span_s < _WINDOW_FILLED * window_s - trail.step_s:
                return None
            from_s = max(t_s - (1 + times) * window_s, start_s, resumed_s)
            before = trail.line(from_s, t_s - window_s)
            if before is None or before.span_s < _BEFORE_FILLED * window_s:
                if resumed_s <= start_s or self._rate is None:
                    return None
                before = self._rate  # only a gap lies between
            elif window_s == WINDOWS_S[1]:
                self._rate = before
            if not self._differ(now, before, wander_k, fastest):
                continue
            if resumed_s > before.mean_t_s:
                return max(resumed_s, start_s + 1.0)
            fit = trail.two_line_fit(from_s, t_s + 1.0, from_s + _FIT_FROM_SHARE * (t_s - from_s),
                                     t_s - _FIT_MARGIN_S)
            if fit is None or t_s - fit[0] < _YOUNGEST_SHARE * window_s or fit[0] < start_s + LOOK_EVERY_S:
                continue
            return fit[0]
        return None

    def _differ(self, now: Line, before: Line, wander_k: float, fastest_c_per_h: float) -> bool:
        """Return whether two slopes surely differ, and by more than a free fall bends; not where one is too fast."""
        a, b = before.slope_c_per_s * 3600, now.slope_c_per_s * 3600
        apart, most = abs(b - a), max(abs(a), abs(b))
        fades = abs(b) < abs(a)
        least = _FADES_SHARE * most + _FADES_C_PER_H if fades else _GROWS_SHARE * most + _GROWS_C_PER_H
        if apart < least or most > fastest_c_per_h:
            return False
        error = self._error(now, wander_k) ** 2 + self._error(before, wander_k) ** 2
        return apart > SURE * sqrt(error) * 3600

    def _error(self, line: Line, wander_k: float) -> float:
        """Return the standard error of a line's slope [°C/s]; its own scatter counts where it is more than known."""
        trail = self._trail
        slow = line.sse / (line.number - 2) - FILTERED_VARIANCE_SHARE * trail.noise_k**2
        return trail.slope_error(line, max(wander_k, sqrt(max(slow, 0.0))), WANDER_MEMORY_S)

    def _change_at(self, t_s: float) -> _Change:
        """Return the change point at ``t_s`` with the temperature and the sums there."""
        since_c, since = self._trail.total(t_s)
        line = self._trail.line(t_s - _BESIDE_S, t_s + _BESIDE_S + 1.0)
        i = min(self._trail.index_at(t_s), len(self._trail.temps) - 1)
        temp_c = line.at(t_s) if line else self._trail.temps[i]
        return _Change(t_s, temp_c, self._sum_c - since_c, self._count - since)

    def _round_off(self) -> None:
        """Join the segment just ended into its neighbours where it was only the rounded corner between two rates."""
        if len(self._changes) < 3:
            return
        a, b, c = self._changes[-3:]
        if c.t_s - b.t_s > _ROUNDING_S:
            return
        now = self._trail.line(c.t_s)
        if now is None:
            return
        was, between = (b.temp_c - a.temp_c) / (b.t_s - a.t_s), (c.temp_c - b.temp_c) / (c.t_s - b.t_s)
        held = abs(between) * 3600 < _STILL_C_PER_H
        if not held and min(was, now.slope_c_per_s) < between < max(was, now.slope_c_per_s):
            # The controller changed where both rates, extended, meet.
            ahead_c = now.at(b.t_s) - b.temp_c
            meets_s = b.t_s + ahead_c / (was - now.slope_c_per_s)
            self._changes[-2:] = [self._change_at(min(max(meets_s, b.t_s), c.t_s))]

    def _segments(self, t_s: float) -> tuple[Segment, ...]:
        """Return the segments between the change points, the last one up to now; unchanged ones are reused."""
        here = _Change(t_s, self._trail.temps[-1], self._sum_c, self._count)
        known = self.found[:len(self._changes) - 1]
        kept: list[Segment] = []
        for i, change in enumerate(self._changes):
            end = self._changes[i + 1] if i + 1 < len(self._changes) else None
            if end is not None and i < len(known) and (known[i].start_s, known[i].end_s) == (change.t_s, end.t_s):
                kept.append(known[i])
                continue
            to = end or here
            count = to.count - change.count
            mean_c = (to.sum_c - change.sum_c) / count if count > 0 else change.temp_c
            kept.append(Segment(change.t_s, end.t_s if end else None, change.temp_c, to.temp_c, mean_c, to.t_s))
        return tuple(kept)


def join_holds(found: tuple[Segment, ...]) -> list[Segment]:
    """Return the segments with neighbouring holds of one level joined: a controller that swings, not two holds."""
    kept: list[Segment] = []
    for segment in found:
        last = kept[-1] if kept else None
        if last is not None and last.way == segment.way == 0 and abs(last.mean_c - segment.mean_c) < SAME_LEVEL_K:
            share = last.length_s / max(last.length_s + segment.length_s, 1.0)
            mean_c = share * last.mean_c + (1 - share) * segment.mean_c
            kept[-1] = replace(last, end_s=segment.end_s, to_c=segment.to_c, mean_c=mean_c, until_s=segment.until_s)
        else:
            kept.append(segment)
    return kept
