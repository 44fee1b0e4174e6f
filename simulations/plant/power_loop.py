"""How a kiln controller turns its set point into power: a PID law and a contactor switched in time proportion."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf


@dataclass(frozen=True, slots=True)
class Tuning:
    """How a controller was set up.

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
    hysteresis_k
        Above 0 the controller only switches: on this far below the set point, off this far above it [K].
    forgets_integral
        The integral begins at 0 with every ramp and hold.
    starts_from_reading
        A ramp's set point starts from what is read, not from the last target.
    moves_every_s
        The set point is moved in steps, this often [s]; 0 is with every tick.
    hold_from_k
        A hold begins when the kiln is this near its target [K]; infinite is with the set point, None is ``wait_k``.
    counts_within_k
        A hold's clock stands while the kiln is further than this from the target [K].
    is_whole_degrees
        It takes whether it has arrived from a display of whole degrees.
    is_by_minutes
        It was given minutes to the target, worked out from room temperature, where the plan has a rate.
    """

    band_k: float = 22.0
    integral_s: float = 420.0
    derivative_s: float = 25.0
    feed_per_k: float = 5.0e-4
    wait_k: float = 8.0
    arrive_k: float = 1.5
    cycle_s: float = 30.0
    stretch: float = 1.0
    hysteresis_k: float = 0.0
    forgets_integral: bool = False
    starts_from_reading: bool = False
    moves_every_s: float = 0.0
    hold_from_k: float | None = None
    counts_within_k: float = inf
    is_whole_degrees: bool = False
    is_by_minutes: bool = False


class PowerLoop:
    """PID control of the elements.

    Parameters
    ----------
    tuning
        How the controller was set up.
    room_c
        What it takes for the room's temperature [°C].
    """

    def __init__(self, tuning: Tuning, room_c: float) -> None:
        self._tuning = tuning
        self._room_c = room_c
        self._integral = 0.0
        self._last_c: float | None = None
        self._cycle_at_s = -inf
        self._duty = 0.0

    def forget(self) -> None:
        """Lose the integral, as a controller without power does."""
        self._integral = 0.0

    def idle(self, here_c: float) -> None:
        """Give no power with the sensor at ``here_c`` [°C]."""
        self._duty = 0.0
        self._last_c = here_c

    def duty(self, t_s: float, dt_s: float, set_point_c: float, here_c: float) -> float:
        """Return the share of the next ``dt_s`` [s] for which the contactor is on, 0 to 1.

        u = e/b + I - D·(dT/dt)/b + f·(set point - room), with e the error, b the proportional band, D the
        derivative time and f the learned feed; I grows by e/b·dt/integral time while u is between 0 and 1, and
        decays otherwise, so that it does not wind up. The duty is chosen anew at the start of each cycle.
        """
        tuning = self._tuning
        if tuning.hysteresis_k:
            return self._switch(t_s, set_point_c - here_c)
        last_c = here_c if self._last_c is None else self._last_c
        self._last_c = here_c
        error_k = set_point_c - here_c
        slope_k_per_s = (here_c - last_c) / dt_s
        wanted = (
            error_k / tuning.band_k + self._integral - slope_k_per_s * tuning.derivative_s / tuning.band_k
            + tuning.feed_per_k * (set_point_c - self._room_c)
        )
        if 0.0 < wanted < 1.0:
            self._integral += error_k / tuning.band_k * dt_s / tuning.integral_s
        else:
            self._integral *= 1.0 - dt_s / tuning.integral_s
        if t_s >= self._cycle_at_s + tuning.cycle_s:
            self._cycle_at_s = t_s
            self._duty = min(1.0, max(0.0, wanted))
        on_s = self._duty * tuning.cycle_s - (t_s - self._cycle_at_s)
        return min(1.0, max(0.0, on_s / dt_s))

    def _switch(self, t_s: float, error_k: float) -> float:
        """Return 1 or 0: on below the hysteresis, off above it, and no oftener than once a cycle."""
        wanted = 1.0 if error_k > self._tuning.hysteresis_k else 0.0 if error_k < -self._tuning.hysteresis_k else None
        if wanted is not None and wanted != self._duty and t_s >= self._cycle_at_s + self._tuning.cycle_s:
            self._cycle_at_s, self._duty = t_s, wanted
        return self._duty
