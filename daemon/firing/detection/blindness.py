"""How long there has been no temperature, or no reading at all; and readings that swapped wires give.

A missing temperature is never taken for a cold kiln. Missing rows count as well: a row is missing where the next one
is later than a few usual steps of this logger. Whether the thermocouple was at fault, or there was no reading at all,
decides which kind of alert tells it (sensor_fault.py, readings_missing.py).
"""

from __future__ import annotations

from typing import NamedTuple

from daemon.firing.events import Rank, Sample

LOOK_AFTER_S, WAKE_AFTER_S = 30.0, 240.0
"""So long without a temperature is worth a look, and may be worth a wake [s]. [tuned: by trial on the bench, study
not kept]"""
_STEPS = 3.0
"""Rows are missing where the next one is later than this many usual steps. [tuned: by trial on the bench, study not
kept]"""
_SLOWER_TIMES, _LEARNS_SHARE = 1.3, 0.05
"""The usual step grows by so much at a time where a logger is set slower, and otherwise takes up this share of what a
gap differs from it. [tuned: by trial on the bench, study not kept]"""
BELOW_ROOM_K, COLDEST_ROOM_C = 12.0, 15.0
"""A kiln never falls so far below where it began, or below a cool studio where it began warmer; a probe with swapped
wires does [K, °C]. [tuned: by trial on the bench, study not kept]"""
BELOW_FOR_S = 60.0
"""It must stay there for so long [s]. [tuned: by trial on the bench, study not kept]"""
NO_READING = (None, "silent")
"""Faults of an entry behind which there is no reading at all; the others are the thermocouple's."""


CODED_BELOW_C = 60.0
"""A reading of exactly 0 after one above this is no temperature [°C]: no kiln cools so between two readings. Some
loggers and chips write 0.0 where they have none. [chosen: above any room, below anything that is fired]"""


def is_coded_zero(temp_c: float | None, last_c: float | None) -> bool:
    """Return whether a reading stands for "no reading": exactly 0 °C after ``last_c``, the last real one [°C]."""
    return temp_c == 0.0 and last_c is not None and last_c > CODED_BELOW_C


class Outage(NamedTuple):
    """A segment without a temperature that has lasted LOOK_AFTER_S."""

    since_s: float
    lasted_s: float
    """How long there has been no temperature [s]."""
    last_c: float | None
    """The last temperature before it [°C]; None where there was none."""
    is_fault: bool
    """Whether the thermocouple was found to be at fault; else the probe does not answer."""
    is_over: bool
    """Whether this reading has a temperature again: rows were missing before it."""

    def rank(self, *, dangerous: bool) -> Rank:
        """Return the rank it is told at; blindness is ``dangerous`` where a missed minute can cost the piece."""
        return Rank.WAKE if dangerous and not self.is_over and self.lasted_s >= WAKE_AFTER_S else Rank.LOOK


class SwappedLeads(NamedTuple):
    """Readings below any room, as swapped leads give in a warming kiln."""

    since_s: float
    temp_c: float


class Blindness:
    """Counts how long there has been no temperature; sees every entry of a firing."""

    def __init__(self) -> None:
        self._since_s: float | None = None
        self._is_fault = False
        self._last_s: float | None = None
        self._last_c: float | None = None
        self._interval_s: float | None = None
        self._no_room_c: float | None = None
        """What no room is as cold as, by the first temperature [°C]; None before it."""
        self._below_since_s: float | None = None

    def see(self, sample: Sample) -> Outage | SwappedLeads | None:
        """Return the outage or the swapped wires that this entry shows; None where there is neither."""
        before_s, self._last_s = self._last_s, sample.t_s
        hole_from_s = before_s if before_s is not None and self._is_hole(sample.t_s - before_s) else None
        if sample.temp_c is not None:
            self._since_s = None
            last_c, self._last_c = self._last_c, sample.temp_c
            if hole_from_s is not None:
                return Outage(hole_from_s, sample.t_s - hole_from_s, last_c, is_fault=False, is_over=True)
            return self._swapped(sample.t_s, sample.temp_c)
        is_fault = sample.fault not in NO_READING
        if self._since_s is None:
            self._since_s = sample.t_s if hole_from_s is None else hole_from_s
            self._is_fault = False
        self._is_fault = self._is_fault or is_fault
        if sample.t_s - self._since_s < LOOK_AFTER_S:
            return None
        return Outage(self._since_s, sample.t_s - self._since_s, self._last_c, is_fault=self._is_fault, is_over=False)

    def _swapped(self, t_s: float, temp_c: float) -> SwappedLeads | None:
        """Return since when the readings stand below any room, where they have done so long enough."""
        if self._no_room_c is None:
            self._no_room_c = min(temp_c, COLDEST_ROOM_C) - BELOW_ROOM_K
        if temp_c > self._no_room_c:
            self._below_since_s = None
            return None
        if self._below_since_s is None:
            self._below_since_s = t_s
        return None if t_s - self._below_since_s < BELOW_FOR_S else SwappedLeads(self._below_since_s, temp_c)

    def _is_hole(self, gap_s: float) -> bool:
        """Return whether the time since the last row is a hole, and learn the usual time from it [s].

        The first gap can only be believed. A logger that is set slower is believed after a few.
        """
        if gap_s == self._interval_s:
            return False  # as nearly always; nothing is learned either
        usual_s = gap_s if self._interval_s is None else self._interval_s
        hole = gap_s > max(LOOK_AFTER_S, _STEPS * usual_s)
        slower_s = _SLOWER_TIMES * usual_s if hole else usual_s + _LEARNS_SHARE * (gap_s - usual_s)
        self._interval_s = min(gap_s, slower_s)
        return hole
