"""A sensor as a fin: its foot in the wall, its tip in the air of a zone, in sight of elements, wall and load.

The tip's excess over what surrounds it is that of the foot divided by cosh(mL), m = sqrt(4h/(kD)): a rod with an
insulated tip (Incropera and others, Fundamentals of Heat and Mass Transfer, table 3.4, from memory). What surrounds
it is the mean of air, elements, wall and load, weighted by what each exchanges with it, so that it shifts with the
regime: toward the elements in a climb, toward the wall in an unpowered fall.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cosh, exp, sqrt
from random import Random

from simulations.second_plant.kiln import Kiln, radiative_w_m2_k

ROD_J_M3_K = 3.6e6
"""Heat capacity of a sheath or tube [J/m³K]. [from memory: steel 3.9e6, alumina 3.3e6]"""


@dataclass(frozen=True, slots=True)
class SensorBuild:
    """What makes a sensor this one.

    Attributes
    ----------
    zone
        In whose air the tip is.
    depth_m, diameter_m, rod_w_m_k
        How far it stands out of the wall, how thick it is and how well it conducts.
    sees_elements, sees_load
        Shares of its sight [0 to 1]; the rest is wall.
    convection_w_m2_k
        From the air to the tip.
    lag_s
        Of the junction within its tube; 0 for bare wire.
    error_k, gain
        What it reads too high at 0 °C, and its factor.
    """

    zone: int
    depth_m: float
    diameter_m: float
    rod_w_m_k: float
    sees_elements: float
    sees_load: float
    convection_w_m2_k: float
    lag_s: float
    error_k: float
    gain: float


def random_sensor(rng: Random, *, is_ours: bool) -> SensorBuild:
    """Return a sensor at random: the controller's own, or ours, which stands where there was room for it."""
    thick = (0.0015, 0.003, 0.0045, 0.006, 0.008) if is_ours else (0.0015, 0.003, 0.003)
    return SensorBuild(
        zone=rng.choice((0, 1, 1)), depth_m=rng.uniform(0.045, 0.09), diameter_m=rng.choice(thick),
        rod_w_m_k=rng.choice((3.0, 6.0, 18.0, 22.0)),
        sees_elements=rng.choice((rng.uniform(0.02, 0.12), *[rng.uniform(0.1, 0.35)] * 2)) if is_ours else
        rng.uniform(0.0, 0.08),
        sees_load=rng.uniform(0.1, 0.45), convection_w_m2_k=rng.uniform(6, 15),
        lag_s=rng.choice((0.0, 5.0, 20.0, 60.0)) if is_ours else rng.choice((0.0, 5.0, 15.0)),
        error_k=max(-8.0, min(8.0, rng.gauss(0.0, 2.5 if is_ours else 1.5))), gain=rng.uniform(0.993, 1.007),
    )


class Sensor:
    """A sensor in a kiln, moved on by ``step``; ``reads_c`` is what it shows."""

    def __init__(self, build: SensorBuild, kiln: Kiln) -> None:
        self.build, self.kiln = build, kiln
        start_c = kiln.network.temps_c[kiln.air[build.zone]]
        self._sheath_c = self._junction_c = start_c
        self.fallen = 0.0
        """By what share of its length it has dropped out of the kiln."""

    @property
    def reads_c(self) -> float:
        """Return what it shows [°C]."""
        return self._junction_c * self.build.gain + self.build.error_k

    def surrounding(self) -> tuple[float, float]:
        """Return the temperature the tip would take [°C] and the heat transfer to it [W/m²K]."""
        build, temps_c = self.build, self.kiln.network.temps_c
        zone, here_c = build.zone, self._sheath_c
        air_c = temps_c[self.kiln.air[zone]]
        total, heat = build.convection_w_m2_k, build.convection_w_m2_k * air_c
        wall = 1.0 - build.sees_elements - build.sees_load
        # A zone without elements of its own shows the tip those of the next.
        zone_lit = zone if self.kiln.build.shares[zone] > 0 else 1 - zone
        for share, node in (
            (build.sees_elements, self.kiln.elements[zone_lit]), (wall, self.kiln.faces[zone]),
            (build.sees_load, self.kiln.top_face),
        ):
            g = 0.85 * share * radiative_w_m2_k(here_c, temps_c[node])
            total += g
            heat += g * temps_c[node]
        around_c = heat / total
        m_l = sqrt(4 * total / (build.rod_w_m_k * build.diameter_m)) * build.depth_m * (1 - self.fallen)
        tip_c = around_c + (self.kiln.depth_c(zone) - around_c) / cosh(min(m_l, 50.0))
        return tip_c, total

    def step(self, dt_s: float) -> None:
        """Move on by ``dt_s`` [s], exactly for a surrounding that stays as it is."""
        around_c, h = self.surrounding()
        if self.fallen:
            around_c += self.fallen * 0.5 * (self.kiln.depth_c(self.build.zone) - around_c)
        time_s = ROD_J_M3_K * self.build.diameter_m / 4 / h
        self._sheath_c = around_c + (self._sheath_c - around_c) * exp(-dt_s / time_s)
        if self.build.lag_s:
            self._junction_c += (self._sheath_c - self._junction_c) * (1 - exp(-dt_s / self.build.lag_s))
        else:
            self._junction_c = self._sheath_c
