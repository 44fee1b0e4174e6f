"""A kiln controller with its own program, sensor and habits.

It ramps a set point, waits where the kiln can't keep up (a "guaranteed hold"), starts a hold when the
kiln has arrived, and drives a contactor in time proportion. The program is its own type: the bench
shares nothing with what it tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, pi, sin
from typing import NamedTuple

_VENT_ABOVE_C = 200.0
"""Below this a ramp that is keyed in too fast waits for the kiln, as any does."""
_SWING_S = 480.0
"""Period of a badly tuned hold [s]; common practice for a small kiln with a slow sensor."""


class Segment(NamedTuple):
    """One line keyed into the controller."""

    rate_c_per_h: float | None
    """Unsigned [°C/h]; None is as fast as it goes, or power off when falling."""
    to_c: float
    hold_s: float = 0.0


@dataclass(slots=True)
class Ran:
    """A ramp or hold as the controller really ran it; the truth a follower is judged by."""

    step: int
    """Which segment, counted from 1."""
    part: str
    """"ramp" or "hold"."""
    start_s: float
    end_s: float | None = None


@dataclass(frozen=True, slots=True)
class Habits:
    """How this controller was set up.

    Attributes
    ----------
    band_k
        Proportional band: full power this far below the set point [K].
    integral_s, derivative_s
        Integral and derivative time [s].
    feed_per_k
        Share of full power it has learned to need per degree above room [1/K].
    wait_k
        The set point waits when the kiln lags by more than this [K].
    arrive_k
        A free ramp has arrived within this of its target [K].
    cycle_s
        Period of the time-proportioned contactor [s]; a solid-state relay has a few seconds or less.
    stretch
        Climbing ramps take this many times as long as they are keyed in to: a controller that waits.
    """

    band_k: float = 22.0
    integral_s: float = 420.0
    derivative_s: float = 25.0
    feed_per_k: float = 5.0e-4
    wait_k: float = 8.0
    arrive_k: float = 1.5
    cycle_s: float = 30.0
    stretch: float = 1.0


class Controller:
    """Follows a program of segments from when it is started.

    Parameters
    ----------
    program
        The segments keyed in, in order.
    habits
        How it was set up.
    room_c
        What it takes for the room's temperature [°C].
    """

    def __init__(
        self, program: Sequence[Segment], habits: Habits | None = None, room_c: float = 20.0,
    ) -> None:
        self.program = tuple(program)
        self.habits = habits or Habits()
        self.room_c = room_c
        self.ran: list[Ran] = []
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
        """Holds where it is and counts nothing."""
        self.vent_share = 0.0
        """How far the vent is opened to keep a falling ramp that natural cooling can't, 0 to 1."""
        self.hold_factor = 1.0
        """The hold that runs now lasts this share of what it should."""
        self._index = 0
        self._held_s = 0.0
        self._from_c = room_c
        self._sum = 0.0
        self._last_c: float | None = None
        self._cycle_at_s = -inf
        self._duty = 0.0

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
        self._sum = 0.0

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
        if self.part is None:
            self.vent_share = self._duty = 0.0
            self._last_c = here_c
            return 0.0
        if not self.frozen:
            if self.part == "ramp":
                self._ramp(t_s, dt_s, here_c)
            elif self._held_s >= self.program[self._index].hold_s * self.hold_factor:
                self._next_segment(t_s)
            self._held_s += dt_s
        if self.part == "hold" and (self.hold_off_k or self.swing_k):
            swing_k = self.swing_k * sin(2 * pi * self._held_s / _SWING_S)
            self.set_point_c = self.program[self._index].to_c + self.hold_off_k + swing_k
        return self._drive(t_s, dt_s, here_c) if self.part is not None else 0.0

    def _ramp(self, t_s: float, dt_s: float, here_c: float) -> None:
        segment = self.program[self._index]
        up = segment.to_c >= self._from_c
        sign = 1.0 if up else -1.0
        behind = sign * (self.set_point_c - here_c)
        if segment.rate_c_per_h is None:
            self.set_point_c = segment.to_c
            if sign * (segment.to_c - here_c) <= self.habits.arrive_k:
                self._enter_hold(t_s)
            return
        forced = not up and self.cooling_factor > 1.0 and self.set_point_c > _VENT_ABOVE_C
        self.vent_share = min(1.0, max(0.0, (behind - 1.0) / 6.0)) if forced else 0.0
        if behind > self.habits.wait_k and not forced:
            return
        rate = segment.rate_c_per_h * (self.heating_factor / self.habits.stretch if up else self.cooling_factor)
        self.set_point_c += sign * rate * dt_s / 3600.0
        if sign * (self.set_point_c - segment.to_c) >= 0.0:
            self.set_point_c = segment.to_c
            if sign * (segment.to_c - here_c) <= self.habits.wait_k:
                self._enter_hold(t_s)

    def _enter_ramp(self, t_s: float, here_c: float) -> None:
        self.set_point_c = self._from_c = here_c
        if self.program[self._index].to_c == here_c:
            self._enter_hold(t_s)
        else:
            self._open("ramp", t_s)

    def _enter_hold(self, t_s: float) -> None:
        segment = self.program[self._index]
        self.set_point_c = segment.to_c
        self.vent_share = 0.0
        if segment.hold_s > 0:
            self._open("hold", t_s)
        else:
            self._next_segment(t_s)

    def _next_segment(self, t_s: float) -> None:
        self._close(t_s)
        reached = self.program[self._index].to_c + self.hold_off_k
        self._index += 1
        if self.done:
            self.part = None
        else:
            self._enter_ramp(t_s, reached)

    def _open(self, part: str, t_s: float) -> None:
        self._close(t_s)
        self.hold_factor, self.hold_off_k, self.swing_k, self._held_s = 1.0, 0.0, 0.0, 0.0
        self.part, self.part_since_s = part, t_s
        self.ran.append(Ran(self.step, part, t_s))

    def _close(self, t_s: float) -> None:
        self.vent_share = 0.0
        if self.ran and self.ran[-1].end_s is None:
            self.ran[-1].end_s = t_s
            if self.ran[-1].start_s == t_s:
                self.ran.pop()

    def _drive(self, t_s: float, dt_s: float, here_c: float) -> float:
        """Return the contactor's share of the step: the duty is chosen anew each cycle."""
        habits = self.habits
        last = here_c if self._last_c is None else self._last_c
        self._last_c = here_c
        error = self.set_point_c - here_c
        slope = (here_c - last) / dt_s
        wanted = (
            error / habits.band_k + self._sum - slope * habits.derivative_s / habits.band_k
            + habits.feed_per_k * (self.set_point_c - self.room_c)
        )
        if 0.0 < wanted < 1.0:
            self._sum += error / habits.band_k * dt_s / habits.integral_s
        else:
            self._sum *= 1.0 - dt_s / habits.integral_s
        if t_s >= self._cycle_at_s + habits.cycle_s:
            self._cycle_at_s = t_s
            self._duty = min(1.0, max(0.0, wanted))
        on_s = self._duty * habits.cycle_s - (t_s - self._cycle_at_s)
        return min(1.0, max(0.0, on_s / dt_s))
