"""A sheathed thermocouple in the kiln: what it sees and feels, and how late."""

from __future__ import annotations

from math import exp, sqrt

from simulations.plant.kiln import EMISSIVITY, KELVIN, STEFAN_BOLTZMANN, Kiln

PROBE_SEES = (0.03, 0.62, 0.35)
"""Shares of Lehrling's probe's view taken by elements, wall and glass; they add up to 1.
[chosen: a probe through the wall near the glass]"""
_STEEL_KG_M3 = 7900.0
_STEEL_J_KGK = 500.0
"""Of the sheath. [from memory: stainless steel]"""
_FILLING = 1.5
"""A sheath stores so many times the heat of a solid cylinder of its steel: the magnesia and the stem take their
share. [common practice]"""
_FILM_W_M2K = 20.0
"""Convection to the sheath [W/m²K]. [from memory: a wire across a slow stream; Incropera, orders of magnitude of free
convection]"""
_OPENING_SEEN = 0.25
"""Share of the sheath's view that an opened lid or door takes. [chosen: a quarter of what is round it]"""


class Sheath:
    """A thermocouple in its sheath: it sees elements, wall and glass, and feels the air, with a lag.

    Parameters
    ----------
    diameter_mm
        Outside of the sheath [mm]; the lag grows with it.
    sees
        Shares of its view taken by elements, wall and glass; they add up to 1.
    start_c
        Where it starts [°C].
    """

    def __init__(
        self, diameter_mm: float = 3.0, sees: tuple[float, float, float] = PROBE_SEES, start_c: float = 20.0,
    ) -> None:
        self.sees = sees
        self.temp_c = start_c
        # A cylinder has d/4 of volume to each area of its face.
        self._j_m2k = _FILLING * _STEEL_KG_M3 * _STEEL_J_KGK * diameter_mm / 4000.0

    def follow(self, dt_s: float, kiln: Kiln) -> None:
        """Go on by ``dt_s`` [s] towards what the kiln shows now.

        Lumped capacitance: T moves to the mean of what is seen and felt, weighted by 4 ε σ T³ and the film, with
        the time constant of heat capacity over both, as one exponential step.
        """
        to_e, to_w, to_g = self.sees
        seen_k4 = (
            to_e * (kiln.element_c + KELVIN) ** 4 + to_w * (kiln.wall_c[0] + KELVIN) ** 4
            + to_g * (kiln.glass_c + KELVIN) ** 4
        )
        if kiln.open_share:
            away = _OPENING_SEEN * kiln.open_share
            seen_k4 = (1 - away) * seen_k4 + away * (kiln.room_c + KELVIN) ** 4
        around = sqrt(sqrt(seen_k4))
        middle = (around + self.temp_c + KELVIN) / 2
        radiant_w_m2k = 4 * EMISSIVITY * STEFAN_BOLTZMANN * middle * middle * middle
        both_w_m2k = radiant_w_m2k + _FILM_W_M2K
        towards_c = (radiant_w_m2k * (around - KELVIN) + _FILM_W_M2K * kiln.air_c) / both_w_m2k
        self.temp_c += (towards_c - self.temp_c) * (1 - exp(-dt_s * both_w_m2k / self._j_m2k))
