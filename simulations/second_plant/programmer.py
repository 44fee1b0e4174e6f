"""The part of a controller that runs a program: where the set-point is, when a hold begins, what a cut does."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random
from typing import Literal

from simulations.plant.controller import Segment
from simulations.truth import TruePart

Clock = Literal["arrival", "near", "reached", "band"]
AfterCut = Literal["goes-on", "begins-again", "stays-off"]
FREE_NEAR_K = 1.5
"""A free ramp ends so near its target whatever the hold's clock [K]. [chosen: it has no set-point to arrive]"""


@dataclass(frozen=True, slots=True)
class Habits:
    """How a controller runs its program.

    Attributes
    ----------
    clock
        When a hold begins: as the set-point arrives; as the kiln comes near; as it reaches the target; or as it comes
        near, and then counts only while it is near.
    near_k
        What is near.
    waits_k
        A climb's set-point waits while the kiln is further behind; 0 waits for nothing.
    waits_falling
        Whether it waits in a fall too.
    starts_at_kiln
        Whether a ramp starts where the kiln is; else where the last step's target was.
    set_every_s
        The set-point is renewed so often.
    whole_degrees
        Whether it knows its sensor to whole degrees only.
    after_cut
        What it does when the mains is back.
    in_minutes
        Whether ramps are keyed as whole minutes to the target.
    """

    clock: Clock
    near_k: float
    waits_k: float
    waits_falling: bool
    starts_at_kiln: bool
    set_every_s: float
    whole_degrees: bool
    after_cut: AfterCut
    in_minutes: bool = False


def random_habits(rng: Random, sort: str, after_cut: AfterCut | None = None) -> Habits:
    """Return a controller's habits at random.

    One whose regulator stands low or saws never asks for the target itself, or it would never come there.
    """
    clocks: tuple[Clock, ...] = ("arrival", "near", "near", "reached", "band")
    clock = rng.choice(clocks)
    if sort != "pid" and clock in ("reached", "band"):
        clock = "near"
    waits_k = rng.choice((0.0, rng.uniform(8, 25), rng.uniform(8, 25)))
    if sort == "proportional":
        waits_k = max(waits_k, 25.0) if waits_k else 0.0
    backs: tuple[AfterCut, ...] = ("goes-on", "goes-on", "begins-again")
    back = rng.choice(backs) if after_cut is None else after_cut
    return Habits(
        clock, rng.uniform(2, 5) if sort == "pid" else rng.uniform(9, 14), waits_k, rng.random() < 0.3,
        rng.random() < 0.7, rng.choice((5.0, 5.0, 60.0)), rng.random() < 0.5, back, rng.random() < 0.2,
    )


@dataclass(slots=True)
class Meddling:
    """What makes the running part other than written, as maker and faults ask."""

    rate_factor: float = 1.0
    hold_factor: float = 1.0
    hold_off_k: float = 0.0
    is_stuck: bool = False


class Programmer:
    """Runs a program from ``start`` on.

    Parameters
    ----------
    program
        The segments keyed in.
    habits
        How it runs them.
    on_part
        Called with step, part and time whenever a part begins.
    """

    def __init__(self, program: Sequence[Segment], habits: Habits,
                 on_part: Callable[[int, str, float], None] = lambda step, part, t_s: None) -> None:
        self.program, self.habits, self.on_part = program, habits, on_part
        self.meddling = Meddling()
        self.ran: list[TruePart] = []
        self.index = -1
        self.part = "off"
        self.target_c = 0.0
        """Where the set-point is just now [°C], between its renewals too."""
        self._shown_c = 0.0
        self._renewed_s = -1e9
        self._from_c = 0.0
        self._left_s = 0.0
        self._rate_c_per_s: float | None = None

    @property
    def is_running(self) -> bool:
        """Return whether it follows its program."""
        return self.part in ("ramp", "hold")

    def start(self, t_s: float, measured_c: float) -> None:
        """Begin at the first segment, whatever ran before."""
        self._end(t_s)
        self.index = 0
        self._begin_ramp(t_s, measured_c, measured_c)

    def stop(self, t_s: float) -> None:
        """Stop for good."""
        self._end(t_s)
        self.part = "off"

    def resume(self, measured_c: float) -> None:
        """Take up the running part after a cut, a ramp from where the kiln is."""
        if self.part == "ramp" and self._rate_c_per_s is not None:
            self.target_c = self._shown_c = measured_c

    def skip(self, t_s: float, measured_c: float) -> None:
        """Leave the running part for the next, as the skip key does."""
        if self.is_running:
            self._next(t_s, measured_c)

    def step(self, t_s: float, measured_c: float, dt_s: float) -> float | None:
        """Move on to ``t_s`` [s]; return the set-point [°C], None where it runs nothing."""
        if not self.is_running:
            return None
        if not self.meddling.is_stuck:
            if self.part == "ramp":
                self._ramp(t_s, measured_c, dt_s)
            else:
                self._hold(t_s, measured_c, dt_s)
        if not self.is_running:
            return None
        if t_s - self._renewed_s >= self.habits.set_every_s:
            self._shown_c, self._renewed_s = self.target_c, t_s
        return self._shown_c + (self.meddling.hold_off_k if self.part == "hold" else 0.0)

    def _ramp(self, t_s: float, measured_c: float, dt_s: float) -> None:
        """Move the set-point of a ramp on, and end it where its hold begins."""
        to_c, rate = self.program[self.index].to_c, self._rate_c_per_s
        is_climb = to_c > self._from_c
        if rate is None:
            self.target_c = to_c
        elif not self._waits(measured_c, is_climb=is_climb):
            move_k = rate * self.meddling.rate_factor * dt_s
            self.target_c = min(to_c, self.target_c + move_k) if is_climb else max(to_c, self.target_c - move_k)
        if self.target_c == to_c and self._is_there(measured_c, is_climb=is_climb):
            if self.program[self.index].hold_s > 0:
                self._end(t_s)
                self._begin(t_s, "hold")
                self._left_s = self.program[self.index].hold_s
            else:
                self._next(t_s, measured_c)

    def _waits(self, measured_c: float, *, is_climb: bool) -> bool:
        """Return whether the set-point waits for the kiln."""
        if not self.habits.waits_k or not (is_climb or self.habits.waits_falling):
            return False
        behind_k = self.target_c - measured_c
        return (behind_k if is_climb else -behind_k) > self.habits.waits_k

    def _is_there(self, measured_c: float, *, is_climb: bool) -> bool:
        """Return whether the kiln is where a hold, or the next ramp, begins."""
        to_c, clock = self.program[self.index].to_c, self.habits.clock
        short_k = to_c - measured_c if is_climb else measured_c - to_c
        if self._rate_c_per_s is None:
            return short_k <= max(FREE_NEAR_K, 0.0 if clock == "reached" else self.habits.near_k)
        if clock == "arrival" or self.index == len(self.program) - 1:
            return True
        return short_k <= (1.0 if clock == "reached" else self.habits.near_k)

    def _hold(self, t_s: float, measured_c: float, dt_s: float) -> None:
        """Count a hold down, and end it."""
        off_k = abs(measured_c - self.program[self.index].to_c - self.meddling.hold_off_k)
        if self.habits.clock != "band" or off_k <= self.habits.near_k + 3.0:
            self._left_s -= dt_s
        planned_s = self.program[self.index].hold_s
        if self._left_s <= planned_s * (1.0 - self.meddling.hold_factor):
            self._next(t_s, measured_c)

    def _next(self, t_s: float, measured_c: float) -> None:
        """Begin the next segment, or end the program."""
        last_c = self.program[self.index].to_c
        self._end(t_s)
        self.index += 1
        if self.index >= len(self.program):
            self.part = "over"
        else:
            self._begin_ramp(t_s, last_c, measured_c)

    def _begin_ramp(self, t_s: float, last_c: float, measured_c: float) -> None:
        """Begin the ramp of the segment, from where the kiln is or the last one ended."""
        segment = self.program[self.index]
        self._from_c = self.target_c = measured_c if self.habits.starts_at_kiln else last_c
        self._rate_c_per_s = None if segment.rate_c_per_h is None else segment.rate_c_per_h / 3600
        if self.habits.in_minutes and self._rate_c_per_s is not None:
            away_k = abs(segment.to_c - last_c)
            self._rate_c_per_s = max(away_k, 1.0) / (60.0 * max(1, round(away_k / self._rate_c_per_s / 60)))
        self._renewed_s = -1e9
        self._begin(t_s, "ramp")

    def _begin(self, t_s: float, part: str) -> None:
        """Note that a part begins."""
        self.part, self.meddling = part, Meddling(is_stuck=False)
        self.ran.append(TruePart(self.index + 1, part, t_s, None))
        self.on_part(self.index + 1, part, t_s)

    def _end(self, t_s: float) -> None:
        """Note that the running part ends."""
        if self.is_running and self.ran:
            last = self.ran[-1]
            self.ran[-1] = TruePart(last.step, last.part, last.start_s, t_s)
