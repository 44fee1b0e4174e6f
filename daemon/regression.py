"""Running sums over readings, so that a least-squares line through any window is a few subtractions."""

from __future__ import annotations

from bisect import bisect_left
from typing import NamedTuple

_MOST_READINGS = 4096
"""So many readings are kept before old ones are forgotten. [chosen: the sums are counted anew only now and then]"""
_LEAST_READINGS = 3
"""A line through fewer readings has no residuals. [derived: two parameters]"""
_NOTHING = (0.0, 0.0, 0.0, 0.0, 0.0)
"""The sums over no reading. [derived: a sum of nothing]"""
_SAME_PLACE_S2 = 1e-9
"""A bend that a line explains but for so little [s²] can't be told from it. [derived: above the sums' rounding]"""


class Line(NamedTuple):
    """A least-squares line through the readings of a window."""

    slope_c_per_s: float
    mean_t_s: float
    """Mean of the readings' times [s]; the line passes (``mean_t_s``, ``mean_c``)."""
    mean_c: float
    number: int
    """How many readings."""
    span_s: float
    """From the first to the last of them [s]."""
    sse: float
    """Sum of squared residuals [K²]."""

    def at(self, t_s: float) -> float:
        """Return the line's temperature [°C] at ``t_s``."""
        return self.mean_c + self.slope_c_per_s * (t_s - self.mean_t_s)


class RunningSums:
    """Readings in time order with running sums of t, t², y, ty and y²; a window's sums are differences of these.

    Times and temperatures are counted from a base. Once more than ``most`` readings are kept and the oldest is twice
    ``keep_s`` [s] old, those older than ``keep_s`` are forgotten and the base moves on, so that no sum grows large
    enough to lose digits over days.
    """

    def __init__(self, keep_s: float, most: int = _MOST_READINGS) -> None:
        self.times: list[float] = []
        self.temps: list[float] = []
        self._keep_s = keep_s
        self._most = most
        self._base_s = 0.0
        self._base_c = 0.0
        self._sums = [_NOTHING]
        """The sums of t, t², y, ty and y² over the kept readings before each, and over all of them."""

    def add(self, t_s: float, temp_c: float) -> None:
        """Take a reading later than all before it [s, °C]."""
        times = self.times
        if not times:
            self._base_s, self._base_c = t_s, temp_c
        elif len(times) >= self._most and times[-1] - times[0] > 2 * self._keep_s:
            self._forget()
            times = self.times
        times.append(t_s)
        self.temps.append(temp_c)
        t, y = t_s - self._base_s, temp_c - self._base_c
        sums = self._sums
        sum_t, sum_tt, sum_y, sum_ty, sum_yy = sums[-1]
        sums.append((sum_t + t, sum_tt + t * t, sum_y + y, sum_ty + t * y, sum_yy + y * y))

    def _forget(self) -> None:
        """Drop the readings older than ``keep_s`` and count the sums anew from the first one left."""
        first = min(bisect_left(self.times, self.times[-1] - self._keep_s), len(self.times) - 1)
        self.times, self.temps = self.times[first:], self.temps[first:]
        self._base_s, self._base_c = self.times[0], self.temps[0]
        sum_t, sum_tt, sum_y, sum_ty, sum_yy = _NOTHING
        self._sums = [_NOTHING]
        for t_s, temp_c in zip(self.times, self.temps, strict=True):
            t, y = t_s - self._base_s, temp_c - self._base_c
            sum_t, sum_tt = sum_t + t, sum_tt + t * t
            sum_y, sum_ty, sum_yy = sum_y + y, sum_ty + t * y, sum_yy + y * y
            self._sums.append((sum_t, sum_tt, sum_y, sum_ty, sum_yy))

    def index_at(self, t_s: float) -> int:
        """Return the index of the first kept reading at or after ``t_s``."""
        return bisect_left(self.times, t_s)

    def total(self, from_s: float) -> tuple[float, int]:
        """Return the sum [°C] and the count of the kept readings from ``from_s`` on."""
        i, j = bisect_left(self.times, from_s), len(self.times)
        return self._sums[j][2] - self._sums[i][2] + (j - i) * self._base_c, j - i

    def line_between(self, i: int, j: int) -> Line | None:
        """Return the line through kept readings ``i`` to ``j`` (the last left out); None under three."""
        n = j - i
        if n < _LEAST_READINGS:
            return None
        t0, tt0, y0, ty0, yy0 = self._sums[i]
        t1, tt1, y1, ty1, yy1 = self._sums[j]
        mean_t = (t1 - t0) / n
        mean_y = (y1 - y0) / n
        sxx = tt1 - tt0 - n * mean_t * mean_t
        if sxx <= 0:
            return None
        sxy = ty1 - ty0 - n * mean_t * mean_y
        syy = yy1 - yy0 - n * mean_y * mean_y
        slope = sxy / sxx
        sse = syy - slope * sxy
        # As Line(...), without the call of Python that a named tuple makes of it: four lines are drawn a reading.
        return tuple.__new__(Line, (slope, mean_t + self._base_s, mean_y + self._base_c, n,
                                    self.times[j - 1] - self.times[i], sse if sse > 0.0 else 0.0))

    def bend_gain(self, i: int, j: int, k: int, whole: Line) -> float:
        """Return how much a bend at kept reading ``k`` lowers the sum of squared residuals of a line [K²].

        The line ``whole`` through readings ``i`` to ``j`` is fitted anew with one more term, b · max(0, t − t_k).
        By the Frisch-Waugh-Lovell theorem (from memory) the sum of squares falls by (r · h)² / (h · h), where r are
        the residuals of ``whole``, and h is what of the new term no line explains.
        """
        n, m = j - i, j - k
        bend_s = self.times[k] - self._base_s
        mean_t, slope = whole.mean_t_s - self._base_s, whole.slope_c_per_s
        mean_y = whole.mean_c - self._base_c
        sums = self._sums
        t_k, tt_k, y_k, ty_k, _ = sums[k]
        t_j, tt_j, y_j, ty_j, _ = sums[j]
        t1, t2 = t_j - t_k, tt_j - tt_k
        b1 = t1 - m * bend_s
        b2 = t2 - 2 * bend_s * t1 + m * bend_s * bend_s
        bt = t2 - bend_s * t1
        by = (ty_j - ty_k) - bend_s * (y_j - y_k)
        sxx = tt_j - sums[i][1] - n * mean_t * mean_t
        # free is h · h, left is r · h.
        b_t = bt - mean_t * b1
        free = b2 - b1 * b1 / n - b_t * b_t / sxx
        if free <= _SAME_PLACE_S2:
            return 0.0
        left = by - mean_y * b1 - slope * b_t
        return left * left / free
