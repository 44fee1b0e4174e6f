"""How long it was how hot: seconds above temperatures, and in the haze range before and after the peak."""

from __future__ import annotations

ABOVE_C = (540.0, 620.0, 700.0, 760.0)
"""The temperatures a record asks about [°C]; common practice."""
HAZE_C = (700.0, 760.0)
"""Where haze (devitrification) forms in fusing glasses [°C]; common practice. Both ends stand in ABOVE_C."""


class Exposure:
    """Seconds above each of ABOVE_C, exact for a trace of straight pieces."""

    def __init__(self) -> None:
        self.above_s = dict.fromkeys(ABOVE_C, 0.0)
        self._peak_c = float("-inf")
        self._haze_at_peak_s = 0.0

    def advance(self, from_c: float, to_c: float, step_s: float) -> None:
        """Take a straight piece of trace."""
        low, high = (from_c, to_c) if from_c <= to_c else (to_c, from_c)
        above = self.above_s
        for limit_c in ABOVE_C:
            if high <= limit_c:
                break
            above[limit_c] += step_s if low >= limit_c else step_s * (high - limit_c) / (high - low)
        if to_c > self._peak_c:
            self._peak_c = to_c
            self._haze_at_peak_s = self.haze_s

    @property
    def haze_s(self) -> float:
        """Return the seconds in the haze range so far."""
        return self.above_s[HAZE_C[0]] - self.above_s[HAZE_C[1]]

    @property
    def haze_rising_s(self) -> float:
        """Return the seconds in the haze range before the peak."""
        return self._haze_at_peak_s

    @property
    def haze_falling_s(self) -> float:
        """Return the seconds in the haze range after the peak."""
        return self.haze_s - self._haze_at_peak_s
