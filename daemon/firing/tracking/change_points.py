"""Change points of the readings: where one boundary between two planned parts lies, sought around a rough time."""

from __future__ import annotations

from collections.abc import Sequence

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.trace.recent import Trail

WIDEST_S = 900.0
"""No window reaches further from the rough time than this [s]. [tuned: by trial on the bench, study not kept]"""
NARROWEST_S, _NARROWEST_STEPS = 150.0, 4.0
"""No window is shorter than this: in seconds, and in steps of a slow logger.
[tuned: by trial on the bench, study not kept]"""
_CURVED_K = 50.0
"""A line is drawn over no more than this much of a fall [K]: a free fall is an exponential, not a line.
[tuned: by trial on the bench, study not kept]"""
_SURE_GAIN = 9.0
"""By how much two lines must lower the sum of squared residuals for a change point to be one [noise variances].
[derived: a change of slope by three standard errors gains 3²]"""
_INSIDE_SHARE, _EARLIER_S, _LATER_S = 0.8, 480.0, 300.0
"""A change point is sought within this share of the window, and at most so long before and after the rough time [s].
[tuned: by trial on the bench, study not kept]"""
_BESIDE_S = 60.0
"""Lines beside a time leave out, or take in, so long on each side of it [s].
[tuned: by trial on the bench, study not kept]"""
_BESIDE_GAP_S = 300.0
"""A line beside a gap is drawn over so long [s]. [tuned: by trial on the bench, study not kept]"""
_GAP_BEFORE_S, _READING_S = 400.0, 1.0
"""A gap that began so long before the follower's change may hide it [s]; a reading at a time itself counts as before.
[tuned: by trial on the bench, study not kept]"""
_LEVEL_PLACE, _LEVEL_LEAST_READINGS = 4, 5
"""A level is the lower quartile of its readings, and needs so many.
[chosen: readings already on the ramp do not move a quartile]"""
_LEFT_K, _LEFT_SDS, _LEFT_FROM_DIVISOR = 12.0, 4.0, 3.0
"""A hold was left where the readings are so far from its level: in kelvin and standard deviations of the noise. No
controller in order swings so far. It was left from the last reading within a third of that.
[tuned: by trial on the bench, study not kept]"""
_STARTED_SDS, _STARTED_K, _STARTED_TIMES = 3.0, 0.5, 4.0
"""A climb shows where the readings leave the level before it by so many standard deviations of the noise and so many
kelvin; and surely where by so many times that. [tuned: clean firings, seeds 5000 to 5099]"""
_LURCH_S = 240.0
"""No kiln needs longer until its first degrees show [s]. [common practice]"""
_LAGS_SHARE = 0.75
"""At less than this share of its planned rate a fall lags: the kiln can't cool so fast. [tuned: by trial on the
bench, study not kept]"""
_WAITING_K = 5.0
"""The controller of a fall that lags goes on about this far short of the target [K]. [common practice: 3 to 10 K]"""
_ALIKE_LEAST, _ALIKE_MOST = 0.75, 1.33
"""Two ramps whose planned rates have a ratio between these look alike: no change of slope tells one from the other.
[derived: a quarter apart, either way]"""
_CROSSING_S = 240.0
"""The line whose crossing of a target is sought reaches so long before and after the rough time [s].
[tuned: by trial on the bench, study not kept]"""
_STANDS_C_PER_S, _FLAT_C_PER_S = 1e-4, 1e-6
"""A slower line has no crossing with a target (0.36 °C/h), or no curve (0.0036 °C/h). [derived: far below any ramp,
above the rounding of sums]"""


class ChangePointFinder:
    """Looks for one boundary at a time in the recent readings."""

    def __init__(self, trail: Trail) -> None:
        self._trail = trail
        self.air: Sequence[tuple[float, float]] = ()
        """From when to when the readings were those of air, as under a lid, and settled again [s]."""

    def nearest_bend(self, before_s: float, rough_s: float, after_s: float) -> float:
        """Return when the slope changes near ``rough_s`` [s], between two times; ``rough_s`` where it surely doesn't.

        Two lines that meet are fitted to the readings around ``rough_s``; they meet at the change point.
        """
        found_s = self._sure_bend(before_s, rough_s, after_s)
        return rough_s if found_s is None else found_s

    def bend_at_target(self, was: PlannedPart, bend_s: float, within: tuple[float, float], offset_k: float,
                       near_k: float) -> float:
        """Return when ramp ``was`` gave way to the next one [s]: at its target, if the readings bend there too.

        A controller begins the next ramp at the target. A kiln that fell too fast for a while and was put right has
        a sharper bend on the way there, which is no boundary. Where only that one is found (the maker went on by
        hand, or the two rates are alike), ``bend_s`` stays.

        Parameters
        ----------
        was
            The ramp that ended; the next one leads in the same direction.
        bend_s
            The best change point near the follower's change [s].
        within
            When ``was`` began, and when the part after it ended or now is [s].
        offset_k
            The usual difference of probe and plan [K].
        near_k
            How closely a target can be told [K].
        """
        began_s, after_s = within
        way, target_c = was.direction, was.to_c + offset_k
        beside = self._trail.line(bend_s - _BESIDE_S, bend_s + _BESIDE_S)
        if beside is None or abs(beside.at(bend_s) - target_c) <= near_k:
            return bend_s
        times, temps = self._trail.times, self._trail.temps
        first, last = self._trail.index_at(began_s), self._trail.index_at(after_s)
        crossed_s = next((times[i] for i in range(first, last) if way * (temps[i] - target_c) >= 0.0), None)
        if crossed_s is None:
            return bend_s
        found_s = self._sure_bend(bend_s if bend_s < crossed_s else began_s, crossed_s,
                                  bend_s if bend_s > crossed_s else after_s)
        if found_s is None:
            return bend_s
        there = self._trail.line(found_s - _BESIDE_S, found_s + _BESIDE_S)
        return found_s if there is not None and abs(there.at(found_s) - target_c) <= near_k else bend_s

    def _sure_bend(self, before_s: float, rough_s: float, after_s: float) -> float | None:
        """Return when the slope changes near ``rough_s`` [s], between two times; None where it surely doesn't."""
        narrow_s = self._narrowest_s
        before_s, after_s = self._without_air(before_s, rough_s, after_s)
        back = min(WIDEST_S, self._straight_s(rough_s - narrow_s * 2, rough_s - narrow_s), rough_s - before_s)
        on = min(WIDEST_S, self._straight_s(rough_s + _BESIDE_S, rough_s + _BESIDE_S + narrow_s), after_s - rough_s)
        found = self._trail.two_line_fit(
            rough_s - back, rough_s + on, rough_s - min(_INSIDE_SHARE * back, _EARLIER_S),
            rough_s + min(_INSIDE_SHARE * on, _LATER_S))
        return found[0] if found and found[1] > _SURE_GAIN else None

    def _without_air(self, before_s: float, rough_s: float, after_s: float) -> tuple[float, float]:
        """Return the two times drawn in to where the readings beside ``rough_s`` were those of the kiln [s].

        A dip bends more than any boundary.
        """
        for opened_s, settled_s in self.air:
            if before_s < settled_s < rough_s:
                before_s = settled_s
            elif rough_s < opened_s < after_s:
                after_s = opened_s
        return before_s, after_s

    @property
    def _narrowest_s(self) -> float:
        """Return the shortest window that tells a slope [s]."""
        return max(NARROWEST_S, _NARROWEST_STEPS * self._trail.step_s)

    def _straight_s(self, from_s: float, to_s: float) -> float:
        """Return how long a window may be [s] before a fall with the slope between two times bends by itself."""
        line = self._trail.line(from_s, to_s)
        if line is None or abs(line.slope_c_per_s) < _FLAT_C_PER_S:
            return WIDEST_S
        return max(self._narrowest_s, _CURVED_K / abs(line.slope_c_per_s))

    def end_of_hold(self, from_s: float, rough_s: float, bend_s: float, way: int) -> float:
        """Return when a hold ended [s]: at the bend, unless the readings had left its level before.

        After a cut in a hold the readings bend twice: where the power goes, and more where it comes back. The best
        change point is then the second one, but the hold ended at the first.

        Parameters
        ----------
        from_s
            When the hold began [s].
        rough_s
            When the follower left it [s].
        bend_s
            The best change point near there [s].
        way
            Where the next ramp leads: +1 up, −1 down.
        """
        trail = self._trail
        held = sorted(way * t for t in trail.temps[trail.index_at(from_s):trail.index_at(rough_s)])
        beside = trail.line(bend_s - _BESIDE_S, bend_s + _BESIDE_S)
        if len(held) < _LEVEL_LEAST_READINGS or beside is None:
            return bend_s
        level_c = held[len(held) // _LEVEL_PLACE]
        least_k = _LEFT_K + _LEFT_SDS * trail.noise_k
        if way * beside.at(bend_s) - level_c < least_k:
            return bend_s
        for i in range(trail.index_at(bend_s), trail.index_at(from_s), -1):
            if way * trail.temps[i - 1] - level_c < least_k / _LEFT_FROM_DIVISOR:
                return trail.times[i - 1]
        return bend_s

    def start_of_first_climb(self, rough_s: float) -> float:
        """Return when the first climb was begun [s], before its first degrees show.

        A cold kiln answers late (elements and probe have to warm up) and then faster than its ramp, so a fit of two
        lines would come late too. Its first degrees grow with the square of the time. So the time it takes from a
        height h to 4 h is the time it took from the start to h.
        """
        trail = self._trail
        first, last = trail.index_at(rough_s - WIDEST_S), trail.index_at(rough_s)
        before = sorted(trail.temps[first:last])
        if not before:
            return rough_s
        level_c, least_k = before[len(before) // _LEVEL_PLACE], _STARTED_SDS * trail.noise_k + _STARTED_K
        left = next((k for k in range(last - 1, first - 1, -1) if trail.temps[k] <= level_c + least_k), None)
        if left is None:
            return rough_s
        for k in range(left, trail.index_at(rough_s + WIDEST_S)):
            if trail.temps[k] > level_c + _STARTED_TIMES * least_k:
                return trail.times[left] - min(trail.times[k] - trail.times[left], _LURCH_S)
        return trail.times[left]

    def gap_near(self, rough_s: float) -> tuple[float, float] | None:
        """Return (from, to) of a gap in the readings in which the change may lie [s]; None without one."""
        times = self._trail.times
        j = self._trail.index_at(rough_s + _READING_S)
        for k in range(j, max(1, self._trail.index_at(rough_s - _GAP_BEFORE_S)) - 1, -1):
            if k < len(times) and times[k] - times[k - 1] > self._trail.longest_step_s:
                return times[k - 1], times[k]
        return None

    def inside_gap(self, was: PlannedPart | None, becomes: PlannedPart | None, gap: tuple[float, float],
                   rough_s: float) -> float | None:
        """Return when ``was`` changed to ``becomes`` inside a gap [s]: where the ramp beside it meets the target.

        The line through the readings of the ramp, before or after the gap, is extended into it. None where it meets
        the target after the gap: then the readings themselves show the change.
        """
        if was is None or becomes is None:
            return gap[1]
        if becomes.part == "ramp":
            from_s = max(gap[1], rough_s - _BESIDE_S)
            beside = self._trail.line(from_s, from_s + _BESIDE_GAP_S)
        else:
            first, last = self._trail.index_at(gap[0] - _BESIDE_GAP_S), self._trail.index_at(gap[0] + _READING_S)
            beside = self._trail.line_between(first, last)
        if beside is None or abs(beside.slope_c_per_s) < _STANDS_C_PER_S:
            return None
        meets_s = beside.mean_t_s + (was.to_c - beside.mean_c) / beside.slope_c_per_s
        return min(max(meets_s, gap[0]), gap[1]) if meets_s < gap[1] + _BESIDE_S else None

    def target_crossing(self, a: PlannedPart | None, b: PlannedPart | None, rough_s: float,
                        offset_k: float) -> float | None:
        """Return when ramp ``a`` crossed its target [s], where ramp ``b`` after it looks like it; None for others.

        Where the slope hardly changes no bend can be found, and the target is the only clue. A fall that the kiln
        can't keep up with looks like the next one too; it ends where the controller stops waiting for the kiln,
        somewhat above its target. ``offset_k`` is the usual difference of probe and plan [K].
        """
        if a is None or b is None or a.direction * b.direction <= 0 or a.rate_c_per_h is None:
            return None
        line = self._trail.line(rough_s - _CROSSING_S, rough_s + _CROSSING_S)
        if line is None or line.slope_c_per_s * a.direction <= 0:
            return None
        lags = a.direction < 0 and -line.slope_c_per_s * 3600 < _LAGS_SHARE * abs(a.rate_c_per_h)
        alike = b.rate_c_per_h is not None and _ALIKE_LEAST < a.rate_c_per_h / b.rate_c_per_h < _ALIKE_MOST
        if not (alike or lags):
            return None
        short_k = _WAITING_K if lags else 0.0
        level_c = a.to_c - short_k * a.direction + offset_k
        return line.mean_t_s + (level_c - line.mean_c) / line.slope_c_per_s
