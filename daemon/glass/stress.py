"""Stress in a flat slab that relaxes as a Maxwell body: what stands in it now, what stays for good.

Equal two-way stress, plane sections stay plane and flat, no net force. The elastic strain at each depth
follows the common strain less the free expansion there; the stress relaxes with τ = 6(1−ν)η/E, the Maxwell
rule for equal two-way stress with an elastic bulk (re-derived). The volume (structural) relaxation is not
in here; see STRUCTURAL_FACTOR.
"""

from __future__ import annotations

from math import exp, log

from daemon.glass.materials import Glass
from daemon.glass.slab import Slab

# Gauss-Lobatto points and weights on [0, 1] (Abramowitz & Stegun, 25.4.32): both ends are nodes.
_LOBATTO_7 = (0.0, 0.468848793470714, 0.830223896278567, 1.0)
_LOBATTO_WEIGHTS_7 = (0.487619047619048, 0.431745381209863, 0.276826047361566, 0.047619047619048)

NODES: tuple[float, ...] = tuple(
    sorted((1 + sign * x) / 2 for x in _LOBATTO_7 for sign in ((1, -1) if x else (1,)))
)
WEIGHTS: tuple[float, ...] = tuple(
    w / 2 for w in (*reversed(_LOBATTO_WEIGHTS_7[1:]), *_LOBATTO_WEIGHTS_7)
)

STRUCTURAL_FACTOR = 1.7
"""Residual stress with volume relaxation over that without, ± 0.2.

Gardon & Narayanaswamy, J. Am. Ceram. Soc. 53 (1970) 380: about 40 % of the residual stress of linearly
cooled sheet comes from volume relaxation, a factor of 1.67.
"""

_FLOWS = 30.0
"""A step this many relaxation times long leaves no stress."""
_RIGID = 1e-6
_LN10 = log(10.0)
FINE_K = 1.0
"""The longest change of face temperature in one step while the glass is setting [K]."""


class Stress:
    """One slab: takes straight pieces of face temperature, keeps temperatures and stresses at NODES."""

    def __init__(self, glass: Glass, thickness_mm: float, faces: int, start_c: float) -> None:
        depth_m = thickness_mm / 1000 / (2 if faces == 2 else 1)
        self._slab = Slab(depth_m, glass.diffusivity_m2_s, NODES)
        self.modulus_mpa = glass.youngs_modulus_gpa * 1000 / (1 - glass.poisson)
        self._alpha = glass.expansion_per_k
        self._a = glass.viscosity.a * _LN10
        self._b = glass.viscosity.b * _LN10
        self._t0 = glass.viscosity.t0_c
        # 1/τ = E / (6 (1 − ν) η)
        self._log_speed = log(self.modulus_mpa * 1e6 / 6)
        # Where setting happens: between flowing within a second and rigid for a month.
        self._flows_c = self._temp_of_speed(_FLOWS)
        self._rigid_c = self._temp_of_speed(1e-7)
        self.temps_c = [start_c] * len(NODES)
        self.stress_mpa = [0.0] * len(NODES)

    def _temp_of_speed(self, per_s: float) -> float:
        """Return the temperature [°C] at which stress relaxes ``per_s`` times a second."""
        return self._t0 + self._b / (self._log_speed - log(per_s) - self._a)

    def advance(self, from_c: float, to_c: float, step_s: float) -> None:
        """Go on by ``step_s`` [s] with the face going straight from ``from_c`` to ``to_c`` [°C]."""
        temps = self._slab.advance(from_c, to_c, step_s)
        if min(temps) > self._flows_c:
            self.stress_mpa = [0.0] * len(NODES)
        elif max(max(temps), max(self.temps_c)) < self._rigid_c:
            self._stretch(temps)
        else:
            self._relax(temps, step_s)
        self.temps_c = temps

    def _stretch(self, temps: list[float]) -> None:
        """Change the stress elastically: by modulus times the common strain less each depth's own."""
        scale = self.modulus_mpa * self._alpha
        rise = [new - old for new, old in zip(temps, self.temps_c)]  # noqa: B905 - per reading, lengths fixed
        w0, w1, w2, w3, w4, w5, w6 = WEIGHTS
        r0, r1, r2, r3, r4, r5, r6 = rise
        mean = w0 * r0 + w1 * r1 + w2 * r2 + w3 * r3 + w4 * r4 + w5 * r5 + w6 * r6
        self.stress_mpa = [s + scale * (mean - r) for s, r in zip(self.stress_mpa, rise)]  # noqa: B905

    def _relax(self, temps: list[float], step_s: float) -> None:
        """Change the stress while it relaxes, the relaxation time taken at the middle of the step."""
        kept, eased, pull, ease = [], [], 0.0, 0.0
        modulus, alpha, t0, b = self.modulus_mpa, self._alpha, self._t0, self._b
        head = self._log_speed - self._a + log(step_s)
        for w, new, old, s in zip(WEIGHTS, temps, self.temps_c, self.stress_mpa, strict=True):
            above = (new + old) / 2 - t0
            z = exp(min(head - b / above, 50.0)) if above > 1.0 else 0.0
            if z < _RIGID:
                stay, phi = 1.0, 1.0
            else:
                stay = exp(-z)
                phi = (1.0 - stay) / z
            strain = modulus * alpha * (new - old) * phi
            pull += w * (s * stay - strain)
            ease += w * phi
            kept.append(s * stay - strain)
            eased.append(phi)
        common = -pull / ease if ease > 1e-12 else 0.0
        self.stress_mpa = [s + common * phi for s, phi in zip(kept, eased, strict=True)]

    @property
    def difference_k(self) -> float:
        """Return core minus face [K]."""
        return self.temps_c[0] - self.temps_c[-1]

    def residual_mpa(self) -> tuple[float, float]:
        """Return (core, face) stress [MPa, tension positive] once the temperatures have evened out here."""
        mean = sum(w * t for w, t in zip(WEIGHTS, self.temps_c, strict=True))
        scale = self.modulus_mpa * self._alpha
        core = self.stress_mpa[0] + scale * (self.temps_c[0] - mean)
        face = self.stress_mpa[-1] + scale * (self.temps_c[-1] - mean)
        return core, face

    def setting(self, *temps_c: float) -> bool:
        """Return whether glass at any of the temperatures is between flowing and rigid."""
        return any(self._rigid_c < temp < self._flows_c for temp in temps_c)
