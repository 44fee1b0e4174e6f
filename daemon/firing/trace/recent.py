"""The last two hours of readings, with the slope over any stretch and the noise they carry.

What stands alone is held back by the gate until its neighbours agree. Of the rest the middle of three goes
in as their median, so that a spike never reaches the sums and a real step is late by seconds.
"""

from __future__ import annotations

from bisect import bisect_left
from math import inf, sqrt

from daemon.firing.trace.outliers import OutlierFilter
from daemon.regression import Line, RunningSums

KEEP_S = 7200.0
MEDIAN_UP_TO_S = 20.0
"""Readings further apart than this are taken as they are: a median would be late by minutes."""
BREAK_S = 60.0
"""A hole longer than this ends every window: no slope is drawn across it. A slow logger has none for being slow."""
_STEPS = 2.5
"""A hole is longer than this many steps as well."""
_PRIOR_NOISE_C = 0.6
_PER_SECOND_DIFFERENCE = 0.5117
"""Standard deviation per mean |second difference| of white noise: 1 / (√6 · √(2/π))."""
_NOISE_WEIGHT = 0.01


class Trail(RunningSums):
    """Recent readings, median-filtered, with lines that stop at holes."""

    def __init__(self) -> None:
        super().__init__(KEEP_S)
        self.unbroken_from_s = float("-inf")
        """Since when the readings run without a hole [s]."""
        self.longest_step_s = BREAK_S
        """The time between two readings beyond which a hole lies between them [s]."""
        self.step_s = 0.0
        """Usual time between readings, the shorter one of the last two [s]; 0 before there are two."""
        self._outliers = OutlierFilter()
        self._offered_s: float | None = None
        self._gap_s: float | None = None
        self._before: tuple[float, float] | None = None
        self._last: tuple[float, float] | None = None
        self.noise_c = _PRIOR_NOISE_C
        """White noise of single readings, standard deviation [K]."""
        self.grain_c = inf
        """The smallest step between two readings so far [K]: what the logger rounds to, or next to nothing."""

    @property
    def last_s(self) -> float | None:
        """Return the time of the newest reading offered [s]."""
        return self._offered_s

    def offer(self, t_s: float, temp_c: float) -> None:
        """Take the next reading [s, °C]."""
        offered_s, self._offered_s = self._offered_s, t_s
        if offered_s is None:
            self._outliers.offer(t_s, temp_c, self.noise_c)
            self._last = (t_s, temp_c)
            self.add(t_s, temp_c)
            return
        gap_s, before_s = t_s - offered_s, self._gap_s
        self._gap_s = gap_s
        step_s = gap_s if before_s is None or gap_s < before_s else before_s
        if step_s != self.step_s:
            self.step_s, self.longest_step_s = step_s, max(BREAK_S, _STEPS * step_s)
        if before_s is not None and gap_s > BREAK_S and gap_s > _STEPS * before_s:
            self._outliers.forget()
            self.unbroken_from_s = t_s
            self._last = None
        for reading in self._outliers.offer(t_s, temp_c, self.noise_c):
            self._take(*reading, one_by_one=gap_s > MEDIAN_UP_TO_S)

    def _take(self, t_s: float, temp_c: float, *, one_by_one: bool) -> None:
        """Take a reading that is believed: as it is, or the one before it as the median of three."""
        before, last = self._before, self._last
        self._before, self._last = last, (t_s, temp_c)
        if last is not None and 0.0 < abs(temp_c - last[1]) < self.grain_c:
            self.grain_c = abs(temp_c - last[1])
        if last is None or one_by_one:
            self.add(t_s, temp_c)
            return
        if before is None:
            return
        a, b, c = before[1], last[1], temp_c
        difference, most = abs(a - 2 * b + c), 6 * self.noise_c + 0.5
        self.noise_c += _NOISE_WEIGHT * (
            _PER_SECOND_DIFFERENCE * (difference if difference < most else most) - self.noise_c)
        low, high = (a, b) if a < b else (b, a)
        middle = low if c < low else high if c > high else c
        if not self.times or last[0] > self.times[-1]:
            self.add(last[0], middle)

    def line(self, from_s: float, to_s: float | None = None) -> Line | None:
        """Return the line through the readings in [from_s, to_s], after the last hole; None under three."""
        i = bisect_left(self.times, from_s if from_s > self.unbroken_from_s else self.unbroken_from_s)
        j = len(self.times) if to_s is None else bisect_left(self.times, to_s)
        return self.line_between(i, j)

    def slope_error(self, line: Line, wander_c: float, wander_s: float) -> float:
        """Return the standard error of a line's slope [°C/s].

        White noise falls with the cube of the window; the wander (amplitude ``wander_c`` [K], memory
        ``wander_s`` [s]) of controller and air only with its length.
        """
        span = line.span_s if line.span_s > 1.0 else 1.0
        white = 12 * self.noise_c**2 / line.number
        slow = 12 * wander_c**2
        if wander_s < span:
            slow *= wander_s / span
        return sqrt(white + slow) / span

    def two_line_fit(self, from_s: float, to_s: float, knot_from_s: float,
                     knot_to_s: float) -> tuple[float, float] | None:
        """Return (knot [s], gain) of the best continuous two-line fit in a window; None if it has too little.

        Knots are tried at the kept readings between the two knot bounds. ``gain`` is how much the knot
        lowers the sum of squares against one line, in units of the noise variance.
        """
        i, j = self.index_at(from_s), self.index_at(to_s)
        whole = self.line_between(i, j)
        if whole is None or j - i < 8:
            return None
        low, high = max(self.index_at(knot_from_s), i + 3), min(self.index_at(knot_to_s), j - 3)
        stride = max(1, (high - low) // 80)
        best_gain, best_s = 0.0, None
        for k in range(low, high, stride):
            gain = self.bend_gain(i, j, k, whole)
            if gain > best_gain:
                best_gain, best_s = gain, self.times[k]
        if best_s is None:
            return None
        return best_s, best_gain / max(self.noise_c**2, 1e-4)
