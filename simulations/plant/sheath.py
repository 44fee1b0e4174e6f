"""A sheathed thermocouple in the kiln: what it sees and feels, and how late."""

from __future__ import annotations

from math import exp, sqrt

from simulations.plant.kiln import KELVIN, STEFAN_BOLTZMANN, Kiln


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
        self, diameter_mm: float = 3.0, sees: tuple[float, float, float] = (0.03, 0.62, 0.35),
        start_c: float = 20.0,
    ) -> None:
        self.sees = sees
        self.temp_c = start_c
        # Half as much heat again as a solid cylinder's d/4 asks of steel (7900 kg/m³, 500 J/kgK): the
        # magnesia and the stem take their share (common practice).
        self._j_m2k = 1.5 * 7900.0 * 500.0 * diameter_mm / 4000.0
        # A wire across a slow stream, 20 W/m²K (Incropera, orders of magnitude of free convection).
        self._film = 20.0

    def follow(self, dt_s: float, kiln: Kiln) -> None:
        """Go on by ``dt_s`` [s] towards what the kiln shows now."""
        to_e, to_w, to_g = self.sees
        sight = (
            to_e * (kiln.element_c + KELVIN) ** 4 + to_w * (kiln.wall_c[0] + KELVIN) ** 4
            + to_g * (kiln.glass_c + KELVIN) ** 4
        )
        if kiln.open_share:
            away = 0.25 * kiln.open_share
            sight = (1 - away) * sight + away * (kiln.room_c + KELVIN) ** 4
        around = sqrt(sqrt(sight))
        middle = (around + self.temp_c + KELVIN) / 2
        radiant = 4 * 0.8 * STEFAN_BOLTZMANN * middle * middle * middle
        both = radiant + self._film
        towards = (radiant * (around - KELVIN) + self._film * kiln.air_c) / both
        self.temp_c += (towards - self.temp_c) * (1 - exp(-dt_s * both / self._j_m2k))
