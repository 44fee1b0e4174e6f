"""How hot the kiln would still be, had its vents stayed shut.

Through open vents the air falls faster than brick and glass can. Once they are shut it comes back, without any power,
to no more than a closed kiln would have by then. What gets hotter than that is heated.
"""

from __future__ import annotations

from math import exp

from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart
from daemon.firing.situation.natural_fall import is_unpowered
from daemon.regression import Line

_VENTED_TIMES, _HEATED_K = 1.3, 10.0
"""A fall so many times faster than the natural one is none of a closed kiln [1]; one so much hotter than a closed one
would be is heated [K]. [chosen: more than the natural rate differs over one night; as near as its end can be told]"""
_LEARNED_BEATS = 45
"""After so many beats of a free fall that has ended, its rate is the closed kiln's. [derived: the memory of a quarter
of an hour in which NaturalFall learns, in beats of 20 s]"""
_COLD_K = 100.0
"""Nearer to the room than this nothing is told [K]. [chosen: the room's own temperature is not known]"""


class ClosedKiln:
    """Follows the closed kiln while the air is colder than it; sees every beat.

    Its rate is that of the free falls of the plan that have ended. One that still goes on may itself be vented.
    """

    def __init__(self) -> None:
        self.temp_c: float | None = None
        """What the closed kiln would have [°C]; None where the kiln fell no faster, or was heated since."""
        self._per_h: float | None = None
        self._fall: int | None = None
        """The part that fell freely last, and for how many beats."""
        self._beats = 0
        self._seen_s = 0.0

    def see(self, t_s: float, temp_c: float, line: Line | None, part: PlannedPart | None,
            natural_per_h: float | None) -> None:
        """Take a beat.

        Parameters
        ----------
        t_s, temp_c
            The second, and the temperature [°C].
        line
            The line through the last minutes.
        part
            The part of the plan that the kiln is in.
        natural_per_h
            How fast the kiln falls without power, per hour, as a share of its distance from the room (NaturalFall).
        """
        self._fall_on(t_s, temp_c)
        if self._beats >= _LEARNED_BEATS and (part is None or part.index != self._fall):
            self._per_h, self._beats = natural_per_h, 0
        if part is not None and is_unpowered(part):
            self._fall, self._beats = part.index, self._beats + 1 if part.index == self._fall else 1
        above_k = temp_c - ASSUMED_ROOM_C
        if line is None or above_k < _COLD_K or self._per_h is None or self.temp_c is not None:
            return
        if -line.slope_c_per_s * 3600 > _VENTED_TIMES * self._per_h * above_k:
            self.temp_c = temp_c

    def _fall_on(self, t_s: float, temp_c: float) -> None:
        """Let the closed kiln fall by its own rate since the last beat; what is hotter than that is heated."""
        passed_h, self._seen_s = (t_s - self._seen_s) / 3600, t_s
        if self.temp_c is None or self._per_h is None:
            return
        self.temp_c = ASSUMED_ROOM_C + (self.temp_c - ASSUMED_ROOM_C) * exp(-self._per_h * passed_h)
        if temp_c > self.temp_c + _HEATED_K:
            self.temp_c = None
