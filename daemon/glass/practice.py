"""Rules of common practice for kiln-formed glass: how fast it may climb and cool, and where it is brittle."""

from __future__ import annotations

ORDINARY_DIFFERENCE_K = 2.0
"""Difference between face and core that flat, even work ordinarily bears while it cools [K]; common practice."""
BRITTLE_BELOW_C = 540.0
"""Below this a fast climb can crack the glass [°C]; common practice."""
_CAP_K_MM2_PER_H = 3240.0
"""Twice the diffusivity, 2 × 0.45 mm²/s × 3600 s/h [mm²/h]: the rate times h² per kelvin of difference."""


def bearable_c_per_h(thickness_mm: float, faces: int) -> float:
    """Return the fastest cooling [°C/h] that keeps face and core within ORDINARY_DIFFERENCE_K.

    The steady parabola of a slab cooled from one face, ΔT = rate·h²/(2κ) (Carslaw & Jaeger, Conduction of
    Heat in Solids, ch. III), at κ = 0.45 mm²/s; two cooled faces bear four times as much. The 2 K is
    common practice.
    """
    return _CAP_K_MM2_PER_H * ORDINARY_DIFFERENCE_K / thickness_mm**2 * (4 if faces == 2 else 1)
