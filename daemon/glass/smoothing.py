"""Readings smoothed by their own noise before they drive the slab, and not at all where there is none.

Noise on the readings would show as a core-to-face difference that the glass never had. Each reading is
replaced by the line through its neighbours, wide enough to bring the noise down to SMOOTH_K, narrower
where the readings bend or step by more than noise would (a new rate, an opened lid), and never across a
hole. A single reading that leaps off both its neighbours at once is no temperature of anything and is left
out.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import deque
from collections.abc import Iterator
from math import sqrt

from daemon.regression import Line, RunningSums

QUIET_K = 0.05
"""Readings with less noise than this are taken as they are [K].

[chosen: a minute's smoothing turned a lid's shock of 10 MPa into 3.7 where there was no noise to smooth]
"""
SMOOTH_K = 0.02
"""What is to be left of the noise in a smoothed reading [K]. With it 0.5 K of noise move a stress by less than 2 %.

[tuned: by trial on the bench, study not kept]
"""
WIDEST_S, WIDEST_STEPS = 600.0, 20.0
"""Half of the widest window: so long [s], or so many usual steps where those reach further.

[tuned: by trial on the bench, study not kept]
"""
SKIP_S, SKIP_SHARE = 20.0, 0.125
"""Of readings smoothed alike one comes out in this long: seconds, and share of half the window, the shorter of both.

[chosen: as long as ``passage.FINE_S``; eight to half a window keep its shape]
"""
HOLE_S, HOLE_STEPS = 60.0, 3.0
"""A longer silence is a hole: so long [s], or so many usual steps where those last longer.

[chosen: three steps, as a gap is defined in the summary]
"""
FIRST_LOOK = 10
"""Blocks of four readings that are looked at before the first comes out, to know the noise.

[chosen: their median is then known to 37 %, 1/(2 · 0.636 · √10) over 0.674]
"""
LEAP_K_PER_S = 10.0
"""Nothing in a kiln goes faster than this one way and at once as fast back [K/s].

[tuned: by trial on the bench, study not kept]
"""
_BLOCK = 4
"""Readings whose third difference tells the noise. [derived: the fewest that a parabola does not pass through]"""
_PER_MEAN, _PER_MEDIAN = 1.2533, 1.4826
"""Standard deviation of normal noise over the mean and over the median of its absolute value [1].

[derived: √(π/2), and 1 over the 0.75 quantile of the normal distribution]
"""
_WEIGHT = 0.04
"""Weight of a new block in the running noise [1]. [chosen: a memory of 25 blocks, a hundred readings]"""
_BENT = 10.0
"""A window is bent when a bend in its middle explains this many noise variances [1].

[derived: χ² of one degree of freedom exceeds 10 once in 640]
"""
_LEFT_SDS = 3.0
"""A newest reading so many standard deviations off the line before it has left it [1]. [chosen: noise alone does so
once in 370]"""
_LEAST = 5
"""Fewer readings make no line. [chosen: two more than line and bend have unknowns]"""


class Smoother:
    """Takes readings, gives smoothed ones in the same order and at the same seconds."""

    def __init__(self) -> None:
        self._sums = RunningSums(keep_s=8 * WIDEST_S, most=1024)
        self._out_s = float("-inf")
        self._next_s = float("-inf")
        self._before: tuple[float, float] | None = None
        self._held: tuple[float, float] | None = None
        self._block: list[tuple[float, float]] = []
        self._early: list[float] = []
        self._step_s = 0.0
        self._resumed_s: deque[float] = deque(maxlen=16)
        self._half_s = 0.0
        """Half of the widest window now [s]."""
        self._good_s = WIDEST_S
        """Half of the window that was good for the last one [s]."""
        self.noise_k: float | None = None
        """White noise of single readings [K]; None until it could be told."""

    def offer(self, t_s: float, temp_c: float) -> list[tuple[float, float]]:
        """Take the next reading [s, °C]; return what can be smoothed for good by now, if anything."""
        held, before = self._held, self._before
        self._held = (t_s, temp_c)
        if held is None:
            return []
        if before is not None:
            there = (held[1] - before[1]) / (held[0] - before[0])
            if there > LEAP_K_PER_S or there < -LEAP_K_PER_S:
                back = (held[1] - temp_c) / (t_s - held[0])
                if there * back > 0.0 and abs(back) > LEAP_K_PER_S:
                    return []
        self._take(*held)
        if self.noise_k is None:
            return []
        return self._ready(held[0] - self._half_s)

    def rest(self) -> Iterator[tuple[float, float]]:
        """Yield what is still held back, smoothed by what there is so far; changes nothing."""
        noise_k, half_s = self.noise_k, self._half_s
        if noise_k is None:
            noise_k = self._first_noise()
            half_s = self._half_of(noise_k)
        sums = self._sums
        for k in range(bisect_right(sums.times, self._out_s), len(sums.times)):
            yield sums.times[k], self._smooth(k, half_s, noise_k)[0]
        if self._held is not None:
            t_s, temp_c = self._held
            yield t_s, temp_c if half_s <= 0.0 else self._newest(t_s, temp_c, half_s, noise_k)

    def _newest(self, t_s: float, temp_c: float, half_s: float, noise_k: float) -> float:
        """Return the newest reading smoothed [°C]: on the line through those before it, unless it leaves that line.

        Taken as it is, its noise would be the whole difference between core and face of that moment.
        """
        last = len(self._sums.times) - 1
        if last < 0 or t_s - self._sums.times[last] > max(HOLE_S, HOLE_STEPS * self._step_s):
            return temp_c
        line = self._beside(last, half_s, noise_k)
        return temp_c if line is None or abs(temp_c - line.at(t_s)) > _LEFT_SDS * noise_k else line.at(t_s)

    def _take(self, t_s: float, temp_c: float) -> None:
        """Keep a reading, learn the usual step, and once there are four, the noise; a hole begins anew."""
        if self._before is not None:
            step_s = t_s - self._before[0]
            if step_s > HOLE_S and step_s > HOLE_STEPS * self._step_s:
                self._resumed_s.append(t_s)
                self._block.clear()
            else:
                self._step_s += (step_s - self._step_s) * (0.05 if self._step_s else 1.0)
        self._before = (t_s, temp_c)
        self._sums.add(t_s, temp_c)
        self._block.append(self._before)
        if len(self._block) == _BLOCK:
            self._learn(self._block)
            self._block.clear()

    def _ready(self, until_s: float) -> list[tuple[float, float]]:
        """Return the readings up to a second, smoothed; of wide windows only as many as tell them apart."""
        if self._next_s > until_s:
            return []
        sums, widest_s, noise_k = self._sums, self._half_s, self.noise_k or 0.0
        times = sums.times
        out: list[tuple[float, float]] = []
        k = max(bisect_right(times, self._out_s), bisect_left(times, self._next_s))
        while k < len(times) and times[k] <= until_s:
            temp_c, good_s = sums.temps[k], 0.0
            if widest_s > 0.0:
                temp_c, good_s = self._smooth(k, min(widest_s, 2.0 * self._good_s), noise_k)
                self._good_s = max(good_s, self._step_s)
            out.append((times[k], temp_c))
            self._next_s = times[k] + min(SKIP_S, good_s * SKIP_SHARE)
            k += 1
            if good_s > 0.0:
                k = max(k, sums.index_at(self._next_s))
        if out:
            self._out_s = out[-1][0]
        return out

    def _smooth(self, k: int, half_s: float, noise_k: float) -> tuple[float, float]:
        """Return the smoothed temperature [°C] of a kept reading, and half the window it took [s]."""
        sums, wide_s = self._sums, half_s
        t_s = sums.times[k]
        while half_s > 0.0:
            first, last = self._unbroken(sums.index_at(t_s - half_s), sums.index_at(t_s + half_s + 1e-9), t_s)
            if last - first < _LEAST:
                break
            line = self._line(first, last, k, noise_k)
            if line is not None:
                return line.at(t_s), half_s
            half_s /= 2
        beside = self._beside(k, wide_s, noise_k)
        return (sums.temps[k] if beside is None else beside.at(t_s)), 0.0

    def _beside(self, k: int, wide_s: float, noise_k: float) -> Line | None:
        """Return the line before or after a reading at which something breaks, whichever holds longer."""
        sums, t_s = self._sums, self._sums.times[k]
        while True:
            first, last = self._unbroken(sums.index_at(t_s - wide_s), sums.index_at(t_s + wide_s + 1e-9), t_s)
            if max(k + 1 - first, last - k) < _LEAST:
                return None
            lines = [line for a, b in ((first, k + 1), (k, last))
                     if b - a >= _LEAST and (line := self._line(a, b, (a + b) // 2, noise_k)) is not None]
            if lines:
                return max(lines, key=lambda line: line.number)
            wide_s /= 2

    def _line(self, first: int, last: int, k: int, noise_k: float) -> Line | None:
        """Return the line through kept readings, unless they leave it, or bend at ``k``, by more than noise does."""
        line = self._sums.line_between(first, last)
        variance = noise_k * noise_k
        if line is None or line.sse > variance * (1.3 * line.number + 4.0 * sqrt(line.number)):
            return None
        return None if self._sums.bend_gain(first, last, k, line) > _BENT * variance else line

    def _unbroken(self, first: int, last: int, t_s: float) -> tuple[int, int]:
        """Return the window without what lies beyond a hole."""
        for resumed_s in self._resumed_s:  # rarely any
            if resumed_s <= t_s:
                first = max(first, self._sums.index_at(resumed_s))
            else:
                last = min(last, self._sums.index_at(resumed_s))
        return first, last

    def _half_of(self, noise_k: float) -> float:
        """Return half of the widest window for a noise [s]; 0 where readings are taken as they are."""
        if noise_k < QUIET_K:
            return 0.0
        return min(max(WIDEST_S, WIDEST_STEPS * self._step_s), (noise_k / SMOOTH_K) ** 2 * self._step_s / 2)

    def _learn(self, block: list[tuple[float, float]]) -> None:
        """Learn from four readings what a parabola through them leaves, in units of one reading's noise."""
        (t0, a), (t1, b), (t2, c), (t3, d) = block
        w0 = 1.0 / ((t0 - t1) * (t0 - t2) * (t0 - t3))
        w1 = 1.0 / ((t1 - t0) * (t1 - t2) * (t1 - t3))
        w2 = 1.0 / ((t2 - t0) * (t2 - t1) * (t2 - t3))
        w3 = 1.0 / ((t3 - t0) * (t3 - t1) * (t3 - t2))
        off = abs(w0 * a + w1 * b + w2 * c + w3 * d) / sqrt(w0 * w0 + w1 * w1 + w2 * w2 + w3 * w3)
        if self.noise_k is None:
            self._early.append(off)
            if len(self._early) >= FIRST_LOOK:
                self.noise_k = self._first_noise()
                self._half_s = self._half_of(self.noise_k)
            return
        capped = min(off, 4.0 * self.noise_k + 0.02)
        self.noise_k += _WEIGHT * (_PER_MEAN * capped - self.noise_k)
        self._half_s = self._half_of(self.noise_k)

    def _first_noise(self) -> float:
        """Return the noise by the median of the first blocks [K]; 0 before any."""
        if not self._early:
            return 0.0
        return _PER_MEDIAN * sorted(self._early)[len(self._early) // 2]
