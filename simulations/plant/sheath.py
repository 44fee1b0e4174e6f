"""A sheathed thermocouple in the kiln: what it sees and feels, and how late."""

from __future__ import annotations

from math import exp, sqrt

from simulations.plant.kiln import EMISSIVITY, KELVIN, STEFAN_BOLTZMANN, Kiln
from simulations.plant.placement import Placement

_STEEL_KG_M3 = 7900.0
_STEEL_J_KGK = 500.0
"""Of the sheath. [from memory: stainless steel]"""
_FILLING = 1.5
"""A sheath stores so many times the heat of a solid cylinder of its steel: the magnesia and the stem take their
share. [common practice]"""
_OPENING_SEEN = 0.25
"""Share of the sheath's view that an opened lid or door takes. [chosen: a quarter of what is round it]"""


_STIRRED = 1.0
"""A draught that passes a sensor unmixed adds this share to its film for each W/K, in units of _STIRRED_W_K.
[from memory: forced convection of some tenths of a metre a second about doubles free convection on a thin rod]"""
_STIRRED_W_K = 5.0
"""Draught that doubles the film of a sensor that stands in it [W/K]. [chosen: half of an open vent]"""


class Sheath:
    """A thermocouple in its sheath: it sees what is round it, feels the air, conducts to the wall, and lags.

    Parameters
    ----------
    placement
        Where it sits and what it is made of.
    start_c
        Where it starts [°C].
    """

    def __init__(self, placement: Placement | None = None, start_c: float = 20.0) -> None:
        self.placement = placement or Placement()
        self.temp_c = start_c
        # A cylinder has d/4 of volume to each area of its face.
        self._j_m2k = _FILLING * _STEEL_KG_M3 * _STEEL_J_KGK * self.placement.diameter_mm / 4000.0

    def follow(self, dt_s: float, kiln: Kiln, draught_w_k: float = 0.0) -> None:
        """Go on by ``dt_s`` [s] towards what the kiln shows now, with ``draught_w_k`` [W/K] let in beside the leaks.

        Lumped capacitance: T moves to the mean of what is seen, felt and conducted to, weighted by 4 ε σ T³, film and
        stem, with the time constant of heat capacity over their sum, as one exponential step.
        """
        placed = self.placement
        to_e, to_w, to_g, to_s = placed.sees
        seen_k4 = (
            to_e * (kiln.element_c + KELVIN) ** 4 + to_w * (kiln.wall_c[0] + KELVIN) ** 4
            + to_g * (kiln.glass_c + KELVIN) ** 4
        )
        if to_s:
            seen_k4 += to_s * (kiln.shelf_c + KELVIN) ** 4
        if kiln.open_share:
            away = _OPENING_SEEN * kiln.open_share
            seen_k4 = (1 - away) * seen_k4 + away * (kiln.room_c + KELVIN) ** 4
        air_c, film_w_m2k = kiln.air_c, placed.film_w_m2k
        if draught_w_k and placed.draught_share:
            passing = placed.draught_share * draught_w_k / (draught_w_k + _STIRRED_W_K)
            air_c += passing * (kiln.room_c - air_c)
            film_w_m2k *= 1.0 + _STIRRED * placed.draught_share * draught_w_k / _STIRRED_W_K
        around = sqrt(sqrt(seen_k4))
        middle = (around + self.temp_c + KELVIN) / 2
        radiant_w_m2k = 4 * EMISSIVITY * STEFAN_BOLTZMANN * middle * middle * middle
        all_w_m2k = radiant_w_m2k + film_w_m2k
        heat_w_m2 = radiant_w_m2k * (around - KELVIN) + film_w_m2k * air_c
        if placed.stem_w_m2k:
            all_w_m2k += placed.stem_w_m2k
            heat_w_m2 += placed.stem_w_m2k * kiln.wall_c[placed.stem_lump]
        self.temp_c += (heat_w_m2 / all_w_m2k - self.temp_c) * (1 - exp(-dt_s * all_w_m2k / self._j_m2k))
