"""The gaps of a firing: times without a temperature, long enough to hide something."""

from __future__ import annotations

from typing import NamedTuple

from daemon.firing.plan.near_target import near_k

WORTH_S = 120.0
"""A shorter gap hides nothing that a piece would remember [s]; readings are joined by a straight line there.
[tuned: by trial on the bench, study not kept]"""
MOST = 500
"""So many gaps are remembered, the latest ones. [chosen: bounds the memory]"""


class Gap(NamedTuple):
    """From the last temperature before a gap [s, °C] to the first one after it; ``to_c`` is None while it lasts."""

    from_s: float
    to_s: float
    from_c: float
    to_c: float | None

    def hides(self, level_c: float) -> bool:
        """Return whether the kiln may have fallen to ``level_c`` [°C] and stood there unseen."""
        margin_k = near_k(known=False)
        return self.from_c > level_c - margin_k and (self.to_c is None or self.to_c < level_c + margin_k)

    def within(self, from_s: float, to_s: float) -> float:
        """Return how much of it lies between two times [s]."""
        return max(0.0, min(self.to_s, to_s) - max(self.from_s, from_s))


class GapMemory:
    """Takes every temperature; remembers the gaps between them, the latest MOST."""

    def __init__(self) -> None:
        self._gaps: list[Gap] = []
        self._last: tuple[float, float] | None = None

    def see(self, t_s: float, temp_c: float, longest_step_s: float) -> None:
        """Take the next temperature [s, °C]; a slow logger has a gap only beyond ``longest_step_s``."""
        if self._last is not None and t_s - self._last[0] > WORTH_S and t_s - self._last[0] > longest_step_s:
            self._gaps = [*self._gaps[-MOST + 1:], Gap(self._last[0], t_s, self._last[1], temp_c)]
        self._last = (t_s, temp_c)

    def holes(self, now_s: float) -> tuple[Gap, ...]:
        """Return the gaps up to ``now_s``, with the one that still lasts."""
        if self._last is None or now_s - self._last[0] <= WORTH_S:
            return tuple(self._gaps)
        return (*self._gaps, Gap(self._last[0], now_s, self._last[1], None))
