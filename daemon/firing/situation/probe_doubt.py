"""From which moment on the readings cannot be believed, and whether they can be believed again.

Four things make readings that say nothing of the kiln, though they look like temperatures: a reading that stands
still to its last digit, one colder than any room, a step to where no air in the kiln can be, and a fall that no kiln
makes. The first three are found by the watches, whose kinds say so (``Kind.disbelieves``). The last is found here.

A closed kiln cools no faster than the smallest fibre kiln without power, with a time constant of ``FASTEST_TIME_S``.
An open lid makes the air far colder at once, but never takes it below ``OPEN_SHARE`` of what brick and glass still
have above the room. A reading below that, for ``_LASTS_S``, is not of the kiln: the probe fell out, or its wires
touch outside.

A reading above ``HOTTEST_C`` is not of a kiln either. Where the readings climbed there as a kiln climbs, the chip is
set to another type of thermocouple: its scale was wrong from the first reading and stays so. Where they jumped there,
something was picked up, or the wires touch: that says nothing of the scale, and the readings before and after are the
kiln's. So a scale is false only after a climb, and no longer once the readings jump back.

Stretches without any reading are not counted here but in ``daemon.firing.trace.gaps``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import exp

from daemon.firing.plan.schedule import ASSUMED_ROOM_C
from daemon.firing.trace.gaps import Gap

FASTEST_TIME_S = 3600.0
"""The briskest small kiln falls without power with a time constant of about this [s].
[common practice: a small fibre kiln]"""
SLOWEST_TIME_S = 5 * 3600.0
"""The slowest falls with a time constant of about this [s]. [common practice: a large, well lined kiln]"""
OPEN_SHARE = 0.25
"""The air under an open lid keeps at least this share of what the kiln has above the room [1].
[chosen: below 0.34, the least in the bench's seven kilns with lid or vent wide open, at the end of the fall]"""
_LASTS_S = 30.0
"""Readings below what a kiln can have must last so long [s]. [chosen: twice as long as a spike]"""
_JUDGED_FROM_C = 150.0
"""A fall is judged where the kiln was hotter than this [°C]. [chosen: below it the room's own temperature, which is
not known, decides]"""
_STAYS_HOT_C = 200.0
"""From hotter than this nobody can say without a probe that the kiln cools at all: its elements may hold it there.
Below it no plan for glass holds for long [°C]. [chosen: below the drying and above the unloading of moulds]"""
HOTTEST_C = 1400.0
"""No electric kiln for glass gets hotter: its heating wire does not bear it [°C]. [from memory: the highest
temperature that makers of iron-chromium-aluminium wire state; it melts at some 1500 °C]"""
_FAR_K, _CLIMBS_IN_S, _FALLS_IN_S = 300.0, 60.0, 20.0
"""Readings that rose by the first [K] to HOTTEST_C within the second [s] jumped, and so did those that fell by it
within the third [s]. [derived: of 1000 °C/h, which a kiln with all its elements on hardly reaches, a type S table
makes some 5000 °C/h, by which 300 K take over 200 s; a lid opened on such a scale takes less long, hence the third]
"""
_MOST = 50
"""So many stretches are remembered, the latest ones. [chosen: bounds the memory]"""


class Cause(StrEnum):
    """Why readings are not believed."""

    FROZEN = "frozen"
    """The reading stands still to its last digit."""
    COLDER_THAN_ROOM = "colder-than-room"
    """The two wires of the probe are swapped."""
    FELL = "fell"
    """It fell as no kiln cools."""
    BLIND = "blind"
    """There is no reading."""


@dataclass(frozen=True, slots=True)
class FalseReading:
    """A reading that says nothing of the kiln: why, and where the kiln was before [°C], where the watch knows it."""

    cause: Cause
    from_c: float | None = None


@dataclass(frozen=True, slots=True)
class Disbelief:
    """A stretch of readings that say nothing of the kiln.

    Attributes
    ----------
    since_s
        When it began [s].
    from_c
        The last reading before it that was believed [°C].
    cause
        Why.
    to_s, to_c
        The first reading that is believed again [s, °C]; None while there is none.
    highest_after_c
        The highest reading since then [°C]; None while there is none.
    """

    since_s: float
    from_c: float
    cause: Cause
    to_s: float | None = None
    to_c: float | None = None
    highest_after_c: float | None = None

    def as_gap(self, now_s: float) -> Gap:
        """Return it as a stretch without a temperature."""
        return Gap(self.since_s, now_s if self.to_s is None else self.to_s, self.from_c, self.to_c)


class ProbeDoubt:
    """Sees every temperature of a firing, and what the watches say of it."""

    def __init__(self) -> None:
        self._past: list[Disbelief] = []
        self.present: Disbelief | None = None
        """The stretch that lasts; None while the readings are believed."""
        self._told: tuple[FalseReading, float] | None = None
        self._is_told = False
        """Whether the watches said so of the stretch that lasts; else the fall itself did."""
        self._kiln_c: float | None = None
        """What brick and glass have at least, by the last believed reading and the fall of the briskest kiln [°C]."""
        self._kiln_s = 0.0
        self._last: tuple[float, float] | None = None
        """The last believed reading [s, °C]."""
        self._below_since_s: float | None = None
        self._beyond_since_s: float | None = None
        """Since when the readings are beyond HOTTEST_C, having climbed there [s]; None where they are not."""
        self._beyond_s: float | None = None
        """The last reading beyond HOTTEST_C [s]."""
        self._far_s: float | None = None
        """The last reading far below it, by _FAR_K [s]."""
        self._has_jumped = False
        """Whether the readings jumped beyond HOTTEST_C, and have not been far below it since."""
        self._back_since_s: float | None = None
        """Since when the readings are back, by a jump from beyond HOTTEST_C [s]; None where they are not."""
        self.is_scale_false = False
        """Whether the readings climbed to where no kiln is, so that none of this firing is a temperature of it."""
        self.scale_false_since_s = 0.0
        """Since when that is known [s]; 0 where it never was."""
        self.hottest_c = 0.0
        """The hottest reading beyond HOTTEST_C [°C]; 0 without one."""

    def tell(self, false: FalseReading, since_s: float) -> None:
        """Take what a watch says of the reading that ``see`` takes next: it is false, since ``since_s``."""
        if self._told is None or since_s < self._told[1]:
            self._told = (false, since_s)

    def forget(self) -> None:
        """Begin anew: the probe was out of the kiln and is back."""
        self._close(None)
        self._kiln_c = self._last = self._below_since_s = self._told = None

    def see(self, t_s: float, temp_c: float) -> None:
        """Take the next temperature [s, °C]."""
        self._see_scale(t_s, temp_c)
        told, self._told = self._told, None
        if told is not None:
            if self.present is None:
                self._open(*told)
            self._is_told = True
            return
        if self.present is not None and self._is_told:
            self._close((t_s, temp_c))
        if self._is_below(t_s, temp_c):
            return
        if self.present is not None:
            self._close((t_s, temp_c))
        self._believe(t_s, temp_c)

    def _see_scale(self, t_s: float, temp_c: float) -> None:
        """Take a temperature that may be hotter than any kiln, or back from there: one spike is not enough."""
        if temp_c <= HOTTEST_C:
            self._see_back(t_s, temp_c)
            return
        self._back_since_s = None
        self._has_jumped = self._has_jumped or (self._far_s is not None and t_s - self._far_s < _CLIMBS_IN_S)
        if self._has_jumped:
            return
        if self._beyond_since_s is None:
            self._beyond_since_s = t_s
        self._beyond_s, self.hottest_c = t_s, max(self.hottest_c, temp_c)
        if t_s - self._beyond_since_s >= _LASTS_S and not self.is_scale_false:
            self.is_scale_false, self.scale_false_since_s = True, self._beyond_since_s

    def _see_back(self, t_s: float, temp_c: float) -> None:
        """Take a temperature that a kiln can have: the scale is right after all where the readings jumped back."""
        self._beyond_since_s = None
        if temp_c > HOTTEST_C - _FAR_K:
            return
        self._far_s, self._has_jumped = t_s, False
        if self._back_since_s is None and self._beyond_s is not None and t_s - self._beyond_s < _FALLS_IN_S:
            self._back_since_s = t_s
        if self._back_since_s is not None and t_s - self._back_since_s >= _LASTS_S:
            self.is_scale_false, self._beyond_s, self._back_since_s, self.hottest_c = False, None, None, 0.0

    def stretches(self, holes: Sequence[Gap]) -> tuple[Disbelief, ...]:
        """Return the stretches that were not believed, and those without a reading, in time order.

        Parameters
        ----------
        holes
            The stretches without a temperature, the one that lasts included (``GapMemory.holes``).
        """
        found = [*self._past, *([] if self.present is None else [self.present])]
        found += [Disbelief(hole.from_s, hole.from_c, Cause.BLIND, hole.to_s if hole.to_c is not None else None,
                            hole.to_c) for hole in holes]
        return tuple(sorted(found, key=lambda stretch: stretch.since_s))

    def _open(self, false: FalseReading, since_s: float) -> None:
        """Begin a stretch at ``since_s`` [s]."""
        _, last_c = self._last or (since_s, ASSUMED_ROOM_C)
        self.present = Disbelief(since_s, last_c if false.from_c is None else false.from_c, false.cause)
        self._below_since_s = None

    def _close(self, to: tuple[float, float] | None) -> None:
        """End the stretch that lasts, with the first reading believed again [s, °C]."""
        if self.present is not None and to is not None:
            ended = replace(self.present, to_s=to[0], to_c=to[1], highest_after_c=to[1])
            self._past = [*self._past[-_MOST + 1:], ended]
        self.present, self._is_told = None, False

    def _is_below(self, t_s: float, temp_c: float) -> bool:
        """Return whether the reading is below what the kiln can have, or may prove to be."""
        kiln_c = self._kiln_c
        if kiln_c is None or (kiln_c < _JUDGED_FROM_C and self.present is None):
            return False
        if temp_c >= self._floor_c(t_s, kiln_c):
            self._below_since_s = None
            return False
        if self.present is not None:
            return True
        if self._below_since_s is None:
            self._below_since_s = t_s
        if t_s - self._below_since_s >= _LASTS_S:
            self._open(FalseReading(Cause.FELL), self._below_since_s)
        return True

    def _floor_c(self, t_s: float, kiln_c: float) -> float:
        """Return below what the air of the kiln can't be [°C].

        Once the readings are not believed, the elements may hold a hot kiln where it was: it is taken to stay.
        """
        time_s = FASTEST_TIME_S
        if self.present is not None:
            time_s = float("inf") if kiln_c >= _STAYS_HOT_C else SLOWEST_TIME_S
        return ASSUMED_ROOM_C + OPEN_SHARE * (kiln_c - ASSUMED_ROOM_C) * exp(-(t_s - self._kiln_s) / time_s)

    def _believe(self, t_s: float, temp_c: float) -> None:
        """Take a reading as one of the kiln."""
        if self._kiln_c is None:
            self._kiln_c = temp_c
        else:
            left = max(0.0, 1.0 - (t_s - self._kiln_s) / FASTEST_TIME_S)
            self._kiln_c = max(temp_c, ASSUMED_ROOM_C + (self._kiln_c - ASSUMED_ROOM_C) * left)
        self._kiln_s, self._last = t_s, (t_s, temp_c)
        if self._past and temp_c > (self._past[-1].highest_after_c or temp_c - 1.0):
            self._past = [replace(past, highest_after_c=max(temp_c, past.highest_after_c or temp_c))
                          for past in self._past]
