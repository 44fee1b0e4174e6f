"""How fast it climbed while glass is brittle: the highest rates over ten minutes, below two fixed temperatures."""

from __future__ import annotations

from collections import deque

from daemon.glass.twin import twin_of

WINDOW_S = 600.0
"""Rates are means over this long [s]. [chosen: longer than a controller's cycle, shorter than any step of a climb]"""
COLD_C, WARM_C = 300.0, 540.0
"""Below the first a fused piece cracks most easily; below the second the families are brittle, or nearly so [°C].

Fixed for every glass, unlike ``practice.brittle_below_c``: the JSON names both in its keys, and firings of different
glasses are compared by them. [common practice]
"""
_APART_S = 30.0
"""Temperatures are kept this far apart [s]. [chosen: twenty to a window; more cost time and tell no more]"""


class Climb:
    """Takes temperatures in time order; keeps ten minutes of them."""

    def __init__(self) -> None:
        self._past: deque[tuple[float, float]] = deque()
        self.cold_c_per_h: float | None = None
        """Highest rate below COLD_C [°C/h]; None where it never climbed there for ten minutes."""
        self.brittle_c_per_h: float | None = None
        """Highest rate below WARM_C [°C/h]; None likewise."""

    def twin(self) -> Climb:
        """Return one that stands where this one stands and goes on by itself."""
        other: Climb = twin_of(self)
        other._past = deque(self._past)
        return other

    def advance(self, t_s: float, temp_c: float) -> None:
        """Take the temperature at a second."""
        past = self._past
        if past and t_s - past[-1][0] < _APART_S:
            return
        past.append((t_s, temp_c))
        if temp_c > WARM_C:
            past.clear()
            return
        if t_s - past[0][0] < WINDOW_S:
            return
        while t_s - past[1][0] >= WINDOW_S:
            past.popleft()
        from_s, from_c = past[0]
        rate = (temp_c - from_c) / (t_s - from_s) * 3600
        if rate <= 0.0:
            return
        self.brittle_c_per_h = max(self.brittle_c_per_h or 0.0, rate)
        if temp_c <= COLD_C:
            self.cold_c_per_h = max(self.cold_c_per_h or 0.0, rate)
