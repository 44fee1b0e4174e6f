"""A kiln controller: it ramps a set point through its program, with its own sensor and its own ways.

It waits where the kiln can't keep up (a "guaranteed hold"), starts a hold when the kiln has arrived, and opens a
vent where a falling ramp was keyed in faster than the kiln cools. The program is its own type: the bench shares
nothing with what it tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi, sin
from typing import NamedTuple

from simulations.plant.power_loop import PowerLoop, Tuning

_VENT_ABOVE_C = 200.0
"""Below this a falling ramp that is keyed in too fast waits for the kiln, as any does [°C].
[chosen: what matters is the anneal band, far above]"""
_VENT_FROM_K = 1.0
_VENT_OVER_K = 6.0
"""The vent begins to open when the kiln is the first behind the set point, and opens fully over the second [K].
[chosen: the fall then keeps to the wrong figure within a few kelvin]"""
ROOM_C = 20.0
"""Minutes to the first target are worked out from here [°C]. [common practice: room temperature]"""
_SWING_S = 480.0
"""Period of a badly tuned hold [s]. [common practice: a small kiln with a slow sensor]"""


class Segment(NamedTuple):
    """One line keyed into the controller."""

    rate_c_per_h: float | None
    """Unsigned [°C/h]; None is as fast as it goes, or power off when falling."""
    to_c: float
    hold_s: float = 0.0


@dataclass(slots=True)
class RanPart:
    """A ramp or hold as the controller really ran it; the truth a follower is judged by."""

    step: int
    """Which segment, counted from 1."""
    part: str
    """"ramp" or "hold"."""
    start_s: float
    end_s: float | None = None


class Controller:
    """Follows a program of segments from when it is started.

    Parameters
    ----------
    program
        The segments keyed in, in order.
    tuning
        How it was set up.
    room_c
        What it takes for the room's temperature [°C].
    """

    def __init__(
        self, program: Sequence[Segment], tuning: Tuning | None = None, room_c: float = 20.0,
    ) -> None:
        self.program = tuple(program)
        self.tuning = tuning or Tuning()
        self.ran: list[RanPart] = []
        self.set_point_c = room_c
        self.part: str | None = None
        """"ramp", "hold", or None: not started, done, or without power."""
        self.part_since_s = 0.0
        self.cooling_factor = 1.0
        """Falling ramps run this many times their rate: a wrong figure keyed in."""
        self.heating_factor = 1.0
        """Climbing ramps likewise."""
        self.hold_off_k = 0.0
        """The hold that runs now is kept this far off its target [K]."""
        self.swing_k = 0.0
        """The set point of holds swings by this much up and down [K]: badly tuned."""
        self.frozen = False
        """It stands still: neither set point nor time of the hold goes on."""
        self.vent_share = 0.0
        """How far the vent is opened to keep a falling ramp that natural cooling can't, 0 to 1."""
        self.hold_factor = 1.0
        """The hold that runs now lasts this share of what it should."""
        self._index = 0
        self._held_s = 0.0
        self._from_c = self._read_c = room_c
        self._unmoved_s = 0.0
        self._power = PowerLoop(self.tuning, room_c)

    @property
    def step(self) -> int:
        """Return the number of the segment that runs, counted from 1."""
        return self._index + 1

    @property
    def done(self) -> bool:
        """Return whether the whole program has run."""
        return self._index >= len(self.program)

    def start(self, t_s: float, here_c: float) -> None:
        """Begin the program, or begin it again, at ``t_s`` with the kiln at ``here_c`` [°C]."""
        self._close(t_s)
        self._index = 0
        self._enter_ramp(t_s, here_c)

    def lose_power(self, t_s: float) -> None:
        """Forget the set point; the place in the program is remembered."""
        self._close(t_s)
        self.part = None
        self._power.forget()

    def resume(self, t_s: float, here_c: float) -> None:
        """Go back to the segment that was running: ramp to its target, then its whole hold."""
        if not self.done:
            self._enter_ramp(t_s, here_c)

    def next_part(self, t_s: float, dt_s: float) -> None:
        """Leave the part that runs for the next one, as the skip key does.

        A hold left in the step after it began never was: it is taken out of the truth.
        """
        if self.ran and self._held_s <= dt_s and self.part == "hold":
            self.ran.pop()
        if self.part == "ramp":
            self._enter_hold(t_s)
        elif self.part == "hold":
            self._next_segment(t_s)

    def tick(self, t_s: float, dt_s: float, here_c: float) -> float:
        """Return the duty, 0 to 1, for the next ``dt_s`` [s], with the sensor at ``here_c`` [°C]."""
        self._read_c = here_c
        if self.part is None:
            self.vent_share = 0.0
            self._power.idle(here_c)
            return 0.0
        if not self.frozen:
            if self.part == "ramp":
                self._ramp(t_s, dt_s, here_c)
            elif self._held_s >= self.program[self._index].hold_s * self.hold_factor:
                self._next_segment(t_s)
            if self._counts(here_c):
                self._held_s += dt_s
        if self.part == "hold" and (self.hold_off_k or self.swing_k):
            swing_k = self.swing_k * sin(2 * pi * self._held_s / _SWING_S)
            self.set_point_c = self.program[self._index].to_c + self.hold_off_k + swing_k
        return self._power.duty(t_s, dt_s, self.set_point_c, here_c) if self.part is not None else 0.0

    def _ramp(self, t_s: float, dt_s: float, here_c: float) -> None:
        """Move the set point, unless it waits for the kiln; begin the hold when the kiln has arrived."""
        segment = self.program[self._index]
        up = segment.to_c >= self._from_c
        sign = 1.0 if up else -1.0
        behind_k = sign * (self.set_point_c - here_c)
        shown_c = float(round(here_c)) if self.tuning.is_whole_degrees else here_c
        if segment.rate_c_per_h is None:
            self.set_point_c = segment.to_c
            if sign * (segment.to_c - shown_c) <= self.tuning.arrive_k:
                self._enter_hold(t_s)
            return
        forced = not up and self.cooling_factor > 1.0 and self.set_point_c > _VENT_ABOVE_C
        self.vent_share = min(1.0, max(0.0, (behind_k - _VENT_FROM_K) / _VENT_OVER_K)) if forced else 0.0
        if behind_k > self.tuning.wait_k and not forced:
            return
        rate_c_per_h = segment.rate_c_per_h * self._minutes_factor() * (
            self.heating_factor / self.tuning.stretch if up else self.cooling_factor)
        self._unmoved_s += dt_s
        if self._unmoved_s < self.tuning.moves_every_s:
            return
        self.set_point_c += sign * rate_c_per_h * self._unmoved_s / 3600.0
        self._unmoved_s = 0.0
        if sign * (self.set_point_c - segment.to_c) >= 0.0:
            self.set_point_c = segment.to_c
            near_k = self.tuning.wait_k if self.tuning.hold_from_k is None else self.tuning.hold_from_k
            if sign * (segment.to_c - shown_c) <= near_k:
                self._enter_hold(t_s)

    def _counts(self, here_c: float) -> bool:
        """Return whether the clock of the part goes on: a hold's may stand while the kiln is off its target."""
        return self.part != "hold" or abs(self.set_point_c - here_c) <= self.tuning.counts_within_k

    def _minutes_factor(self) -> float:
        """Return how many times its rate a ramp runs that was keyed in as minutes from where it should begin."""
        if not self.tuning.is_by_minutes:
            return 1.0
        planned_from_c = self.program[self._index - 1].to_c if self._index else ROOM_C
        to_c = self.program[self._index].to_c
        return abs((to_c - self._from_c) / (to_c - planned_from_c)) if to_c != planned_from_c else 1.0

    def _enter_ramp(self, t_s: float, here_c: float) -> None:
        """Begin the ramp of the present segment from ``here_c`` [°C], or its hold where there is nothing to ramp."""
        self.set_point_c = self._from_c = here_c
        if self.program[self._index].to_c == here_c:
            self._enter_hold(t_s)
        else:
            self._open("ramp", t_s)

    def _enter_hold(self, t_s: float) -> None:
        """Begin the hold of the present segment, or the next segment where there is none."""
        segment = self.program[self._index]
        self.set_point_c = segment.to_c
        self.vent_share = 0.0
        if segment.hold_s > 0:
            self._open("hold", t_s)
        else:
            self._next_segment(t_s)

    def _next_segment(self, t_s: float) -> None:
        """Begin the next segment from where the last one's target was, or end the program."""
        self._close(t_s)
        reached_c = self.program[self._index].to_c + self.hold_off_k
        self._index += 1
        if self.done:
            self.part = None
        else:
            self._enter_ramp(t_s, self._read_c if self.tuning.starts_from_reading else reached_c)

    def _open(self, part: str, t_s: float) -> None:
        """Write down that a part begins; what was wrong with the last hold is over."""
        self._close(t_s)
        self.hold_factor, self.hold_off_k, self.swing_k, self._held_s = 1.0, 0.0, 0.0, 0.0
        self.part, self.part_since_s = part, t_s
        self._unmoved_s = 0.0
        if self.tuning.forgets_integral:
            self._power.forget()
        self.ran.append(RanPart(self.step, part, t_s))

    def _close(self, t_s: float) -> None:
        """Write down that the running part ends; one without length never was."""
        self.vent_share = 0.0
        if self.ran and self.ran[-1].end_s is None:
            self.ran[-1].end_s = t_s
            if self.ran[-1].start_s == t_s:
                self.ran.pop()
