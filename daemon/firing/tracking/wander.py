"""How much the readings wander by themselves: controller cycling, air, slow drift; measured in holds."""

from __future__ import annotations

from math import sqrt

from daemon.firing.events import Part
from daemon.firing.trace.recent import Trail

WANDER_MEMORY_S = 240.0
"""How long the controller's and the air's slow wander remembers itself [s]; by trial on the bench."""
_PRIOR_K = 0.5
_COARSEST_K = 10.0
_LEAST_K = 0.2
_MOST_K = 8.0
_WINDOW_S = 600.0
_SETTLE_S = 240.0
_LATE_S = 360.0
"""A hold teaches so long afterwards, lest the ramp that has left it already be taken for its wander."""
_WEIGHT = 0.06
_FILTERED_NOISE_SHARE = 0.45
"""Share of the white variance that is left after a median of three (from memory, about 0.45)."""


class Wander:
    """Standard deviation [K] of the readings about a straight line in settled holds, white noise taken off."""

    def __init__(self, trail: Trail) -> None:
        self._trail = trail
        self._variance = _PRIOR_K**2
        self._known = (0.0, 0.0, 0.0)
        """Variance and grain, and the wander they make."""

    @property
    def c(self) -> float:
        """Return the wander [K]; of a logger that rounds, no less than a rounding's own (its grain over √12)."""
        variance, grain_c, wander_c = self._known
        if variance != self._variance or grain_c != self._trail.grain_c:
            variance, grain_c = self._variance, self._trail.grain_c
            rounding = grain_c / sqrt(12) if grain_c <= _COARSEST_K else 0.0
            wander_c = min(_MOST_K, max(_LEAST_K, rounding, sqrt(variance)))
            self._known = (variance, grain_c, wander_c)
        return wander_c

    def learn(self, hold: Part | None, t_s: float, resumed_s: float) -> None:
        """Take one beat; teaches only in a hold that has settled.

        Parameters
        ----------
        hold
            The hold the kiln is in, as it ran so far; None in a ramp.
        t_s
            Now [s].
        resumed_s
            When readings last came back after a hole, or settled after a step [s].
        """
        if hold is None:
            return
        until_s = t_s - _LATE_S
        from_s = max(until_s - _WINDOW_S, hold.start_s + _SETTLE_S, resumed_s)
        line = self._trail.line(from_s, until_s) if until_s - from_s >= _WINDOW_S / 2 else None
        if line is None or line.span_s < _WINDOW_S / 2:
            return
        variance = line.sse / max(line.number - 2, 1) - _FILTERED_NOISE_SHARE * self._trail.noise_c**2
        self._variance += _WEIGHT * (max(variance, 0.0) - self._variance)
