"""How this kiln falls without power, and since when its elements heat again.

A closed kiln without power falls about as Newton's law of cooling says: at a rate in proportion to its distance from
the room. The time constant differs from 1 h (a small fibre kiln) to 5 h and more (heavy brick). It is learned in the
plan's own free falls. A fall that has become slower than half of that rate is one in which the elements heat again.
"""

from __future__ import annotations

from math import exp

from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart
from daemon.regression import Line

FASTEST_TIME_H, SLOWEST_TIME_H = 1.0, 5.0
"""The fastest and the slowest kiln fall without power with time constants of about this [h].
[common practice: a small kiln of fibre, and a large, well lined one]"""
_KEEPS_TIME_H = 2.0
"""A ramp faster than a kiln with this time constant cools at its end is one that most kilns do not keep [h].
[common practice: 1 to 5 h]"""
_POWERED_SHARE = 0.5
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
_VENTED_TIMES, _HEATED_K = 1.3, 10.0
"""A fall so many times faster than the natural one is none of a closed kiln [1]; one so much hotter than a closed one
would be is heated [K]. [chosen: more than the natural rate differs over one night; as near as its end can be told]"""
_COLD_K = 100.0
"""Nearer to the room than this nothing is learned [K]. [chosen: the room's own temperature is not known]"""


class NaturalFall:
    """Learns the natural fall and remembers when the last one ended; sees every beat."""

    def __init__(self) -> None:
        self._per_h: float | None = None
        self.ended_s: float | None = None
        """When the kiln last fell at its natural rate [s]; None before it ever did."""
        self.closed_c: float | None = None
        """What this kiln would have by now, had it stayed closed [°C], after it fell faster than a closed one.

        Through open vents the air falls faster than brick and glass can. Once they are shut it comes back without any
        power, to no more than this. None where the kiln fell no faster, or was heated since.
        """
        self._closed_per_h = self._seen_s = 0.0

    def rate_c_per_h(self, temp_c: float) -> float | None:
        """Return how fast the kiln falls without power at ``temp_c`` [°C], in °C/h; None before it is known."""
        return None if self._per_h is None else self._per_h * max(0.0, temp_c - ASSUMED_ROOM_C)

    def see(self, t_s: float, temp_c: float, line: Line | None, part: PlannedPart | None) -> None:
        """Take a beat: the temperature [°C], the line through the last minutes, and the part the kiln is in.

        A free fall of the plan teaches the rate. Near its end, and after it, the kiln still falls freely until it
        was slower than _POWERED_SHARE of what was learned for _HEATED_S.
        """
        self._follow_closed(t_s, temp_c)
        if line is None or temp_c < ASSUMED_ROOM_C + _COLD_K:
            return
        per_h, known = -line.slope_c_per_s * 3600 / (temp_c - ASSUMED_ROOM_C), self._per_h
        if self.closed_c is None and known is not None and per_h > _VENTED_TIMES * known:
            self.closed_c, self._closed_per_h = temp_c, known
        is_planned = part is not None and is_unpowered(part) and temp_c > part.to_c + _CLEARLY_ABOVE_K
        if is_planned and per_h >= _POWERED_SHARE / SLOWEST_TIME_H:
            share = _LEARNS_FASTER if known is not None and per_h > known else _LEARNS_SLOWER
            self._per_h, self.ended_s = per_h if known is None else known + share * (per_h - known), t_s
        elif known is not None and self.ended_s is not None and per_h >= _POWERED_SHARE * known and (
                t_s - self.ended_s < _HEATED_S):
            self.ended_s = t_s


    def _follow_closed(self, t_s: float, temp_c: float) -> None:
        """Let the closed kiln fall by its own rate since the last beat; what is hotter than that is heated."""
        passed_h, self._seen_s = (t_s - self._seen_s) / 3600, t_s
        if self.closed_c is None:
            return
        self.closed_c = ASSUMED_ROOM_C + (self.closed_c - ASSUMED_ROOM_C) * exp(-self._closed_per_h * passed_h)
        if temp_c > self.closed_c + _HEATED_K:
            self.closed_c = None


def is_unpowered(fall: PlannedPart) -> bool:
    """Return whether the plan lets the kiln fall as fast as it goes: freely, or by a rate no kiln keeps."""
    if fall.direction >= 0:
        return False
    natural_c_per_h = (fall.to_c - ASSUMED_ROOM_C) / _KEEPS_TIME_H
    return fall.rate_c_per_h is None or -fall.rate_c_per_h >= natural_c_per_h
