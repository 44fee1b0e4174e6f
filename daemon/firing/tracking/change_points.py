"""Where the readings bend: a climb's beginning, a hole bridged, a target crossed, the knot of two lines."""

from __future__ import annotations

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.trace.recent import Trail

WIDEST_S = 900.0
_SURE_GAIN = 9.0
"""What a knot must take from the sum of squares to be one [noise variances]."""
_NARROWEST_S = 150.0
_BEND_C = 50.0
"""A line is drawn over no more than this much of a curved fall [K]."""
_BESIDE_S = 60.0
_LEFT_K = 12.0
"""No controller in order swings so far from its hold, nor does the readings' noise [K]."""
_LAGS_SHARE, _WAITING_K = 0.75, 5.0
"""Slower than this share of its plan a ramp lags, and its controller goes on about so far short of the target;
common practice, 3 to 10 K."""
_LURCH_S = 240.0
"""No kiln needs longer until its first degrees show [s]; common practice."""


class Knots:
    """Looks for one boundary in the readings of a trail."""

    def __init__(self, trail: Trail) -> None:
        self._trail = trail

    def bend(self, before_s: float, rough_s: float, after_s: float) -> float:
        """Return the second of the knot nearest to ``rough_s`` between two times; ``rough_s`` where none is sure."""
        narrow_s = max(_NARROWEST_S, 4 * self._trail.step_s)
        back = min(WIDEST_S, self._reach(rough_s - narrow_s * 2, rough_s - narrow_s), rough_s - before_s)
        on = min(WIDEST_S, self._reach(rough_s + 60.0, rough_s + 60.0 + narrow_s), after_s - rough_s)
        knot = self._trail.two_line_fit(
            rough_s - back, rough_s + on, rough_s - min(0.8 * back, 480.0), rough_s + min(0.8 * on, 300.0))
        return knot[0] if knot and knot[1] > _SURE_GAIN else rough_s

    def left(self, from_s: float, rough_s: float, knot_s: float, way: int) -> float:
        """Return when the hold that began at ``from_s`` ended [s]: at ``knot_s``, unless it had been left by then.

        After a cut in a hold the readings bend twice: where the power goes, and more where it comes back.
        """
        trail = self._trail
        held = sorted(way * t for t in trail.temps[trail.index_at(from_s):trail.index_at(rough_s)])
        beside = trail.line(knot_s - _BESIDE_S, knot_s + _BESIDE_S)
        if len(held) < 5 or beside is None:
            return knot_s
        level_c = held[len(held) // 4]
        least_k = _LEFT_K + 4.0 * trail.noise_c
        if way * beside.at(knot_s) - level_c < least_k:
            return knot_s
        for i in range(trail.index_at(knot_s), trail.index_at(from_s), -1):
            if way * trail.temps[i - 1] - level_c < least_k / 3:
                return trail.times[i - 1]
        return knot_s

    def departure(self, rough_s: float) -> float:
        """Return when the climb was begun [s], seen from when the readings left the level they had before.

        A kiln that starts cold lurches before it follows, so a knot would come late. Its first degrees grow
        with the square of the time (elements and probe have to warm up), so what it takes from one height to
        four times that height, it took to the first one.
        """
        trail = self._trail
        first, last = trail.index_at(rough_s - WIDEST_S), trail.index_at(rough_s)
        before = sorted(trail.temps[first:last])
        if not before:
            return rough_s
        level_c, least_k = before[len(before) // 4], 3.0 * trail.noise_c + 0.5
        left = next((k for k in range(last - 1, first - 1, -1) if trail.temps[k] <= level_c + least_k), None)
        if left is None:
            return rough_s
        for k in range(left, trail.index_at(rough_s + WIDEST_S)):
            if trail.temps[k] > level_c + 4.0 * least_k:
                return trail.times[left] - min(trail.times[k] - trail.times[left], _LURCH_S)
        return trail.times[left]

    def hole(self, rough_s: float) -> tuple[float, float] | None:
        """Return (from, to) of a hole in the readings that the change may lie in [s]; None without one."""
        times = self._trail.times
        j = self._trail.index_at(rough_s + 1.0)
        for k in range(j, max(1, self._trail.index_at(rough_s - 400.0)) - 1, -1):
            if k < len(times) and times[k] - times[k - 1] > self._trail.longest_step_s:
                return times[k - 1], times[k]
        return None

    def bridge(self, was: PlannedPart | None, becomes: PlannedPart | None, hole: tuple[float, float],
               rough_s: float) -> float | None:
        """Return where in a hole the change lies [s]: where the ramp beside it, drawn on, meets the target.

        None where it meets it outside the hole: then the readings themselves tell.
        """
        if was is None or becomes is None:
            return hole[1]
        if becomes.part == "ramp":
            from_s = max(hole[1], rough_s - 60.0)
            beside = self._trail.line(from_s, from_s + 300.0)
        else:
            first, last = self._trail.index_at(hole[0] - 300.0), self._trail.index_at(hole[0] + 1.0)
            beside = self._trail.line_between(first, last)
        if beside is None or abs(beside.slope_c_per_s) < 1e-4:
            return None
        meets = beside.mean_t_s + (was.to_c - beside.mean_c) / beside.slope_c_per_s
        return min(max(meets, hole[0]), hole[1]) if meets < hole[1] + _BESIDE_S else None

    def _reach(self, from_s: float, to_s: float) -> float:
        """Return how long a window may be [s] for the slope between two times."""
        line = self._trail.line(from_s, to_s)
        if line is None or abs(line.slope_c_per_s) < 1e-6:
            return WIDEST_S
        return max(_NARROWEST_S, 4 * self._trail.step_s, _BEND_C / abs(line.slope_c_per_s))

    def crossing(self, a: PlannedPart | None, b: PlannedPart | None, rough_s: float,
                 offset_c: float) -> float | None:
        """Return when the target of ``a`` was passed where ramp ``b`` looks like it; None for others.

        Where the slope hardly changes a knot says nothing, and the target is all there is. A fall that the
        kiln can't keep up with ends where the controller stops waiting for it, somewhat above its target.
        """
        if a is None or b is None or a.direction * b.direction <= 0 or a.rate_c_per_h is None:
            return None
        line = self._trail.line(rough_s - 240.0, rough_s + 240.0)
        if line is None or line.slope_c_per_s * a.direction <= 0:
            return None
        lags = a.direction < 0 and -line.slope_c_per_s * 3600 < _LAGS_SHARE * abs(a.rate_c_per_h)
        alike = b.rate_c_per_h is not None and 0.75 < a.rate_c_per_h / b.rate_c_per_h < 1.33
        if not (alike or lags):
            return None
        short_k = _WAITING_K if lags else 0.0
        level_c = a.to_c - short_k * a.direction + offset_c
        return line.mean_t_s + (level_c - line.mean_c) / line.slope_c_per_s
