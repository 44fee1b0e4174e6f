"""Readings that stand alone are no temperature: a gate that holds them until their neighbours agree."""

from __future__ import annotations

_CONFIRMED_S = 15.0
"""A step that lasts so long is real; a spike of up to three readings is over by then."""
_STAYS_SHARE = 0.6
"""… if it has kept this share of its height."""
_LEAST_K = 6.0
_NOISES = 6.0
_PACE_K_PER_S = 0.1
"""What the chamber may do besides going on as it went [K/s]; common practice for small kilns."""
_SLOW_S = 20.0
"""Readings closer than this are expected to stay, those further apart to stay or to go on as the last two did."""
_GIVES_UP_S, _GIVES_UP_STEPS = 30.0, 2.5
"""No spike lasts so long [s, and in steps of a slow logger]: what comes then is believed, whatever it is."""


class OutlierFilter:
    """Holds back readings that jump until the jump has lasted; everything else passes at once."""

    def __init__(self) -> None:
        self._held: list[tuple[float, float]] = []
        self._last: tuple[float, float] | None = None
        self._pace_k_per_s = 0.0
        self._moving = 0
        self._offered_s = 0.0

    def forget(self) -> None:
        """Begin anew after a hole; what is held says nothing any more."""
        self._held.clear()
        self._last = None
        self._pace_k_per_s, self._moving = 0.0, 0

    def offer(self, t_s: float, temp_c: float, noise_c: float) -> tuple[tuple[float, float], ...]:
        """Take a reading [s, °C] and return those to be believed now, oldest first.

        ``noise_c`` is the white noise of single readings [K].
        """
        last = self._last
        step_s, self._offered_s = t_s - self._offered_s, t_s
        if last is None:
            return self._pass((t_s, temp_c), 0)
        gap_s = t_s - last[0]
        going = self._pace_k_per_s * gap_s if gap_s > _SLOW_S else 0.0
        away = temp_c - min(max(temp_c, last[1] + min(going, 0.0)), last[1] + max(going, 0.0))
        side = 1 if away > 0 else -1
        if abs(away) <= max(_LEAST_K, _NOISES * noise_c) + _PACE_K_PER_S * gap_s:
            self._held.clear()
            return self._pass((t_s, temp_c), 0)
        if side == self._moving and not self._held:
            return self._pass((t_s, temp_c), side)
        if self._held and (temp_c - last[1]) * side < _STAYS_SHARE * (self._held[0][1] - last[1]) * side:
            self._held.clear()
        if self._held and (self._held[-1][1] - last[1]) * side < 0:
            self._held.clear()
        if gap_s > max(_GIVES_UP_S, _GIVES_UP_STEPS * step_s):
            self._held.clear()
            return self._pass((t_s, temp_c), 0)
        self._held.append((t_s, temp_c))
        if t_s - self._held[0][0] < _CONFIRMED_S:
            return ()
        steps = tuple(self._held)
        self._held.clear()
        for held in steps:
            self._pass(held, side)
        return steps

    def _pass(self, reading: tuple[float, float], moving: int) -> tuple[tuple[float, float], ...]:
        if self._last is not None and reading[0] > self._last[0]:
            self._pace_k_per_s = (reading[1] - self._last[1]) / (reading[0] - self._last[0])
        self._last, self._moving = reading, moving
        return (reading,)
