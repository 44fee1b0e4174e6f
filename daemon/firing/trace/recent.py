"""The last two hours of readings, with the slope over any window and the noise they carry.

Readings pass the outlier filter first. Of what passes, each reading is then replaced by the median of itself and its
two neighbours, so that a spike never reaches the sums and a real step is late by seconds only.
"""

from __future__ import annotations

from bisect import bisect_left
from math import inf, sqrt

from daemon.firing.trace.outliers import SLOW_LOGGER_S, SLOW_LOGGER_STEPS, OutlierFilter
from daemon.firing.trace.swings import Swings
from daemon.regression import Line, RunningSums

KEEP_S = 7200.0
"""How long readings are kept [s]: the segments' two longest windows. [derived: 2 × 3600 s]"""
BREAK_S = 60.0
"""A gap longer than this ends every window [s]: no slope is drawn across it. A slow logger, whose usual interval is
longer, has no gap for being slow (see SLOW_LOGGER_STEPS). [tuned: by trial on the bench, study not kept]"""
FILTERED_VARIANCE_SHARE = 0.45
"""Share of the variance of white noise that is left after a median of three.
[derived: for normal noise 1 − √3/π = 0.449, the variance of the middle one of three]"""
_PRIOR_NOISE_K = 0.6
"""White noise of single readings before any is measured [K]. [tuned: by trial on the bench, study not kept]"""
_SD_PER_SECOND_DIFFERENCE = 0.5117
"""Standard deviation per mean |second difference| of white noise.
[derived: 1 / (√6 · √(2/π)); a second difference has the variance 6σ², the mean of a normal |x| is σ√(2/π)]"""
_NOISE_WEIGHT = 0.01
"""Share of one second difference in the running mean: its memory is 100 readings.
[tuned: by trial on the bench, study not kept]"""
_SWING_SD = 0.35
"""Standard deviation of a wave that swings by 1 K from its lowest to its highest [K].
[derived: 1 / (2·√2) of a sine]"""
_OUTLIER_SDS, _OUTLIER_K = 6.0, 0.5
"""A second difference counts for at most so many standard deviations plus so many kelvin in the noise, so that a
step of the kiln is not taken for noise. [tuned: by trial on the bench, study not kept]"""
_LEAST_NOISE_K = 0.01
"""Less noise than this is taken for this [K], lest a gain be divided by zero. [derived: about the chip's 1/128 K]"""
_FIT_LEAST_READINGS, _FIT_LEAST_EACH = 8, 3
"""A two-line fit needs so many readings, and so many on each side. [derived: a line with an error needs three]"""
_FIT_MOST_TRIED = 80
"""So many change points are tried in a window, evenly spaced. [chosen: bounds the cost of a fit]"""


class Trail(RunningSums):
    """The recent readings of one firing, filtered, with least-squares lines that never reach across a gap."""

    def __init__(self) -> None:
        super().__init__(KEEP_S)
        self.unbroken_from_s = float("-inf")
        """When the readings came back after the last gap [s]."""
        self.longest_step_s = BREAK_S
        """The time between two readings beyond which a gap lies between them [s]."""
        self.step_s = 0.0
        """Usual time between readings, the shorter one of the last two [s]; 0 before there are two."""
        self._outliers, self._swings = OutlierFilter(), Swings()
        self._offered_s: float | None = None
        self._gap_s: float | None = None
        self._before: tuple[float, float] | None = None
        self._last: tuple[float, float] | None = None
        self.noise_k = _PRIOR_NOISE_K
        """White noise of single readings, standard deviation [K]."""
        self.grain_k = inf
        """The smallest step between two readings so far [K]: what the logger rounds to, or next to nothing."""

    @property
    def last_s(self) -> float | None:
        """Return the time of the newest reading offered [s]."""
        return self._offered_s

    def offer(self, t_s: float, temp_c: float) -> None:
        """Take the next reading [s, °C]."""
        offered_s, self._offered_s = self._offered_s, t_s
        if offered_s is None:
            self._outliers.offer(t_s, temp_c, self.noise_k)
            self._last = (t_s, temp_c)
            self.add(t_s, temp_c)
            return
        gap_s, before_s = t_s - offered_s, self._gap_s
        self._gap_s = gap_s
        step_s = gap_s if before_s is None or gap_s < before_s else before_s
        if step_s != self.step_s:
            self.step_s, self.longest_step_s = step_s, max(BREAK_S, SLOW_LOGGER_STEPS * step_s)
        if before_s is not None and gap_s > BREAK_S and gap_s > SLOW_LOGGER_STEPS * before_s:
            self._outliers.forget()
            self._swings.forget()
            self.unbroken_from_s = t_s
            self._last = None
        one_by_one = gap_s > SLOW_LOGGER_S
        for reading in self._outliers.offer(t_s, temp_c, self.noise_k):
            self._take(reading, one_by_one=one_by_one)

    def add(self, t_s: float, temp_c: float) -> None:
        """Keep a reading that passed the filter [s, °C]."""
        super().add(t_s, temp_c)
        self._swings.see(t_s, temp_c, self.noise_k)

    @property
    def swings_k(self) -> float:
        """Return how deep the readings swing, as with an on/off controller [K]; 0 where they do not (see Swings)."""
        return self._swings.depth_k

    def _take(self, reading: tuple[float, float], *, one_by_one: bool) -> None:
        """Take a reading that passed the filter: as it is, or the one before it as the median of three."""
        before, last = self._before, self._last
        self._before, self._last = last, reading
        if last is None:
            self.add(*reading)
            return
        b, c = last[1], reading[1]
        if 0.0 < abs(c - b) < self.grain_k:
            self.grain_k = abs(c - b)
        if one_by_one:
            self.add(*reading)
            return
        if before is None:
            return
        a, noise_k = before[1], self.noise_k
        difference, most = abs(a - 2 * b + c), _OUTLIER_SDS * noise_k + _OUTLIER_K
        self.noise_k = noise_k + _NOISE_WEIGHT * (
            _SD_PER_SECOND_DIFFERENCE * (difference if difference < most else most) - noise_k)
        low, high = (a, b) if a < b else (b, a)
        middle = low if c < low else high if c > high else c
        if not self.times or last[0] > self.times[-1]:
            self.add(last[0], middle)

    def line(self, from_s: float, to_s: float | None = None, least_s: float = 0.0) -> Line | None:
        """Return the line from ``from_s`` to before ``to_s``, after the last gap.

        None under three readings, and where they span less than ``least_s`` [s].
        """
        times = self.times
        i = bisect_left(times, from_s if from_s > self.unbroken_from_s else self.unbroken_from_s)
        j = len(times) if to_s is None else bisect_left(times, to_s)
        line = self.line_between(i, j)
        return None if line is None or line.span_s < least_s else line

    def halves(self, from_s: float, now_s: float) -> tuple[Line, Line] | None:
        """Return the lines of the first and the second half of the time from ``from_s`` to now [s].

        None where one has under three readings.
        """
        middle_s = (from_s + now_s) / 2
        first, second = self.line(from_s, middle_s), self.line(middle_s)
        return None if first is None or second is None else (first, second)

    def slope_error(self, line: Line, wander_k: float, wander_s: float) -> float:
        """Return the standard error of a line's slope [°C/s].

        A slope over n readings of noise σ, evenly spread over a window T, has the variance 12 σ² / (n T²). The slow
        wander of controller and air (standard deviation ``wander_k`` [K]) keeps its value for ``wander_s`` [s], so it
        counts as T / ``wander_s`` independent readings, however many there are. So do the swings of an on/off
        controller, as far as they can have made the slope: a line that goes twice as far as they swing is no swing.
        """
        span = line.span_s if line.span_s > 1.0 else 1.0
        white = 12 * self.noise_k**2 / line.number
        slow, depth_k = 12 * wander_k**2, self._swings.depth_k
        if depth_k:
            share = min(1.0, max(0.0, 2.0 - abs(line.slope_c_per_s) * span / depth_k))
            slow += 12 * (share * _SWING_SD * depth_k)**2
        if wander_s < span:
            slow *= wander_s / span
        return sqrt(white + slow) / span

    def two_line_fit(self, from_s: float, to_s: float, change_from_s: float,
                     change_to_s: float) -> tuple[float, float] | None:
        """Return (change point [s], gain) of the best two lines that meet, over a window; None if it has too little.

        Change points are tried at the readings from ``change_from_s`` to ``change_to_s``. ``gain`` is how much two
        lines lower the sum of squared residuals against one line, in units of the noise variance.
        """
        i, j = self.index_at(from_s), self.index_at(to_s)
        whole = self.line_between(i, j)
        if whole is None or j - i < _FIT_LEAST_READINGS:
            return None
        low = max(self.index_at(change_from_s), i + _FIT_LEAST_EACH)
        high = min(self.index_at(change_to_s), j - _FIT_LEAST_EACH)
        stride = max(1, (high - low) // _FIT_MOST_TRIED)
        best_gain, best_s = 0.0, None
        for k in range(low, high, stride):
            gain = self.bend_gain(i, j, k, whole)
            if gain > best_gain:
                best_gain, best_s = gain, self.times[k]
        if best_s is None:
            return None
        return best_s, best_gain / max(self.noise_k**2, _LEAST_NOISE_K**2)
