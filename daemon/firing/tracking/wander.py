"""How much the readings wander by themselves while nothing changes: measured in holds.

A controller cycles, air moves, elements drift. All that is slower than the white noise of single readings and cannot
be averaged away within minutes; the standard error of every slope needs it.
"""

from __future__ import annotations

from math import sqrt

from daemon.firing.events import Part
from daemon.firing.trace.recent import FILTERED_VARIANCE_SHARE, Trail

WANDER_MEMORY_S = 240.0
"""How long the wander keeps its value, its correlation time [s]: half a swing of a badly tuned controller.
[tuned: by trial on the bench, study not kept]"""
PRIOR_WANDER_K = 0.5
"""The wander before any hold has shown it [K]. [tuned: by trial on the bench, study not kept]"""
_LEAST_K, _MOST_K = 0.2, 8.0
"""The wander is never taken for less or more [K]: less would make every slope sure, more would hide every fault.
[tuned: by trial on the bench, study not kept]"""
_COARSEST_K = 10.0
"""A logger that rounds to more than this shows no grain but steps of the kiln [K]. [chosen: none is so coarse]"""
_WINDOW_S = 600.0
"""The wander is measured over so long at a time [s]: two and a half times its memory.
[tuned: by trial on the bench, study not kept]"""
_SETTLE_S = WANDER_MEMORY_S
"""A hold is settled so long after its start [s]: the swing it began with has passed its first half.
[derived: the wander's memory]"""
_LATE_S = 360.0
"""A hold teaches so long afterwards [s], lest the ramp that has left it already be taken for its wander.
[tuned: clean firings, seeds 5000 to 5249]"""
_WEIGHT = 0.06
"""Share of one beat in the running variance: its memory is some 17 beats.
[tuned: by trial on the bench, study not kept]"""


class Wander:
    """Standard deviation [K] of the readings about a straight line in settled holds, white noise taken off."""

    def __init__(self, trail: Trail) -> None:
        self._trail = trail
        self._variance = PRIOR_WANDER_K**2
        self._known = (0.0, 0.0, 0.0)
        """Variance [K²] and grain [K] as last seen, and the wander [K] they make."""

    @property
    def sd_k(self) -> float:
        """Return the wander [K].

        For a logger that rounds to a grain g it is no less than g / √12, the standard deviation of an even
        distribution over one grain.
        """
        variance, grain_k, wander_k = self._known
        if variance != self._variance or grain_k != self._trail.grain_k:
            variance, grain_k = self._variance, self._trail.grain_k
            rounding = grain_k / sqrt(12.0) if grain_k <= _COARSEST_K else 0.0
            wander_k = min(_MOST_K, max(_LEAST_K, rounding, sqrt(variance)))
            self._known = (variance, grain_k, wander_k)
        return wander_k

    def learn(self, hold: Part | None, t_s: float, resumed_s: float) -> None:
        """Take one beat: in a hold that has settled, the variance about a line moves a little towards what it shows.

        Parameters
        ----------
        hold
            The hold the kiln is in, as it ran so far; None in a ramp.
        t_s
            Now [s].
        resumed_s
            When readings last came back after a gap, or settled after a step [s].
        """
        if hold is None:
            return
        until_s = t_s - _LATE_S
        from_s = max(until_s - _WINDOW_S, hold.start_s + _SETTLE_S, resumed_s)
        line = self._trail.line(from_s, until_s) if until_s - from_s >= _WINDOW_S / 2 else None
        if line is None or line.span_s < _WINDOW_S / 2:
            return
        variance = line.sse / max(line.number - 2, 1) - FILTERED_VARIANCE_SHARE * self._trail.noise_k**2
        self._variance += _WEIGHT * (max(variance, 0.0) - self._variance)
