"""What common practice says of a glass and a thickness: where it is brittle, how fast it may climb and cool.

This module owns the workshop's figures. ``daemon.glass.advice`` weighs them against the slab's own limits and gives
the one rate that is told to the maker; no other module keeps a copy.
"""

from __future__ import annotations

from math import log, pi

from daemon.glass.materials import Glass

THIN_MM, THICK_MM = 6.0, 12.0
"""The two thicknesses that workshop rules are written for [mm]. [common practice]"""
_COOLING_C_PER_H = ((80.0, 25.0), (150.0, 45.0), (300.0, 150.0))
"""Cooling on a shelf in the three stages below the hold [°C/h], for THIN_MM and THICK_MM. [common practice]"""
_FUSED_CLIMB_C_PER_H = (150.0, 80.0)
_LOOSE_CLIMB_C_PER_H = 250.0
"""Climb while brittle [°C/h]: a fused plate of THIN_MM and of THICK_MM, loose layers of THIN_MM in all.

Workshop notes give 100 to 150 and 55 to 80 for fused plates. What is told is a limit, so it is the upper end.
[common practice]
"""
AS_GOOD_TIMES = 1.12
"""A fall up to this many times the planned or advised one is as good as that [1].

[tuned: by trial on the bench, study not kept]
"""
FUSED_C = 700.0
"""Fired hotter than this, layers are one plate [°C]; a tack begins lower and is softer. [common practice]"""
_LAG_K = 25.0
"""How far the probe must read above the annealing point for the core of the glass to be there too [K].

In family 90 the core lags by 18.6 K at the most, 3 · 5 MPa / 0.81 MPa/K, and a new probe of type K, class 2, may read
4.1 K high at 545 °C (IEC 60584-2). In sum 22.7 K. In family 33 it covers plates up to about 80 mm.
[derived: largest core lag plus probe tolerance, in fives]
"""
_TOLD_IN_C = 5.0
"""The brittle temperature is told in steps of this [°C]. [chosen: a finer figure would claim more than is known]"""
HOT_C = 540.0
"""At or above this a power cut, a restart or a blind probe may be worth a wake, and so may a stalled climb [°C].

Not the temperature below which glass is brittle: it says when an alert is loud, not what the glass bears, and is one
figure for every glass so that it can be promised in advance. The families are brittle up to 520 to 585 °C.
[chosen: the brittle temperature of family 90]
"""
_OPENED_BELOW_C = 250.0
"""Where the work is thin, plugs are out below this, and lids are propped from 200 °C on [°C]. [common practice]"""
_WAKING_DIFFERENCE_K = 2.0
"""Difference between face and core from which a steady fall may wake somebody [K].

The workshop's ordinary figure, twice its cautious one; in soda-lime glass it stands for about 1 MPa in the face.
[common practice]
"""


def is_opened_here(temp_c: float, thickness_mm: float) -> bool:
    """Return whether makers open a kiln of ``temp_c`` [°C] to let it cool: work no thicker than THICK_MM bears it."""
    return temp_c < _OPENED_BELOW_C and thickness_mm <= THICK_MM


def counted_mm(thickness_mm: float, faces: int) -> float:
    """Return the thickness as workshop rules count it [mm]: half of it where both faces cool."""
    return thickness_mm / (2 if faces == 2 else 1)


def slowest_s(glass: Glass, thickness_mm: float, faces: int) -> float:
    """Return the slowest time constant with which a slab evens out [s]: 4L²/(π²κ), L being the depth that counts."""
    depth_m = counted_mm(thickness_mm, faces) / 1000
    return 4 * depth_m**2 / (pi**2 * glass.diffusivity_m2_s)


def brittle_below_c(glass: Glass) -> float:
    """Return the temperature below which a fast climb can crack ``glass`` [°C]: strain point plus a margin.

    The margin has two parts. The first reaches to the annealing point, where the viscosity is 10^1.5 times less (ASTM
    C336): there a standing stress falls to 1/e within a minute, at the strain point in half an hour. The second is
    _LAG_K, so that the core has passed the annealing point too. In fives this gives 585, 570, 540, 535 and 520 °C for
    the families 33, float, 90, 96 and 104. Common practice has 540 °C, for glass like family 90.
    """
    return _TOLD_IN_C * round((glass.annealing_point_c + _LAG_K) / _TOLD_IN_C)


def climb_c_per_h(thickness_mm: float, faces: int, *, loose: bool = False) -> float:
    """Return how fast a piece may climb while brittle by the workshop's rule [°C/h].

    A power law through the rates for THIN_MM and THICK_MM, carried on for what is thicker; thinner work counts as
    THIN_MM. Loose layers of less than THICK_MM in all bear more than a fused plate.
    """
    mm = max(THIN_MM, counted_mm(thickness_mm, faces))
    fused, thick = _FUSED_CLIMB_C_PER_H
    return _power_law(_LOOSE_CLIMB_C_PER_H if loose and mm < THICK_MM else fused, thick, mm)


def cooling_c_per_h(stage: int, thickness_mm: float, faces: int) -> float:
    """Return how fast a piece may cool in stage 0, 1 or 2 below its hold by the workshop's rule [°C/h].

    A power law between THIN_MM and THICK_MM; thinner work counts as THIN_MM. Practice gives no slower rate for what
    is thicker than THICK_MM, so there the slab's own limits rule.
    """
    return _power_law(*_COOLING_C_PER_H[stage], min(THICK_MM, max(THIN_MM, counted_mm(thickness_mm, faces))))


def two_kelvin_c_per_h(glass: Glass, thickness_mm: float, faces: int) -> float:
    """Return the steady cooling that keeps face and core within _WAKING_DIFFERENCE_K [°C/h].

    R = 2κ·ΔT/L², the parabola of a slab cooled at a constant rate (Carslaw & Jaeger, Conduction of Heat in Solids,
    ch. III), with the glass's own diffusivity κ and L the whole thickness, or half of it where both faces cool.
    """
    depth_m = counted_mm(thickness_mm, faces) / 1000
    return 2 * glass.diffusivity_m2_s * _WAKING_DIFFERENCE_K / depth_m**2 * 3600


def _power_law(thin: float, thick: float, mm: float) -> float:
    """Return the rate at ``mm`` [°C/h] by the power law through ``thin`` at THIN_MM and ``thick`` at THICK_MM."""
    return thin * float((mm / THIN_MM) ** (log(thick / thin) / log(THICK_MM / THIN_MM)))
