"""How this kiln falls without power, and since when its elements heat again.

A closed kiln without power falls about as Newton's law of cooling says: at a rate in proportion to its distance from
the room. The time constant differs from 1 h (a small fibre kiln) to 5 h and more (heavy brick). It is learned in the
plan's own free falls. A fall that has become slower than half of that rate is one in which the elements heat again.
"""

from __future__ import annotations

from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart
from daemon.regression import Line

FASTEST_TIME_H, SLOWEST_TIME_H = 1.0, 5.0
"""The fastest and the slowest kiln fall without power with time constants of about this [h].
[common practice: a small kiln of fibre, and a large, well lined one]"""
_KEEPS_TIME_H = 2.0
"""A ramp faster than a kiln with this time constant cools at its end is one that most kilns do not keep [h].
[common practice: 1 to 5 h]"""
POWERED_SHARE = 0.5
"""A fall slower than this share of the natural one is heated. [chosen: half way between the two]"""
_LEARNS_FASTER, _LEARNS_SLOWER = 0.02, 0.2
"""Share of a beat's rate in the learned one, where the kiln falls faster than known and where it falls more slowly
[1]. A vent that stands open for some minutes makes a fall faster that is none of the closed kiln's. [chosen: memories
of a quarter of an hour, and of two minutes]"""
_CLEARLY_ABOVE_K = 25.0
"""A planned free fall is without power while the kiln is so far above its end [K]. [chosen: more than most probes are
off]"""
_HEATED_S = 600.0
"""A kiln that was heated for so long has ended its fall, however fast it falls later [s].
[chosen: longer than the air comes back under a vent that is shut again]"""
_COLD_K = 100.0
"""Nearer to the room than this nothing is learned [K]. [chosen: the room's own temperature is not known]"""


class NaturalFall:
    """Learns the natural fall and remembers when the last one ended; sees every beat."""

    def __init__(self) -> None:
        self._per_h: float | None = None
        self.ended_s: float | None = None
        """When the kiln last fell at its natural rate [s]; None before it ever did."""
        self.is_caught = False
        """Whether the kiln has been heated since its last planned free fall, however it falls later."""

    @property
    def per_h(self) -> float | None:
        """Return the natural rate as a share of the distance from the room, per hour; None before it is known."""
        return self._per_h

    def rate_c_per_h(self, temp_c: float) -> float | None:
        """Return how fast the kiln falls without power at ``temp_c`` [°C], in °C/h; None before it is known."""
        return None if self._per_h is None else self._per_h * max(0.0, temp_c - ASSUMED_ROOM_C)

    def see(self, t_s: float, temp_c: float, line: Line | None, part: PlannedPart | None, *,
            is_under_air: bool) -> None:
        """Take a beat: the temperature [°C], the line through the last minutes, and the part the kiln is in.

        A free fall of the plan teaches the rate, but not ``is_under_air``, while a vent has just let the air step
        down: it falls, and comes back, faster than the closed kiln. Near the end of the free fall, and after it, the
        kiln still falls freely until it was slower than POWERED_SHARE of what was learned for _HEATED_S; where
        nothing was learned, of what the slowest kiln does.
        """
        if line is None or temp_c < ASSUMED_ROOM_C + _COLD_K:
            return
        per_h, known = -line.slope_c_per_s * 3600 / (temp_c - ASSUMED_ROOM_C), self._per_h
        is_planned = part is not None and is_unpowered(part) and temp_c > part.to_c + _CLEARLY_ABOVE_K
        if is_planned and per_h >= POWERED_SHARE / SLOWEST_TIME_H:
            self.ended_s, self.is_caught = t_s, False
            if not is_under_air:
                share = _LEARNS_FASTER if known is not None and per_h > known else _LEARNS_SLOWER
                self._per_h = per_h if known is None else known + share * (per_h - known)
        elif per_h < POWERED_SHARE * (known or 1 / SLOWEST_TIME_H):
            self.is_caught = True
        elif self.ended_s is not None and t_s - self.ended_s < _HEATED_S:
            self.ended_s = t_s


def is_unpowered(fall: PlannedPart) -> bool:
    """Return whether the plan lets the kiln fall as fast as it goes: freely, or by a rate no kiln keeps."""
    if fall.direction >= 0:
        return False
    natural_c_per_h = (fall.to_c - ASSUMED_ROOM_C) / _KEEPS_TIME_H
    return fall.rate_c_per_h is None or -fall.rate_c_per_h >= natural_c_per_h
