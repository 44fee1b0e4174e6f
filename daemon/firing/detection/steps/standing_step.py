"""A step down in which the readings stand: how deep it is, and when the kiln is taken to be where it is read."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, inf

from daemon.firing.detection.steps.left_open import LeftOpen
from daemon.firing.detection.steps.step_onset import Onset
from daemon.firing.plan.schedule import ASSUMED_ROOM_C
from daemon.firing.situation.natural_fall import FASTEST_TIME_H, POWERED_SHARE
from daemon.firing.trace.recent import Trail

_STAYS_SHARE, _BACK_WITHIN_S = 0.85, 240.0
"""A step that has lost more than the rest of this share within so long [1, s] is coming back, however slowly a thick
sheath does. One that came back by a part and stands there does not: elements heat against an open lid.
[chosen: more than noise, less than half a recovery; a sheath that takes 20 min to come back is none in use]"""
GIVE_UP_S = 1200.0
"""A step that stands this long is where the kiln now is [s], unless it is told at rank wake (see StepDown).
[tuned: by trial on the bench, study not kept]"""
_SHUT_S, _SHUT_K = 180.0, 25.0
"""A reading that rose by so much within so long comes back under a lid that was shut [s, K]. [chosen: as in
HoldMeasure; no kiln climbs at 500 °C/h]"""


@dataclass(slots=True)
class StandingStep:
    """A step down that the readings stand in."""

    onset: Onset
    began_s: float
    """When it was seen first [s]; its onset is earlier."""
    deepest_k: float
    open: LeftOpen
    """Whether what was opened is still open."""
    back_s: float = -inf
    """When it was last on its way back [s]."""
    may_be_vent: bool = False
    not_air: bool = False
    """Whether it is deeper than any air is cold."""
    is_still: bool = False
    """Whether the readings stood still right after it, as no air does under a vent."""
    has_stayed: bool = False
    """Whether it has lasted with no vent to explain it."""
    is_elsewhere: bool = False
    """Whether the readings are no longer taken for those of brick and glass."""
    is_judged: bool = False
    """Whether that was asked, after GIVE_UP_S."""
    natural_per_h: float | None = None
    """How fast the kiln fell without power before it, per hour, as a share of its distance from the room."""

    def drop_k(self, t_s: float, temp_c: float) -> float:
        """Return how far the reading is below where it was going [K]; a failed probe says nothing of a slope."""
        slope = 0.0 if self.not_air else min(self.onset.c_per_s, 0.0)
        return self.onset.from_c + slope * (t_s - self.onset.since_s) - temp_c

    def _deepest_lately_k(self, t_s: float, trail: Trail) -> float:
        """Return how far the readings of the last _BACK_WITHIN_S were below where they were going, at most [K]."""
        first = trail.index_at(max(self.onset.since_s, t_s - _BACK_WITHIN_S))
        return max((self.drop_k(*reading) for reading in zip(trail.times[first:], trail.temps[first:], strict=True)),
                   default=0.0)

    def is_given_up(self, t_s: float, temp_c: float, trail: Trail) -> bool:
        """Return whether it stands so long that the kiln is where it is read; wires that touch go on touching.

        Or whether a vent that was forgotten has been shut: by then the kiln is far below where it was.
        """
        if self.may_be_vent and self.has_stayed and comes_back(t_s, temp_c, trail):
            return True
        if t_s - self.onset.since_s <= GIVE_UP_S or self.not_air or self.is_elsewhere:
            return False
        return not self.has_stayed or temp_c >= self.closed_c(t_s) or comes_back(t_s, temp_c, trail)

    def open_c(self, t_s: float) -> float:
        """Return what brick and glass have at ``t_s`` at the least, where the lid was open since the step [°C].

        They cool by themselves, as fast as the fastest kiln. After an hour and a half they may read what would have
        been no air of this kiln at first.
        """
        return ASSUMED_ROOM_C + (self.onset.from_c - ASSUMED_ROOM_C) * exp(
            -(t_s - self.onset.since_s) / 3600 / FASTEST_TIME_H)

    def closed_c(self, t_s: float) -> float:
        """Return what a closed kiln without power would read at ``t_s`` at the most [°C].

        Its fall slows down, so it is taken for half as fast as it was before (POWERED_SHARE); where that is not
        known, for that of the fastest kiln.
        """
        per_h = 1 / FASTEST_TIME_H if self.natural_per_h is None else POWERED_SHARE * self.natural_per_h
        return ASSUMED_ROOM_C + (self.onset.from_c - ASSUMED_ROOM_C) * exp(
            -per_h * (t_s - self.onset.since_s) / 3600)

    def is_coming_back(self, t_s: float, drop_k: float, trail: Trail) -> bool:
        """Return whether it has become smaller lately, by clearly more than noise."""
        return self._deepest_lately_k(t_s, trail) - drop_k > (1.0 - _STAYS_SHARE) * self.deepest_k


def comes_back(t_s: float, temp_c: float, trail: Trail) -> bool:
    """Return whether the readings rise as only the air does, once the lid over it is shut."""
    lately = trail.temps[trail.index_at(t_s - _SHUT_S):]
    return bool(lately) and min(temp_c, *trail.temps[-2:]) > min(lately) + _SHUT_K
