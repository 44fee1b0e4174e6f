"""How far the readings swing: the falls of the last hour that came back.

An on/off controller, or a badly tuned one, lets the kiln fall and heats it again, many times an hour. Each of these
falls is as fast as one without power, so its rate tells nothing. What tells is its depth: a fall no deeper than those
that have just come back is one more of them. A lid that is opened and shut, and a wire that touches at times, come
back as well; they are deeper than any controller lets the kiln fall, and do not count.
"""

from __future__ import annotations

from collections import deque

_REMEMBERED_S = 3600.0
"""A swing counts for so long [s]. [chosen: many swings of a controller, few of its parts' changes]"""
_LEAST_K, _NOISES = 2.0, 6.0
"""A turn of the readings is one from so much on [K], and from so many standard deviations of the noise on.
[chosen: of 720 readings an hour none strays by six standard deviations]"""
CONTROLLERS_MOST_K = 30.0
"""A deeper fall than this is no controller's [K]. [common practice: one with 3 to 8 K of hysteresis swings by up to
16 K, and a probe near the elements sees up to 17 K of them]"""
_DEEPEST_K, _MANY = 60.0, 6
"""A fall no deeper than the first [K] is a controller's as well where there are so many of them an hour: nobody
opens a lid so often, and a wire that touches shows less than half of the kiln's heat. [chosen: a bare probe that sees
the elements reads them switched on by tens of kelvins]"""
_LEAST_NUMBER = 4
"""From so many swings an hour on they are a controller's. [chosen: swings that are rarer are slow enough for their
rate to tell]"""
_FALLS_S = 3 * _REMEMBERED_S
"""A kiln that swung falls without power for no longer than this before its controller has it again [s].
[common practice: from the top to the anneal in one to three hours]"""
_COUNTED_FROM_TOP = 2
"""The depth of swings is that of the third deepest. [chosen: two may be looks inside]"""


class Swings:
    """Sees every reading; knows the falls that came back."""

    def __init__(self) -> None:
        self._came_back: deque[tuple[float, float]] = deque()
        """When the climb after each fall was over [s], and how much of the fall had come back [K]."""
        self._climbs = True
        self._extreme_c: float | None = None
        """The highest reading of the present climb, or the lowest of the present fall [°C]."""
        self._top_c: float | None = None
        self._bottom_c: float | None = None
        self._depth_k, self._swung_s = 0.0, 0.0

    def see(self, t_s: float, temp_c: float, noise_k: float) -> None:
        """Take the next reading [s, °C]; ``noise_k`` is the noise of a single one [K]."""
        if self._came_back and self._came_back[0][0] < t_s - _REMEMBERED_S:
            while self._came_back and self._came_back[0][0] < t_s - _REMEMBERED_S:
                self._came_back.popleft()
            self._look(t_s)
        elif self._depth_k and t_s - self._swung_s > _FALLS_S:
            self._depth_k = 0.0
        extreme_c = self._extreme_c
        if extreme_c is None or (temp_c >= extreme_c if self._climbs else temp_c <= extreme_c):
            self._extreme_c = temp_c
            return
        if abs(temp_c - extreme_c) < _LEAST_K + _NOISES * noise_k:
            return
        if not self._climbs:
            self._bottom_c = extreme_c
        else:
            if self._top_c is not None and self._bottom_c is not None:
                depth_k = min(self._top_c, extreme_c) - self._bottom_c
                if depth_k <= _DEEPEST_K:
                    self._came_back.append((t_s, depth_k))
                    self._look(t_s)
            self._top_c = extreme_c
        self._climbs, self._extreme_c = not self._climbs, temp_c

    def _look(self, t_s: float) -> None:
        """Take the depth of the last hour's swings; that of before lasts for _FALLS_S.

        A free fall has no swings, nor has a climb at full power. Of cold lurches, which may be deeper than any later
        swing, no more than CONTROLLERS_MOST_K is remembered.
        """
        depth_k = self._swing_k()
        if depth_k:
            self._depth_k, self._swung_s = depth_k, t_s
        else:
            self._depth_k = min(self._depth_k, CONTROLLERS_MOST_K)

    def forget(self) -> None:
        """Begin anew: a gap lies before the next reading."""
        self._came_back.clear()
        self._depth_k = 0.0
        self._climbs, self._extreme_c, self._top_c, self._bottom_c = True, None, None, None

    @property
    def depth_k(self) -> float:
        """Return how deep the readings swing, or did when the kiln was last heated [K]; 0 where they do not."""
        return self._depth_k

    def _swing_k(self) -> float:
        """Return how deep they swung in the last hour [K]; 0 where they did not."""
        depths = sorted(depth_k for _, depth_k in self._came_back)
        if len(depths) >= _MANY and depths[-_MANY] > CONTROLLERS_MOST_K / 2:
            return depths[-1 - _COUNTED_FROM_TOP]
        depths = [depth_k for depth_k in depths if depth_k <= CONTROLLERS_MOST_K]
        return depths[-1 - _COUNTED_FROM_TOP] if len(depths) >= _LEAST_NUMBER else 0.0
