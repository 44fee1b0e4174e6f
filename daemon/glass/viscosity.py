"""Viscosity of glass against temperature: log10(η / Pa·s) = a + b / (T − t0), Vogel-Fulcher-Tammann."""

from __future__ import annotations

from dataclasses import dataclass

LOG_ANNEALING = 12.0
"""log10 of the viscosity at the annealing point [Pa·s]; 13.0 in poise. [source: ASTM C336]"""
LOG_STRAIN = 13.5
"""log10 of the viscosity at the strain point [Pa·s]; 14.5 in poise. [source: ASTM C336]"""
LOG_SOFTENING = 6.6
"""log10 of the viscosity at the Littleton softening point [Pa·s], for soda-lime. [source: ASTM C338]"""
LOG_WORKING = 3.0
"""log10 of the viscosity at the working point [Pa·s]. [from memory: ISO 7884-1]"""


@dataclass(frozen=True)
class Viscosity:
    """The three constants of the curve, with ``t0_c`` in °C."""

    a: float
    b: float
    t0_c: float

    def log10_pa_s(self, temp_c: float) -> float:
        """Return log10 of the viscosity [Pa·s] at ``temp_c`` [°C], which must lie above ``t0_c``."""
        if temp_c <= self.t0_c:
            raise ValueError(f"the curve has no value at {temp_c} °C: it starts above {self.t0_c} °C")
        return self.a + self.b / (temp_c - self.t0_c)

    def temp_c(self, log10_pa_s: float) -> float:
        """Return the temperature [°C] at which the viscosity is ``log10_pa_s`` [log10 Pa·s]."""
        return self.t0_c + self.b / (log10_pa_s - self.a)


def through(points: tuple[tuple[float, float], tuple[float, float], tuple[float, float]]) -> Viscosity:
    """Return the curve through three points (temperature [°C], log10 viscosity [Pa·s]).

    The closed form for three points: with q = (l2−l1)(t3−t2) / ((l3−l2)(t2−t1)),
    t0 = (q·t1 − t3)/(q − 1). Re-derived; tested against published constants.
    """
    (t1, l1), (t2, l2), (t3, l3) = points
    q = (l2 - l1) * (t3 - t2) / ((l3 - l2) * (t2 - t1))
    t0 = (q * t1 - t3) / (q - 1)
    b = (l2 - l1) / (1 / (t2 - t0) - 1 / (t1 - t0))
    return Viscosity(a=l1 - b / (t1 - t0), b=b, t0_c=t0)


def from_fixed_points(annealing_c: float, softening_c: float, working_c: float) -> Viscosity:
    """Return the curve through the annealing, softening and working points [°C].

    A data sheet's strain point is an extrapolation by the fibre method and no point of the curve (ISO
    7884-7 says so), so it is not taken.
    """
    return through(
        ((annealing_c, LOG_ANNEALING), (softening_c, LOG_SOFTENING), (working_c, LOG_WORKING))
    )
