"""How fast a standing stress dies away at a temperature, and what a hold was worth."""

from __future__ import annotations

from math import exp, log

from daemon.glass.materials import Glass

SHARE = 0.05
"""What a whole hold leaves of a standing stress: one twentieth [1]. [common practice]"""
_FINE_K = 2.0
"""Longest part of a piece over which one relaxation time is taken [K].

[derived: the midpoint rule is then off by (0.12 / K · 2 K)² / 24 = 0.2 %]
"""


def relaxation_time_s(glass: Glass, temp_c: float) -> float:
    """Return the time in which an equal two-way stress falls to 1/e [s] at ``temp_c`` [°C].

    τ = 6(1−ν)η/E, the Maxwell rule for equal two-way stress with an elastic bulk (re-derived; at 10^12
    Pa·s, 70 GPa and ν 0.22 it gives 66.9 s). Infinite where the viscosity curve ends.
    """
    if temp_c <= glass.viscosity.t0_c + 1.0:
        return float("inf")
    log_eta = glass.viscosity.log10_pa_s(temp_c)
    if log_eta > 60:
        return float("inf")
    return float(6 * (1 - glass.poisson) * 10**log_eta / (glass.youngs_modulus_gpa * 1e9))


def log_speed(glass: Glass) -> tuple[float, float, float]:
    """Return (head, b, t0) of ln(1/τ) = head − b/(T − t0), τ [s], T and t0 [°C]; see relaxation_time_s."""
    curve = glass.viscosity
    head = log(glass.youngs_modulus_gpa * 1e9 / (6 * (1 - glass.poisson))) - curve.a * log(10.0)
    return head, curve.b * log(10.0), curve.t0_c


def minutes_to_relax(glass: Glass, temp_c: float, share: float = SHARE) -> float:
    """Return how long a hold at ``temp_c`` [°C] must be to leave ``share`` of a standing stress [min]."""
    return relaxation_time_s(glass, temp_c) * log(1 / share) / 60


def slower_times(glass: Glass, temp_c: float, below_k: float) -> float:
    """Return how many times slower stress relaxes ``below_k`` [K] under ``temp_c`` [°C]."""
    return relaxation_time_s(glass, temp_c - below_k) / relaxation_time_s(glass, temp_c)


class Relaxed:
    """How far a standing stress died away in the annealing range, since the face last was at its upper end.

    Counted in times to 1/e at the face's temperature, the sum of step/τ; the core follows within minutes.
    """

    def __init__(self, glass: Glass) -> None:
        """Begin with no time in the range of ``glass``."""
        self._low_c, self._high_c = glass.band_low_c, glass.band_high_c
        self._head, self._b, self._t0_c = log_speed(glass)
        self._tau_s = relaxation_time_s(glass, glass.annealing_point_c)
        self.times = 0.0
        """Times to 1/e so far, ∫ dt/τ [1]."""

    def advance(self, from_c: float, to_c: float, step_s: float) -> None:
        """Go on by ``step_s`` [s] with the face going straight from ``from_c`` to ``to_c`` [°C].

        Adds ∫ dt/τ(T) by the midpoint rule, in parts of no more than _FINE_K.
        """
        if to_c >= self._high_c:
            self.times = 0.0
            return
        if to_c < self._low_c and from_c < self._low_c:
            return
        number = 1 + int(abs(to_c - from_c) / _FINE_K)
        for n in range(number):
            above = from_c + (to_c - from_c) * (n + 0.5) / number - self._t0_c
            if above > 1.0 and above + self._t0_c < self._high_c:
                self.times += step_s / number * exp(self._head - self._b / above)

    @property
    def share_left(self) -> float:
        """Return the share of a standing stress that is left, 1 at the start."""
        return exp(-self.times)

    @property
    def worth_min(self) -> float:
        """Return the minutes at the annealing point that would have relaxed as much."""
        return self.times * self._tau_s / 60
