"""The last two hours of readings, kept so that the slope over any stretch costs the same.

Running sums make a least-squares line over any window a handful of subtractions; the noise of the
readings is measured as they come. A reading is taken in one late: the middle of three goes in as
their median, so that a single spike never reaches the sums and a real step is late by one reading.
"""

from __future__ import annotations

from bisect import bisect_left
from math import sqrt
from typing import NamedTuple

KEEP_S = 7200.0
MEDIAN_UP_TO_S = 20.0
"""Readings further apart than this are taken as they are: a median would be late by minutes."""
BREAK_S = 60.0
"""A hole longer than this ends every window: no slope is drawn across it."""
_TRIM_AT = 4096
_PRIOR_NOISE_C = 0.6
_PER_SECOND_DIFFERENCE = 0.5117
"""Standard deviation per mean |second difference| of white noise: 1 / (√6 · √(2/π))."""
_NOISE_WEIGHT = 0.01


class Line(NamedTuple):
    """A least-squares line through a stretch of readings."""

    slope_c_per_s: float
    mean_t_s: float
    mean_c: float
    number: int
    span_s: float
    sse: float
    """Sum of squared residuals [K²]."""

    def at(self, t_s: float) -> float:
        """Return the line's temperature [°C] at ``t_s``."""
        return self.mean_c + self.slope_c_per_s * (t_s - self.mean_t_s)


class Trail:
    """Recent readings with running sums of 1, t, t², y, ty and y², times counted from a moving base."""

    def __init__(self) -> None:
        self.times: list[float] = []
        self.temps: list[float] = []
        self._base_s = 0.0
        self._base_c = 0.0
        self._t = [0.0]
        self._tt = [0.0]
        self._y = [0.0]
        self._ty = [0.0]
        self._yy = [0.0]
        self._break_s = float("-inf")
        self._before: tuple[float, float] | None = None
        self._last: tuple[float, float] | None = None
        self.noise_c = _PRIOR_NOISE_C
        """White noise of single readings, standard deviation [K]."""

    @property
    def last_s(self) -> float | None:
        """Return the time of the newest reading offered [s]."""
        return self._last[0] if self._last else None

    def offer(self, t_s: float, temp_c: float) -> None:
        """Take the next reading [s, °C]."""
        before, last = self._before, self._last
        self._before, self._last = last, (t_s, temp_c)
        if last is None:
            self._keep(t_s, temp_c)
            return
        if t_s - last[0] > BREAK_S and t_s - last[0] > 2.5 * (last[0] - before[0] if before else 0.0):
            self._break_s = t_s
            self._before = None
            self._keep(t_s, temp_c)
            return
        if t_s - last[0] > MEDIAN_UP_TO_S:
            self._keep(t_s, temp_c)
            return
        if before is None:
            return
        a, b, c = before[1], last[1], temp_c
        difference = min(abs(a - 2 * b + c), 6 * self.noise_c + 0.5)
        self.noise_c += _NOISE_WEIGHT * (_PER_SECOND_DIFFERENCE * difference - self.noise_c)
        middle = b if (a <= b) == (b <= c) else (a if (b <= a) == (a <= c) else c)
        if not self.times or last[0] > self.times[-1]:
            self._keep(last[0], middle)

    def _keep(self, t_s: float, temp_c: float) -> None:
        if not self.times:
            self._base_s, self._base_c = t_s, temp_c
        elif len(self.times) >= _TRIM_AT and self.times[-1] - self.times[0] > 2 * KEEP_S:
            self._trim()
        self.times.append(t_s)
        self.temps.append(temp_c)
        t, y = t_s - self._base_s, temp_c - self._base_c
        self._t.append(self._t[-1] + t)
        self._tt.append(self._tt[-1] + t * t)
        self._y.append(self._y[-1] + y)
        self._ty.append(self._ty[-1] + t * y)
        self._yy.append(self._yy[-1] + y * y)

    def _trim(self) -> None:
        """Forget what is older than KEEP_S and count times from the oldest left, so sums stay exact."""
        first = min(bisect_left(self.times, self.times[-1] - KEEP_S), len(self.times) - 1)
        times, temps = self.times[first:], self.temps[first:]
        self.times, self.temps = [], []
        self._t, self._tt, self._y, self._ty, self._yy = [0.0], [0.0], [0.0], [0.0], [0.0]
        for t_s, temp_c in zip(times, temps, strict=True):
            self._keep(t_s, temp_c)

    def index_at(self, t_s: float) -> int:
        """Return the index of the first kept reading at or after ``t_s``."""
        return bisect_left(self.times, t_s)

    def total(self, from_s: float) -> tuple[float, int]:
        """Return the sum [°C] and the count of the kept readings from ``from_s`` on."""
        i, j = bisect_left(self.times, from_s), len(self.times)
        return self._y[j] - self._y[i] + (j - i) * self._base_c, j - i

    def line(self, from_s: float, to_s: float | None = None) -> Line | None:
        """Return the line through the readings in [from_s, to_s], after the last hole; None under three."""
        i = bisect_left(self.times, max(from_s, self._break_s))
        j = len(self.times) if to_s is None else bisect_left(self.times, to_s)
        return self.line_between(i, j)

    def line_between(self, i: int, j: int) -> Line | None:
        """Return the line through kept readings ``i`` to ``j`` (the last left out); None under three."""
        n = j - i
        if n < 3:
            return None
        mean_t = (self._t[j] - self._t[i]) / n
        mean_y = (self._y[j] - self._y[i]) / n
        sxx = self._tt[j] - self._tt[i] - n * mean_t * mean_t
        if sxx <= 0:
            return None
        sxy = self._ty[j] - self._ty[i] - n * mean_t * mean_y
        syy = self._yy[j] - self._yy[i] - n * mean_y * mean_y
        slope = sxy / sxx
        return Line(slope, mean_t + self._base_s, mean_y + self._base_c, n,
                    self.times[j - 1] - self.times[i], max(0.0, syy - slope * sxy))

    def slope_error(self, line: Line, wander_c: float, wander_s: float) -> float:
        """Return the standard error of a line's slope [°C/s].

        White noise falls with the cube of the window; the wander (amplitude ``wander_c`` [K], memory
        ``wander_s`` [s]) of controller and air only with its length.
        """
        span = max(line.span_s, 1.0)
        white = 12 * self.noise_c**2 / line.number
        slow = 12 * wander_c**2 * min(1.0, wander_s / span)
        return sqrt(white + slow) / span

    def hinge(self, from_s: float, to_s: float, knot_from_s: float, knot_to_s: float) -> tuple[float, float] | None:
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
            gain = self._hinge_gain(i, j, k, whole)
            if gain > best_gain:
                best_gain, best_s = gain, self.times[k]
        if best_s is None:
            return None
        return best_s, best_gain / max(self.noise_c**2, 1e-4)

    def _hinge_gain(self, i: int, j: int, k: int, whole: Line) -> float:
        """Return how much adding a bend (t − t_k)+ at kept reading ``k`` lowers the sum of squares [K²]."""
        n, m = j - i, j - k
        knot = self.times[k] - self._base_s
        mean_t, slope = whole.mean_t_s - self._base_s, whole.slope_c_per_s
        mean_y = whole.mean_c - self._base_c
        t1, t2 = self._t[j] - self._t[k], self._tt[j] - self._tt[k]
        b1 = t1 - m * knot
        b2 = t2 - 2 * knot * t1 + m * knot * knot
        bt = t2 - knot * t1
        by = (self._ty[j] - self._ty[k]) - knot * (self._y[j] - self._y[k])
        sxx = self._tt[j] - self._tt[i] - n * mean_t * mean_t
        # The bend's part that the line cannot explain, and what of the residual it takes away.
        b_t = bt - mean_t * b1
        free = b2 - b1 * b1 / n - b_t * b_t / sxx
        if free <= 1e-9:
            return 0.0
        left = by - mean_y * b1 - slope * b_t
        return left * left / free
