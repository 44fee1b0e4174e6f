"""The kilns of the bench: what each is made of, how large it is, and what lies in it.

Figures of linings and builds are ordinary ones for small studio kilns, from memory; no maker's own.
"""

from __future__ import annotations

from dataclasses import dataclass

_SHELF_SHARE = 0.8
"""Area of the shelf as a share of the floor. [chosen: a finger's breadth is left free all round]"""
USUAL_LOAD_W_M2 = 15_000.0
"""Surface load of the elements where nothing else is said, full on [W/m²]. [common practice: 1.5 W/cm²]"""


@dataclass(frozen=True, slots=True)
class Lining:
    """What the wall is made of; its conductivity at T °C is ``k0 + k1 · T`` [W/mK].

    Attributes
    ----------
    name
        What it is called.
    k0
        Conductivity at 0 °C [W/mK].
    k1
        How much it grows with temperature [W/mK²].
    density
        Mass a volume [kg/m³].
    heat_capacity
        Heat a mass and kelvin [J/kgK].
    """

    name: str
    k0: float
    k1: float
    density: float
    heat_capacity: float


BRICK = Lining("insulating brick", 0.13, 1.2e-4, 520.0, 1050.0)
"""Insulating firebrick of the 1260 °C class: 0.18 W/mK at 400 °C, 0.23 at 800 °C (from memory)."""
FIBRE = Lining("ceramic fibre", 0.045, 1.7e-4, 160.0, 1100.0)
"""Ceramic fibre board and blanket: 0.11 W/mK at 400 °C, 0.18 at 800 °C (from memory)."""


@dataclass(frozen=True, slots=True)
class Build:
    """A kiln as it stands in the studio, with what lies in it.

    Attributes
    ----------
    name
        What it is called on the command line.
    power_w
        Power of the elements, full on [W].
    inside_m
        Width, depth and height inside [m].
    wall_m
        Thickness of the lining [m].
    lining
        What the lining is made of.
    opening
        "top" or "front": what an opened lid or door lets the heat out of.
    element_kg, shelf_kg, glass_kg
        Masses [kg].
    leak_w_per_k
        Draught through seams and peephole, closed [W/K].
    element_load_w_m2
        Surface load of the elements, full on [W/m²]: the higher, the hotter they are than the wall.
    """

    name: str
    power_w: float
    inside_m: tuple[float, float, float]
    wall_m: float
    lining: Lining
    opening: str
    element_kg: float
    shelf_kg: float
    glass_kg: float
    leak_w_per_k: float
    element_load_w_m2: float = USUAL_LOAD_W_M2

    @property
    def inside_m2(self) -> float:
        """Return the area of the hot face [m²]."""
        w, d, h = self.inside_m
        return 2 * (w * d + w * h + d * h)

    @property
    def outside_m2(self) -> float:
        """Return the area of the shell [m²]."""
        w, d, h = (side + 2 * self.wall_m for side in self.inside_m)
        return 2 * (w * d + w * h + d * h)

    @property
    def shelf_m2(self) -> float:
        """Return the area of the shelf [m²]."""
        return _SHELF_SHARE * self.inside_m[0] * self.inside_m[1]

    @property
    def opening_m2(self) -> float:
        """Return the area that an opened lid or door lays open [m²]."""
        return self.inside_m[0] * (self.inside_m[1] if self.opening == "top" else self.inside_m[2])

    @property
    def wall_j_k(self) -> float:
        """Return the heat capacity of the lining, taken at the mean of its inner and outer area [J/K]."""
        mean_m2 = (self.inside_m2 + self.outside_m2) / 2
        return mean_m2 * self.wall_m * self.lining.density * self.lining.heat_capacity


PRESETS = {
    build.name: build
    for build in (
        Build("top-loader", 3800.0, (0.45, 0.45, 0.24), 0.065, BRICK, "top", 1.1, 5.5, 1.8, 0.25),
        Build("fibre-top-loader", 2200.0, (0.40, 0.40, 0.18), 0.075, FIBRE, "top", 0.7, 4.5, 1.4, 0.35),
        Build("tabletop", 1500.0, (0.28, 0.28, 0.15), 0.060, FIBRE, "top", 0.45, 2.6, 0.8, 0.20),
        Build("clamshell", 2900.0, (0.50, 0.40, 0.15), 0.065, FIBRE, "top", 0.9, 5.0, 1.8, 0.40),
        Build("brick-front", 2400.0, (0.32, 0.32, 0.30), 0.076, BRICK, "front", 0.8, 3.0, 0.9, 0.25),
        Build("long-top-loader", 6000.0, (0.80, 0.50, 0.24), 0.076, BRICK, "top", 2.0, 11.0, 4.5, 0.45),
        Build("front-loader", 5600.0, (0.55, 0.50, 0.40), 0.090, BRICK, "front", 2.2, 11.0, 4.0, 0.30),
    )
}
"""The kilns of the bench by name."""
