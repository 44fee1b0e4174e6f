"""How fast glass was heated again from below its annealing range, after it had once been above it.

After a power cut, say. Such glass is brittle again, and it may be one plate by then that went in as loose layers.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from daemon.glass.fastest_climb import WINDOW_S
from daemon.glass.materials import Glass
from daemon.glass.twin import twin_of

_GIVEN_BACK_S = 1800.0
"""A climb to no more than it was this long before the ten minutes is heat given back after a look under the lid: the
air there is colder than glass and brick for a while [s]. [chosen: longer than a look, shorter than most cuts]"""
_APART_S = 30.0
"""Temperatures are kept this far apart [s]. [chosen: twenty to ten minutes, as in ``fastest_climb``]"""


@dataclass(frozen=True, slots=True)
class Reheated:
    """The fastest ten minutes of the climbs back into the annealing range.

    Attributes
    ----------
    rate_c_per_h
        Mean over those minutes [°C/h].
    from_c
        The lowest temperature before them since the glass had last been above its range [°C].
    until_s
        Their end [s].
    highest_c
        How hot the glass had been by then [°C].
    """

    rate_c_per_h: float
    from_c: float
    until_s: float
    highest_c: float


class SecondClimb:
    """Takes temperatures in time order; keeps forty minutes of them.

    Ten minutes count that begin below the annealing range. They are told once the kiln is back at the lower
    end of the range: what cooled under an open lid or vent warms by the kiln's own heat, but seldom as far as that.
    """

    def __init__(self, glass: Glass) -> None:
        self._low_c, self._high_c = glass.band_low_c, glass.band_high_c
        self._window: deque[tuple[float, float]] = deque()
        self._before: deque[tuple[float, float]] = deque()
        """What has left the window, back to _GIVEN_BACK_S before it."""
        self._highest_c = float("-inf")
        self._coldest_c: float | None = None
        """The lowest since it was last above its range [°C]; None where it has not been below it since."""
        self._pending: Reheated | None = None
        self.fastest: Reheated | None = None
        """The fastest so far; None where it never climbed back."""

    def twin(self) -> SecondClimb:
        """Return one that stands where this one stands and goes on by itself."""
        other: SecondClimb = twin_of(self)
        other._window, other._before = deque(self._window), deque(self._before)
        return other

    def advance(self, t_s: float, temp_c: float) -> None:
        """Take the temperature at a second."""
        if self._window and t_s - self._window[-1][0] < _APART_S:
            return
        self._highest_c = max(self._highest_c, temp_c)
        self._keep(t_s, temp_c)
        if self._highest_c <= self._high_c:
            return
        if temp_c < self._low_c:
            self._coldest_c = temp_c if self._coldest_c is None else min(self._coldest_c, temp_c)
        if self._coldest_c is None:
            return
        self._pending = _faster(self._pending, self._now(self._coldest_c))
        if temp_c >= self._low_c:
            self.fastest, self._pending = _faster(self.fastest, self._pending), None
        if temp_c > self._high_c:
            self._coldest_c = None

    def _keep(self, t_s: float, temp_c: float) -> None:
        """Keep a temperature, and let go of what is older than is asked for."""
        window, before = self._window, self._before
        window.append((t_s, temp_c))
        while len(window) > 1 and t_s - window[1][0] >= WINDOW_S:
            before.append(window.popleft())
        while len(before) > 1 and before[1][0] <= window[0][0] - _GIVEN_BACK_S:
            before.popleft()

    def _now(self, coldest_c: float) -> Reheated | None:
        """Return the last ten minutes, where they are a climb from below the range; else None."""
        (from_s, from_c), (to_s, to_c) = self._window[0], self._window[-1]
        if to_s - from_s < WINDOW_S or from_c >= self._low_c or to_c <= max(from_c, self._was_c()):
            return None
        return Reheated((to_c - from_c) / (to_s - from_s) * 3600, coldest_c, to_s, self._highest_c)

    def _was_c(self) -> float:
        """Return the temperature _GIVEN_BACK_S before the window [°C], on the straight line between two kept ones."""
        at_s = self._window[0][0] - _GIVEN_BACK_S
        if not self._before or self._before[0][0] > at_s:
            return float("inf")  # it has not been followed for so long
        (t0, c0), (t1, c1) = self._before[0], (*self._before, self._window[0])[1]
        return c0 + (c1 - c0) * (at_s - t0) / (t1 - t0)


def _faster(one: Reheated | None, other: Reheated | None) -> Reheated | None:
    """Return the faster of two, the first where both are as fast; None for none."""
    if one is None or other is None:
        return one or other
    return other if other.rate_c_per_h > one.rate_c_per_h else one
