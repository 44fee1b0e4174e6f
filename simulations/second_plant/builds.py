"""What makes a kiln of the second plant this one: sizes, walls, power and where it sits, drawn at random.

Properties are from memory: insulating brick 0.15 to 0.40 W/m·K and 500 to 1100 kg/m³, fibre 0.10 to 0.22 W/m·K and
120 to 280 kg/m³, dense brick 0.4 to 0.7 and 1100 to 1900, all about 1000 J/kg·K.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from random import Random

OUTSIDE_W_M2_K = 12.0
"""Heat transfer from the kiln's case to the room, radiation included [W/m²K]. [from memory: 8 to 15]"""


@dataclass(frozen=True, slots=True)
class Build:
    """What makes a kiln this one.

    Attributes
    ----------
    name
        Sort of kiln.
    width_m, height_m
        Inside, of a square chamber.
    wall_m, wall_w_m_k, wall_kg_m3
        Thickness, conductivity and density of the walls.
    power_w, shares
        Full power, and what share of it each zone has.
    element_j_k
        Heat capacity of all elements.
    embedded
        How much of what the elements radiate falls on the wall they lie in [0 to 1].
    leak_w_per_k
        Exchange of air with the room, closed.
    shelf_m
        Thickness of the shelf, with the posts and moulds that stand on it.
    convection_w_m2_k
        From the air to all surfaces.
    """

    name: str
    width_m: float
    height_m: float
    wall_m: float
    wall_w_m_k: float
    wall_kg_m3: float
    power_w: float
    shares: tuple[float, float, float]
    element_j_k: float
    embedded: float
    leak_w_per_k: float
    shelf_m: float
    convection_w_m2_k: float

    @property
    def areas_m2(self) -> tuple[float, float, float]:
        """Return the areas of lid, sides and floor."""
        lid_m2 = self.width_m**2
        return lid_m2, 4 * self.width_m * self.height_m, lid_m2

    def holding_w(self, temp_c: float, room_c: float = 20.0) -> float:
        """Return the power that holds ``temp_c`` for ever: loss through walls, whose edges count half, and leaks."""
        through_w_per_k = sum(
            area * (1 + self.wall_m / self.width_m) / (self.wall_m / self.wall_w_m_k + 1 / OUTSIDE_W_M2_K)
            for area in self.areas_m2)
        return (through_w_per_k + self.leak_w_per_k) * (temp_c - room_c)


def random_build(rng: Random) -> Build:
    """Return a kiln at random, from light fibre boxes to heavy brick ones."""
    name = rng.choice(("fibre", "fibre", "brick", "brick", "brick", "mixed", "mixed", "heavy"))
    width_m, height_m = rng.uniform(0.30, 0.70), rng.uniform(0.18, 0.40)
    fibre = rng.uniform(0.03, 0.075), rng.uniform(0.10, 0.22), rng.uniform(120, 280)
    brick = rng.uniform(0.065, 0.125), rng.uniform(0.15, 0.40), rng.uniform(500, 1100)
    heavy = rng.uniform(0.10, 0.15), rng.uniform(0.4, 0.7), rng.uniform(1100, 1900)
    mixed = tuple((a + b) / 2 for a, b in zip(fibre, brick, strict=True))
    wall_m, wall_w_m_k, wall_kg_m3 = {"fibre": fibre, "brick": brick, "heavy": heavy}.get(name, mixed)
    lid, side, floor = rng.choice(((1, 0, 0), (0, 1, 0), (1, 1, 0), (1, 2, 0), (1, 2, 1), (0, 3, 1)))
    shares = [share * rng.uniform(0.8, 1.2) for share in (lid, side, floor)]
    whole = sum(shares)
    first = Build(
        name, width_m, height_m, wall_m, wall_w_m_k, wall_kg_m3, 1.0,
        (shares[0] / whole, shares[1] / whole, shares[2] / whole), 1.0, rng.uniform(0.3, 0.8), rng.uniform(0.1, 1.2),
        rng.choice((rng.uniform(0.010, 0.035), rng.uniform(0.03, 0.12))), rng.uniform(4, 12),
    )
    duty = rng.uniform(0.2, 0.66)
    holding_w = first.holding_w(800.0)
    power_w = max(holding_w / 0.7, min(12_000.0, max(2300.0, holding_w / duty)))
    return replace(first, power_w=power_w, element_j_k=power_w * rng.uniform(0.09, 0.22))
