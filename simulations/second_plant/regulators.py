"""How a controller makes power out of set-point and measured temperature: three sorts, each with its own faults."""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random
from typing import Protocol

SMOOTHED_S = 30.0
"""Time constant of the temperature whose derivative is taken [s]. [common practice: a filtered derivative]"""


class Regulator(Protocol):
    """Makes a duty of 0 to 1 out of set-point and measured temperature."""

    def duty(self, setpoint_c: float, measured_c: float, dt_s: float) -> float:
        """Return the share of full power for the next ``dt_s`` [s]."""


@dataclass(slots=True)
class Pid:
    """A PID controller whose integral moves only while the power is not at its stop.

    Parameters
    ----------
    band_k
        Error that asks for full power.
    integral_s, derivative_s
        Integral and derivative time; the derivative is of the measured temperature, smoothed.
    """

    band_k: float
    integral_s: float
    derivative_s: float
    _integral: float = field(init=False, default=0.0)
    _smooth_c: float | None = field(init=False, default=None)

    def duty(self, setpoint_c: float, measured_c: float, dt_s: float) -> float:
        """Return the share of full power for the next ``dt_s`` [s]."""
        error_k = setpoint_c - measured_c
        before_c = measured_c if self._smooth_c is None else self._smooth_c
        self._smooth_c = before_c + (measured_c - before_c) * min(1.0, dt_s / SMOOTHED_S)
        slope_k_per_s = (self._smooth_c - before_c) / dt_s
        wanted = self._integral + (error_k - self.derivative_s * slope_k_per_s) / self.band_k
        if (wanted < 1.0 or error_k < 0) and (wanted > 0.0 or error_k > 0):
            moved = self._integral + error_k * dt_s / self.integral_s / self.band_k
            self._integral = min(1.0, max(0.0, moved))
        return min(1.0, max(0.0, wanted))


@dataclass(slots=True)
class Proportional:
    """Power in proportion to the error: a hold stands low by what its duty asks, less a fixed bias."""

    band_k: float
    bias: float

    def duty(self, setpoint_c: float, measured_c: float, dt_s: float) -> float:
        """Return the share of full power for the next ``dt_s`` [s]."""
        return min(1.0, max(0.0, self.bias + (setpoint_c - measured_c) / self.band_k))


@dataclass(slots=True)
class OnOff:
    """All or nothing, with hysteresis, changed no sooner than ``rests_s`` after the last change."""

    width_k: float
    rests_s: float
    _is_on: bool = field(init=False, default=False)
    _since_s: float = field(init=False, default=1e9)

    def duty(self, setpoint_c: float, measured_c: float, dt_s: float) -> float:
        """Return 1 or 0 for the next ``dt_s`` [s]."""
        self._since_s += dt_s
        error_k = setpoint_c - measured_c
        wants = error_k > -self.width_k / 2 if self._is_on else error_k > self.width_k / 2
        if wants != self._is_on and self._since_s >= self.rests_s:
            self._is_on, self._since_s = wants, 0.0
        return float(self._is_on)


@dataclass(frozen=True, slots=True)
class RegulatorBuild:
    """Which sort, and its figures in the order the sort takes them."""

    sort: str
    figures: tuple[float, ...]

    def build(self) -> Regulator:
        """Return a regulator that has not run yet."""
        if self.sort == "on-off":
            return OnOff(*self.figures)
        return Proportional(*self.figures) if self.sort == "proportional" else Pid(*self.figures)


def random_regulator(rng: Random) -> RegulatorBuild:
    """Return a regulator at random: mostly PID, well tuned, hot or slack."""
    luck = rng.random()
    if luck < 0.15:
        return RegulatorBuild("proportional", (rng.uniform(8, 20), rng.uniform(0.0, 0.25)))
    if luck < 0.30:
        return RegulatorBuild("on-off", (rng.uniform(0.5, 3), rng.choice((0.0, 0.0, 10.0))))
    tuned = {
        "good": (rng.uniform(18, 35), rng.uniform(500, 900), rng.uniform(10, 40)),
        "hot": (rng.uniform(12, 18), rng.uniform(100, 250), rng.uniform(0, 10)),
        "slack": (rng.uniform(40, 80), rng.uniform(700, 1500), rng.uniform(0, 20)),
    }
    return RegulatorBuild("pid", tuned[rng.choice(("good", "good", "good", "hot", "slack"))])
