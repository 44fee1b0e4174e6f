"""A filter for outliers: a reading that jumps is held back until the readings after it confirm the jump."""

from __future__ import annotations

_CONFIRMED_S = 15.0
"""A step that lasts so long is real [s]. [derived: a spike of up to three
readings, 5 s apart, is over by then]"""
_STAYS_SHARE = 0.6
"""A step must keep this share of its height until it is confirmed.
[tuned: by trial on the bench, study not kept]"""
_LEAST_JUMP_K, _LEAST_JUMP_SDS = 6.0, 6.0
"""A smaller jump is no outlier: in kelvin, and in standard deviations of the readings' own noise.
[tuned: by trial on the bench, study not kept]"""
_CHAMBER_K_PER_S = 0.1
"""How fast the chamber may change besides going on as it went [K/s]: 360 °C/h. [common practice]"""
SLOW_LOGGER_S = 20.0
"""Readings further apart than this come from a slow logger [s]: between two of them the kiln may have gone on as it
went, and a median of three would be late by minutes. [tuned: by trial on the bench, study not kept]"""
SLOW_LOGGER_STEPS = 2.5
"""After so many steps of a slow logger something is missing: neither a spike nor its usual interval lasts so long.
[tuned: clean firings read once a minute, seeds 7000 to 7399]"""
_GIVES_UP_S = 2 * _CONFIRMED_S
"""No spike lasts so long [s]: what comes then is believed, whatever it is. [derived: twice as long
as a step must last]"""


class OutlierFilter:
    """Holds back readings that jump until the jump has lasted; everything else passes at once."""

    def __init__(self) -> None:
        self._held: list[tuple[float, float]] = []
        """Readings after a jump that is not confirmed yet."""
        self._last: tuple[float, float] | None = None
        """The newest reading that was believed."""
        self._pace_k_per_s = 0.0
        self._moving = 0
        """The direction of a confirmed step that still goes on (+1, −1); 0 without one."""
        self._offered_s = 0.0

    def forget(self) -> None:
        """Begin anew after a gap: the readings held back can't be compared with what comes."""
        self._held.clear()
        self._last = None
        self._pace_k_per_s, self._moving = 0.0, 0

    def offer(self, t_s: float, temp_c: float, noise_k: float) -> tuple[tuple[float, float], ...]:
        """Take a reading [s, °C] and return those to be believed now, oldest first.

        ``noise_k`` is the white noise of single readings [K].
        """
        last = self._last
        step_s, self._offered_s = t_s - self._offered_s, t_s
        if last is None:
            return self._pass((t_s, temp_c), 0)
        gap_s = t_s - last[0]
        away = temp_c - last[1]
        if gap_s > SLOW_LOGGER_S:
            going = self._pace_k_per_s * gap_s
            away = temp_c - min(max(temp_c, last[1] + min(going, 0.0)), last[1] + max(going, 0.0))
        jump_k = _LEAST_JUMP_SDS * noise_k
        most_k = (jump_k if jump_k > _LEAST_JUMP_K else _LEAST_JUMP_K) + _CHAMBER_K_PER_S * gap_s
        if -most_k <= away <= most_k:
            if self._held:
                self._held.clear()
            return self._pass((t_s, temp_c), 0)
        side = 1 if away > 0 else -1
        if side == self._moving and not self._held:
            return self._pass((t_s, temp_c), side)
        if self._held and (temp_c - last[1]) * side < _STAYS_SHARE * (self._held[0][1] - last[1]) * side:
            self._held.clear()
        if self._held and (self._held[-1][1] - last[1]) * side < 0:
            self._held.clear()
        if gap_s > max(_GIVES_UP_S, SLOW_LOGGER_STEPS * step_s):
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
        """Believe a reading: note it and the pace it came with, and return it."""
        last = self._last
        if last is not None and reading[0] > last[0]:
            self._pace_k_per_s = (reading[1] - last[1]) / (reading[0] - last[0])
        self._last, self._moving = reading, moving
        return (reading,)
