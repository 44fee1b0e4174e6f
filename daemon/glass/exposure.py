"""How long it was how hot: seconds above temperatures, and in ranges on the way up and down."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable

from daemon.glass.twin import twin_of

ABOVE_C = (540.0, 620.0, 700.0, 760.0)
"""The temperatures a record always asks about [°C]; their names stand in the JSON. [common practice]"""
HAZE_C = (700.0, 760.0)
"""Where haze (devitrification) forms in fusing glasses [°C]. [common practice]"""
SQUEEZE_C = (600.0, 677.0)
"""Where layers settle and let their air go [°C]. [common practice]"""
BURN_OFF_C = (260.0, 480.0)
"""Where binders, decals' film and enamels' media burn off [°C]. [common practice]"""
_RANGES_C = (HAZE_C, SQUEEZE_C, BURN_OFF_C)
"""Ranges whose seconds a record tells. [derived: the three above]"""


class Exposure:
    """Seconds between temperatures, exact for a trace of straight pieces.

    Parameters
    ----------
    asked_c
        Temperatures asked about besides ABOVE_C [°C].
    """

    def __init__(self, asked_c: Iterable[float] = ()) -> None:
        self._asked_c = tuple(sorted({*ABOVE_C, *asked_c}))
        self._edges_c = sorted({*self._asked_c, *(edge for pair in _RANGES_C for edge in pair)})
        self._spent_s = [0.0] * (len(self._edges_c) + 1)
        """Seconds up to the first edge, between each two, and above the last; an edge itself is not above itself."""
        self._before_peak_s = list(self._spent_s)
        self.peak_c = float("-inf")
        """The highest temperature so far [°C]."""

    def twin(self) -> Exposure:
        """Return one that stands where this one stands and goes on by itself."""
        other: Exposure = twin_of(self)
        other._spent_s = list(self._spent_s)
        return other

    def advance(self, from_c: float, to_c: float, step_s: float) -> None:
        """Go on by ``step_s`` [s] with the temperature going straight from ``from_c`` to ``to_c`` [°C]."""
        edges, spent = self._edges_c, self._spent_s
        first, last = bisect_left(edges, from_c), bisect_left(edges, to_c)
        if first == last:
            spent[first] += step_s
        else:
            low, high = (from_c, to_c) if from_c <= to_c else (to_c, from_c)
            here = low
            for k in range(min(first, last), max(first, last) + 1):
                there = edges[k] if k < len(edges) and edges[k] < high else high
                spent[k] += step_s * (there - here) / (high - low)
                here = there
        if to_c > self.peak_c:
            self.peak_c = to_c
            self._before_peak_s = list(spent)

    @property
    def above_s(self) -> dict[float, float]:
        """Return the seconds above each temperature asked about."""
        return {limit_c: sum(self._spent_s[bisect_right(self._edges_c, limit_c):]) for limit_c in self._asked_c}

    def rising_s(self, range_c: tuple[float, float]) -> float:
        """Return the seconds in HAZE_C, SQUEEZE_C or BURN_OFF_C before the peak."""
        return self._between(self._before_peak_s, range_c)

    def falling_s(self, range_c: tuple[float, float]) -> float:
        """Return the seconds in HAZE_C, SQUEEZE_C or BURN_OFF_C after the peak."""
        return self._between(self._spent_s, range_c) - self.rising_s(range_c)

    def _between(self, spent_s: list[float], range_c: tuple[float, float]) -> float:
        """Return the seconds of ``spent_s`` that lie between two of the edges [s]."""
        first, last = (bisect_right(self._edges_c, edge_c) for edge_c in range_c)
        return sum(spent_s[first:last])
