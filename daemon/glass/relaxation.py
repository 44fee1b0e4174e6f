"""How fast a standing stress dies away at a temperature, and what a hold was worth."""

from __future__ import annotations

from math import exp, log

from daemon.glass.materials import Glass

SHARE = 0.05
"""What a whole hold leaves of a standing stress: one twentieth."""


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


def minutes_to_relax(glass: Glass, temp_c: float, share: float = SHARE) -> float:
    """Return how long a hold at ``temp_c`` [°C] must be to leave ``share`` of a standing stress [min]."""
    return relaxation_time_s(glass, temp_c) * log(1 / share) / 60


def slower_times(glass: Glass, temp_c: float, below_k: float) -> float:
    """Return how many times slower stress relaxes ``below_k`` [K] under ``temp_c`` [°C]."""
    return relaxation_time_s(glass, temp_c - below_k) / relaxation_time_s(glass, temp_c)


class Relaxed:
    """What of a standing stress is left after the readings so far; one exponent summed, no memory."""

    def __init__(self, glass: Glass) -> None:
        self._glass = glass
        self._times = 0.0

    def advance(self, temp_c: float, step_s: float) -> None:
        """Take ``step_s`` [s] at ``temp_c`` [°C]."""
        self._times += step_s / relaxation_time_s(self._glass, temp_c)

    @property
    def share_left(self) -> float:
        """Return the share of a standing stress that is left, 1 at the start."""
        return exp(-min(self._times, 700.0))
