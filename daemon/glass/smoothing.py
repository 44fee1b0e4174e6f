"""Readings smoothed by their own noise before they drive the slab, and not at all where there is none.

Noise on the readings would show as a core-to-face difference that the glass never had. Each reading is
replaced by the line through its neighbours, wide enough to bring the noise down to SMOOTH_K, narrower
where the readings bend more than noise would (an opened lid), and never across a hole. It comes out
late by half the window.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import deque
from collections.abc import Iterator

from daemon.running import RunningSums

QUIET_K = 0.05
"""Readings with less noise than this are taken as they are [K]."""
SMOOTH_K = 0.03
"""What is left of the noise in a smoothed reading [K]."""
WIDEST_S = 180.0
"""Half of the widest window [s]."""
HOLE_S = 60.0
FIRST_LOOK = 40
"""Readings looked at before the first comes out, to know the noise."""
_PER_SECOND_DIFFERENCE = 0.5117
"""Standard deviation per mean |second difference| of white noise: 1 / (√6 · √(2/π))."""
_PER_MEDIAN_DIFFERENCE = 0.6053
"""The same per median |second difference|: 1 / (√6 · 0.6745)."""
_WEIGHT = 0.01
_BENT = 3.0
"""A window whose residual variance is this many times the noise's is bent and is halved."""


class Smoother:
    """Takes readings, gives smoothed ones in the same order and at the same seconds."""

    def __init__(self) -> None:
        self._sums = RunningSums(keep_s=4 * WIDEST_S, most=1024)
        self._out_s = float("-inf")
        self._early: list[float] = []
        self._last: list[tuple[float, float]] = []
        self._resumed_s: deque[float] = deque(maxlen=16)
        self.noise_k: float | None = None
        """White noise of single readings [K]; None until FIRST_LOOK readings were seen."""

    def offer(self, t_s: float, temp_c: float) -> Iterator[tuple[float, float]]:
        """Take the next reading [s, °C]; yield those that can be smoothed for good by now."""
        if self._last and t_s - self._last[-1][0] > HOLE_S:
            self._resumed_s.append(t_s)
        self._learn(t_s, temp_c)
        self._sums.add(t_s, temp_c)
        if self.noise_k is None:
            return
        half_s = self._half_s()
        yield from self._ready(t_s - half_s)

    def rest(self) -> Iterator[tuple[float, float]]:
        """Yield what is still held back, smoothed by what there is; nothing may be offered after."""
        if self.noise_k is None:
            self.noise_k = self._first_noise()
        yield from self._ready(float("inf"))

    def _ready(self, until_s: float) -> Iterator[tuple[float, float]]:
        sums = self._sums
        k = bisect_right(sums.times, self._out_s)
        half_s = self._half_s()
        while k < len(sums.times) and sums.times[k] <= until_s:
            t_s = self._out_s = sums.times[k]
            yield t_s, sums.temps[k] if half_s <= 0 else self._smooth(k, half_s)
            k += 1

    def _smooth(self, k: int, half_s: float) -> float:
        sums, noise = self._sums, self.noise_k or 0.0
        t_s = sums.times[k]
        for _ in range(5):
            first, last = sums.index_at(t_s - half_s), sums.index_at(t_s + half_s + 1e-9)
            first, last = self._unbroken(first, last, t_s)
            line = sums.line_between(first, last)
            if line is None or line.number < 5:
                break
            if line.sse / (line.number - 2) <= _BENT * noise**2:
                return line.at(t_s)
            half_s /= 2
        return sums.temps[k]

    def _unbroken(self, first: int, last: int, t_s: float) -> tuple[int, int]:
        """Return the window without what lies beyond a hole."""
        for resumed_s in self._resumed_s:
            if resumed_s <= t_s:
                first = max(first, self._sums.index_at(resumed_s))
            else:
                last = min(last, self._sums.index_at(resumed_s))
        return first, last

    def _half_s(self) -> float:
        noise = self.noise_k or 0.0
        if noise < QUIET_K or len(self._last) < 2:
            return 0.0
        interval_s = self._last[-1][0] - self._last[-2][0]
        wanted = (noise / SMOOTH_K) ** 2
        if wanted < 3:
            return 0.0
        return min(WIDEST_S, wanted * interval_s / 2)

    def _learn(self, t_s: float, temp_c: float) -> None:
        self._last.append((t_s, temp_c))
        if len(self._last) < 3:
            return
        (t0, a), (t1, b), (t2, c) = self._last[-3:]
        del self._last[:-2]
        if t2 - t1 > 2 * (t1 - t0) + 1e-9 or t1 - t0 > 2 * (t2 - t1) + 1e-9:
            return
        # The middle one against the line through its neighbours, scaled to an even spacing.
        bend = abs((a * (t2 - t1) + c * (t1 - t0)) / (t2 - t0) - b) * 2
        if self.noise_k is None:
            self._early.append(bend)
            if len(self._early) >= FIRST_LOOK:
                self.noise_k = self._first_noise()
            return
        capped = min(bend, 6 * self.noise_k + 0.02)
        self.noise_k += _WEIGHT * (_PER_SECOND_DIFFERENCE * capped - self.noise_k)

    def _first_noise(self) -> float:
        if not self._early:
            return 0.0
        return _PER_MEDIAN_DIFFERENCE * sorted(self._early)[len(self._early) // 2]
