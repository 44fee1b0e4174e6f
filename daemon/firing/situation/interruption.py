"""Where a firing was interrupted: remembered from what the watches find, or inferred across a gap in the readings.

When the power comes back the follower only sees a kiln that climbs. Which lines have to be keyed in depends on where
the plan was interrupted, which is known best at that moment. So it is remembered then.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import exp

from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart, part_after
from daemon.firing.situation.hold_measure import was_just_shut
from daemon.firing.situation.natural_fall import FASTEST_TIME_H
from daemon.firing.situation.view import Interruption, View

FALLEN_C = 15.0
"""A kiln this much below all that its plan could have brought it to has been without power [K].
[tuned: by trial on the bench, study not kept]"""
_FORGOTTEN_S = 24 * 3600.0
"""So long an interruption is remembered [s]. [chosen: a maker may come back to it the next day]"""
_SPELL_S = 1800.0
"""Trouble found this long after the last is other trouble; a climb this long after a gap has another reason [s].
[tuned: by trial on the bench, study not kept]"""
CLIMBED_C = 25.0
"""A kiln that fell in a gap and climbs this much afterwards was without power, whatever its plan had next [K].
[tuned: by trial on the bench, study not kept]"""
_SPIKE_READINGS, _SPIKE_LOST_S = 4, 120.0
"""So few low readings are outliers, not a depth the kiln was in; in a mean over so many seconds as few high ones do
not count. [tuned: random outliers, tests/daemon/firing/test_invariance.py]"""
_LATE_SHARE, _LATE_S = 1.2, 600.0
"""How much further than its pace a plan may have gone on in a gap: a factor of the gap, and seconds more.
[tuned: by trial on the bench, study not kept]"""


@dataclass(slots=True)
class _Before:
    """The last beat: where the kiln was, should a gap begin now."""

    t_s: float
    part: PlannedPart
    held_s: float
    temp_c: float


class InterruptionMemory:
    """Remembers the interruption that has not been made good yet."""

    def __init__(self) -> None:
        self._before: _Before | None = None
        self._broken: Interruption | None = None
        self._fell: Interruption | None = None
        """A fall in a gap that the plan may explain."""
        self._noted_s = float("-inf")

    @property
    def broken(self) -> Interruption | None:
        """Return the interruption that stands, as of the last beat."""
        return self._broken

    def see(self, view: View) -> Interruption | None:
        """Return the interruption that stands at this beat, if any."""
        before = self._before
        if before is not None and view.trail.unbroken_from_s > before.t_s:
            self._fell = _in_the_gap(view, before)
            if self._fell is not None and view.temp_c < _could_c(view, before) - FALLEN_C:
                self._remember_fall(view.t_s)
        elif self._fell is not None and _climbed(view):
            self._remember_fall(view.t_s)
        part = view.part
        self._before = None if part is None else _Before(
            view.t_s, part, max(0.0, view.t_s - view.part_start_s), view.temp_c)
        if self._broken is not None and _is_past(self._broken, view):
            self._broken = None
        return self._broken

    def _remember_fall(self, t_s: float) -> None:
        """Take the fall in the gap for an interruption: the plan does not explain it."""
        self._broken, self._fell, self._noted_s = self._fell, None, t_s

    def note(self, found: Iterable[Interruption], view: View) -> None:
        """Take the interruptions that the watches found at this beat."""
        for broken in found:
            known = self._broken
            ways = [view.parts[b.index].direction for b in (known, broken) if b is not None]
            sharper = len(ways) == 2 and ways[0] < 0 <= ways[1]
            if known is None or sharper or view.t_s - self._noted_s > _SPELL_S:
                self._broken = broken
            self._noted_s = view.t_s


def _is_past(broken: Interruption, view: View) -> bool:
    """Return whether an interruption matters no more: it is long ago, or the firing has gone on above it.

    So it has where a climb was broken off, or a hold that the plan climbs on from, and the kiln is clearly hotter.
    """
    ramp = next((part for part in view.parts[broken.index:] if part.part == "ramp"), None)
    goes_up = ramp is not None and ramp.direction > 0
    return view.t_s - broken.t_s > _FORGOTTEN_S or (goes_up and view.temp_c > broken.from_c + CLIMBED_C)


def _in_the_gap(view: View, before: _Before) -> Interruption | None:
    """Return the interruption that a gap in the readings may hide; None where the kiln did not fall in it."""
    if view.temp_c > before.temp_c - FALLEN_C:
        return None
    part, held_s = _settled(view, before)
    return Interruption(before.t_s, part.index, held_s, before.temp_c, back_s=view.trail.unbroken_from_s)


def _could_c(view: View, before: _Before) -> float:
    """Return the lowest that the plan itself may have brought the kiln to in the gap, as the probe reads [°C]."""
    away_s = view.trail.unbroken_from_s - before.t_s
    in_plan = replace(before, temp_c=before.temp_c - view.offset_k)
    return min(before.temp_c, _lowest_c(view.parts, in_plan, _LATE_SHARE * away_s + _LATE_S) + view.offset_k)


def _climbed(view: View) -> bool:
    """Return whether the kiln climbs soon after a gap in which it fell: no plan that had gone on to its fall does.

    What was read before a vent was shut is the air's, and tells nothing of a climb.
    """
    trail, back_s = view.trail, view.trail.unbroken_from_s
    first = trail.index_at(max(back_s, view.t_s - _SPELL_S))
    shut = max((i for i in range(first, len(trail.temps)) if was_just_shut(trail, i)), default=first)
    since, line = sorted(trail.temps[shut:]), view.line(_SPIKE_LOST_S, back_s)
    lowest_c = since[min(_SPIKE_READINGS, len(since) - 1)] if since else view.temp_c
    return view.t_s - back_s <= _SPELL_S and line is not None and line.mean_c > lowest_c + CLIMBED_C


def _settled(view: View, before: _Before) -> tuple[PlannedPart, float]:
    """Return the interrupted part and how much of it was held [s]; the follower comes to a hold late."""
    part = before.part
    after = part_after(view.parts, part.index)
    there = part.part == "ramp" and abs(before.temp_c - view.offset_k - part.to_c) < view.near_k
    if there and after is not None and after.part == "hold":
        return after, view.dwell_s(after, before.t_s)
    return part, before.held_s if part.part == "hold" else 0.0


def _lowest_c(parts: tuple[PlannedPart, ...], before: _Before, for_s: float) -> float:
    """Return the lowest that the plan itself may have brought within ``for_s`` [°C], all in the plan's terms."""
    left_s, lowest_c = for_s, before.temp_c
    for part in parts[before.part.index:]:
        gone_s = before.held_s if part is before.part else 0.0
        if part.direction > 0 and part is before.part:
            gone_s = (before.temp_c - part.from_c) / (part.to_c - part.from_c) * part.duration_s
        elif part.direction < 0:
            lowest_c = min(lowest_c, max(part.to_c, _fallen_to(part, lowest_c, left_s)))
        left_s -= max(0.0, part.duration_s - gone_s)
        if left_s <= 0:
            return lowest_c
    return _fallen_freely_to(lowest_c, left_s)  # the plan is done, and the power goes off


def _fallen_to(part: PlannedPart, from_c: float, for_s: float) -> float:
    """Return where a falling ramp may lead in ``for_s`` from ``from_c`` [°C]."""
    if part.rate_c_per_h is None:
        return _fallen_freely_to(from_c, for_s)
    return from_c + part.rate_c_per_h * for_s / 3600


def _fallen_freely_to(from_c: float, for_s: float) -> float:
    """Return where the fastest closed kiln falls in ``for_s`` from ``from_c`` [°C], by Newton's law of cooling."""
    return ASSUMED_ROOM_C + (from_c - ASSUMED_ROOM_C) * exp(-for_s / 3600 / FASTEST_TIME_H)
