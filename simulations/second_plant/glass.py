"""A simple reckoning of what a cooling does to glass, only to label firings: one strain that Maxwell relaxes.

A slab cooled through one face has, at a steady rate R, a core warmer than its face by ``R d²/(2 kappa)``, built
up with the slab's slowest time ``4 d²/(pi² kappa)`` (Carslaw and Jaeger, Conduction of Heat in Solids, ch. III). The
part of that difference which has relaxed is what stays as stress when the difference has gone: a third of it, times
E alpha/(1 - nu), as tension at the core. It relaxes in ``tau = 6 (1 - nu) eta/E`` (equal stress in two directions,
elastic in bulk).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, pi

from daemon.glass.materials import FAMILIES

STRUCTURAL = 1.7
"""Residual stress with structural relaxation over the Maxwell figure.
[source: Gardon & Narayanaswamy, J. Am. Ceram. Soc. 53 (1970) 380, abstract: volume relaxation makes about 40 %]"""
COLD_BELOW_K = 150.0
"""So far below its strain point a glass relaxes nothing in any firing, and colder is reckoned as there [K].
[derived: viscosity is then above 1e22 Pa s; the fitted curves end 50 K or more below]"""


@dataclass(frozen=True, slots=True)
class Reckoned:
    """What a course of temperatures leaves.

    Attributes
    ----------
    core_mpa
        Residual tension at the core, structural part included [MPa].
    face_mpa
        Largest tension at the face below the annealing band, passing [MPa].
    """

    core_mpa: float
    face_mpa: float


def relaxing_s(glass: str, temp_c: float) -> float:
    """Return the time in which stress at ``temp_c`` falls to 1/e [s]."""
    kind = FAMILIES[glass]
    log_eta = kind.viscosity.log10_pa_s(max(temp_c, kind.strain_point_c - COLD_BELOW_K))
    return 6 * (1 - kind.poisson) * 10**log_eta / (kind.youngs_modulus_gpa * 1e9)


def relaxed(glass: str, times_s: Sequence[float], temps_c: Sequence[float]) -> float:
    """Return how many relaxation times have passed: 3 leave a twentieth of a stress."""
    return sum(
        (after_s - before_s) / relaxing_s(glass, temp_c)
        for before_s, after_s, temp_c in zip(times_s, times_s[1:], temps_c, strict=False))


def reckon(glass: str, thickness_mm: float, times_s: Sequence[float], temps_c: Sequence[float]) -> Reckoned:
    """Return what a course leaves in glass that cools through one face, rows some seconds to a minute apart."""
    kind, d_m = FAMILIES[glass], thickness_mm / 1000
    lag_s = 4 * d_m**2 / (pi**2 * kind.diffusivity_m2_s)
    difference_k = flowed_k = face_mpa = 0.0
    for n in range(1, len(times_s)):
        dt_s = times_s[n] - times_s[n - 1]
        if dt_s <= 0:
            continue
        steady_k = (temps_c[n - 1] - temps_c[n]) / dt_s * d_m**2 / (2 * kind.diffusivity_m2_s)
        difference_k += (steady_k - difference_k) * (1 - exp(-dt_s / lag_s))
        flowed_k += (difference_k - flowed_k) * (1 - exp(-dt_s / relaxing_s(glass, temps_c[n])))
        if temps_c[n] < kind.band_low_c:
            face_mpa = max(face_mpa, 2 / 3 * kind.mpa_per_k * (difference_k - flowed_k))
    return Reckoned(STRUCTURAL * kind.mpa_per_k * flowed_k / 3, face_mpa)
