"""What to key in after a firing broke off, from where the kiln is now, for this load.

The rules are the workshop's (common practice):

=====================  ==================================================================================
where it broke off     what is keyed in
=====================  ==================================================================================
on a climb             on with the step, no faster than a fused plate bears while it is brittle, then the rest
at the top             back up the same way, what is missing of the hold, then the rest
falling to the anneal  the anneal hold, whole, then the planned cooling
in the anneal, or in   back to the hold at the rate of a fused plate, the whole hold, then the planned
the range below it     cooling
further down           nothing to mend: on with the cooling
anywhere from the top  below PAST_MENDING_C: left closed; another day from cold at the rate of a fused
on                     plate to the anneal, whole, then the planned cooling
=====================  ==================================================================================

A plan without an anneal hold is given the one its glass and thickness ask for; of a plan that has one the hold is
never shorter, and the cooling never faster, than they ask for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import ceil

from daemon.firing.events import Line
from daemon.firing.plan.schedule import PlannedPart
from daemon.glass.advice import anneal as asked_anneal
from daemon.glass.advice import heating_limit
from daemon.glass.common_practice import brittle_below_c
from daemon.glass.materials import Glass

PAST_MENDING_C = 370.0
"""Below it a missed anneal waits for another day [°C]. [from memory: about 700 °F in the workshop]"""
NEAR_K = 8.0
"""This close to a target there is no way left to go [K]. [chosen: as closely as readings tell a target]"""
_AS_GOOD_AS_DONE = 0.2
"""A top that lacks less than this share of its hold is not gone back for. [chosen: the way back costs more haze]"""

class Place(StrEnum):
    """Where a firing broke off, and whether it can still be mended tonight."""

    CLIMB = "climb"
    TOP = "top"
    ABOVE = "above"
    ANNEAL = "anneal"
    COOLING = "cooling"
    LATE = "late"
    COLD = "cold"


@dataclass(frozen=True, slots=True)
class Mending:
    """Where it broke off and the lines that mend it."""

    place: Place
    lines: tuple[Line, ...]
    step: int
    """The plan's step it broke off in."""
    to_c: float
    """That step's target [°C]."""
    asked_s: float = 0.0
    """The hold that broke off, as planned [s]; 0 where it was no hold."""
    held_s: float = 0.0
    """How much of it was held [s]."""
    is_brittle: bool = False
    """Whether it was soft when it broke off and is brittle now: the plan's own climb is too fast for it."""
    is_gentler: bool = False
    """Whether the anneal in the lines is longer or slower than the plan's."""
    here_c: float | None = None
    """Where the kiln is, as its controller reads [°C]."""


class Mender:
    """Knows plan and load; says what mends them.

    Parameters
    ----------
    parts
        The plan as it is run; without any there is nothing to go back to.
    anneal
        Its anneal hold, if it has one.
    glass, thickness_mm, faces
        The load.
    """

    def __init__(self, parts: Sequence[PlannedPart], anneal: PlannedPart | None, glass: Glass,
                 thickness_mm: float, faces: int) -> None:
        self._parts = tuple(parts)
        self._anneal = anneal
        self._glass = glass
        self.strain_point_c = glass.strain_point_c
        """Below it stress that is in the glass stays [°C]."""
        self.refire_c_per_h, _ = heating_limit(glass, thickness_mm, faces)
        """How fast a fused plate of the load may climb while it is brittle [°C/h]."""
        self.brittle_c = brittle_below_c(glass)
        """Below it the glass is brittle [°C]."""
        self._asked = asked_anneal(glass, thickness_mm, faces)
        self._last_climb = max((part.index for part in self._parts if part.direction > 0), default=-1)

    def mend(self, undone: int, held_s: float, here_c: float, *, lowest_c: float | None = None,
             from_c: float | None = None) -> Mending | None:
        """Return what mends a firing that broke off.

        Parameters
        ----------
        undone
            Index of the planned part that was not done.
        held_s
            How much of it was held, where it is a hold [s].
        here_c
            Where the kiln is now, as its controller reads [°C].
        lowest_c
            How low it fell, where it has climbed again since; as ``here_c`` where None [°C].
        from_c
            Where it broke off, as far as that is known; glass that was soft there is one plate now [°C].

        Returns
        -------
        Mending or None
            None where there is no such part.
        """
        if not 0 <= undone < len(self._parts):
            return None
        part = self._parts[undone]
        place = self._place(part, held_s, here_c if lowest_c is None else min(here_c, lowest_c))
        held, asked = (min(held_s, part.duration_s), part.duration_s) if part.part == "hold" else (0.0, 0.0)
        lines = self._lines(place, part, held, here_c)
        own = next((other.rate_c_per_h for other in self._parts if other.step == part.step), None)
        slower = lines[:1] and lines[0].rate_c_per_h is not None and (own is None or lines[0].rate_c_per_h < own)
        soft = max(part.from_c, part.from_c if from_c is None else from_c) > self.brittle_c
        return Mending(place, lines, part.step, part.to_c, asked, held,
                       is_brittle=bool(slower) and soft, is_gentler=self._is_gentler, here_c=here_c)

    def anneal_lines(self, here_c: float | None = None) -> tuple[Line, ...]:
        """Return the anneal that the glass needs: from above it, or from ``here_c`` [°C] where that is below."""
        rate = self.refire_c_per_h if here_c is not None and here_c < self._hold_c else None
        return (Line(rate, self._hold_c, self._hold_s), *self._cooling())

    def _place(self, part: PlannedPart, held_s: float, here_c: float) -> Place:
        """Return where in the firing ``part`` broke off, with the kiln at ``here_c`` [°C]."""
        if part.index <= self._last_climb:
            return Place.CLIMB
        anneal = self._anneal
        after = part.index > anneal.index if anneal is not None else part.from_c <= self._hold_c
        if part.part == "hold" and part is not anneal and part.index == self._last_climb + 1 and (
                part.duration_s - held_s > max(60.0, _AS_GOOD_AS_DONE * part.duration_s)):
            return Place.TOP
        if after and part.from_c <= self._glass.band_low_c:
            return Place.LATE
        if here_c < PAST_MENDING_C:
            return Place.COLD
        if after:
            return Place.COOLING
        return Place.ANNEAL if here_c < self._hold_c + NEAR_K else Place.ABOVE

    def _lines(self, place: Place, part: PlannedPart, held_s: float, here_c: float) -> tuple[Line, ...]:
        """Return what is keyed in from ``here_c`` [°C] on, by the module's table of places."""
        if place in (Place.CLIMB, Place.TOP):
            return (*self._back_up(part, held_s, here_c), *self._gentle_rest(self._after(part)))
        if place is Place.LATE:
            return self._rest(part.index)
        return self.anneal_lines(here_c)

    def _back_up(self, part: PlannedPart, held_s: float, here_c: float) -> list[Line]:
        """Return the way back to where it broke off, with what is missing of its hold."""
        own = [other for other in self._parts if other.step == part.step]
        ramp = next((other for other in own if other.part == "ramp"), None)
        hold = next((other for other in own if other.part == "hold"), None)
        missing_s = max(60.0, 60.0 * ceil((hold.duration_s - held_s) / 60.0)) if hold is not None else 0.0
        rate = ramp.rate_c_per_h if ramp is not None and ramp.direction > 0 else None
        if here_c > part.to_c + NEAR_K:  # it is above already: there is no climb left, only the hold
            return [Line(None, part.to_c, missing_s)] if missing_s else []
        if here_c >= min(self.brittle_c, part.to_c) - NEAR_K:
            return [Line(rate, part.to_c, missing_s)]
        slowly = self.refire_c_per_h if rate is None else min(rate, self.refire_c_per_h)
        if part.to_c <= self.brittle_c or slowly == rate:
            return [Line(slowly, part.to_c, missing_s)]
        return [Line(slowly, self.brittle_c), Line(rate, part.to_c, missing_s)]

    def _after(self, part: PlannedPart) -> int:
        """Return the index of the first part of the next step."""
        return next((other.index for other in self._parts if other.step > part.step), len(self._parts))

    @property
    def _hold_c(self) -> float:
        """Return where the anneal is held [°C]: as planned, else as the glass asks."""
        return self._anneal.to_c if self._anneal is not None else self._asked.hold_c

    @property
    def _hold_s(self) -> float:
        """Return how long the anneal is held [s]: as planned, and never shorter than the load asks."""
        asked_s = self._asked.hold_min * 60.0
        return asked_s if self._anneal is None else max(self._anneal.duration_s, asked_s)

    @property
    def _is_gentler(self) -> bool:
        """Return whether the load asks for a longer hold or a slower cooling than the plan has."""
        if self._anneal is None:
            return False
        return self._hold_s > self._anneal.duration_s or self._cooling() != self._rest(self._anneal.index + 1)

    def _cooling(self) -> tuple[Line, ...]:
        """Return the lines after the anneal hold: as planned, and never faster than the load asks."""
        if self._anneal is None:
            return tuple(Line(stage.rate_c_per_h, stage.to_c) for stage in self._asked.stages)
        own = self._rest(self._anneal.index + 1)
        before = (self._anneal.to_c, *(line.to_c for line in own))
        return tuple(Line(self._borne(line.rate_c_per_h, from_c, line.to_c), line.to_c, line.hold_s)
                     for from_c, line in zip(before, own, strict=False))

    def _gentle_rest(self, first: int) -> tuple[Line, ...]:
        """Return the plan's lines from part ``first`` on, with the anneal that the load needs."""
        if self._anneal is None or first > self._anneal.index:
            return self._rest(first)
        *before, there = self._rest(first, self._anneal.index + 1)
        return (*before, Line(there.rate_c_per_h, there.to_c, self._hold_s), *self._cooling())

    def _borne(self, rate_c_per_h: float | None, from_c: float, to_c: float) -> float | None:
        """Return the plan's own rate of a fall, or what the load asks for where that is slower [°C/h].

        Only where setting glass sees it: further down the plan's own rate stands.
        """
        above_c = max(from_c, self._asked.hold_c)
        for stage in self._asked.stages[:-1]:
            if min(from_c, above_c) - max(to_c, stage.to_c) > NEAR_K:
                asked = stage.rate_c_per_h
                rate_c_per_h = asked if rate_c_per_h is None else min(rate_c_per_h, asked)
            above_c = stage.to_c
        return rate_c_per_h

    def _rest(self, first: int, end: int | None = None) -> tuple[Line, ...]:
        """Return the plan's own lines from part ``first`` on, up to ``end``."""
        lines: list[Line] = []
        for part in self._parts[first:end]:
            if part.part == "ramp":
                lines.append(Line(None if part.rate_c_per_h is None else abs(part.rate_c_per_h), part.to_c))
            elif lines and lines[-1].to_c == part.to_c:
                lines[-1] = Line(lines[-1].rate_c_per_h, part.to_c, lines[-1].hold_s + part.duration_s)
            else:
                lines.append(Line(None, part.to_c, part.duration_s))
        return tuple(lines)
