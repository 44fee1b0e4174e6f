"""The kiln of the second plant: three zones of elements, air and wall around a shelf with glass on it.

A wall is five layers of its own thickness, thin at the hot face. Elements, hot faces, glass and shelf radiate to each
other through conductances that grow with the third power of the temperature and are renewed as the kiln moves.
Glass is taken for soda-lime.
"""

from __future__ import annotations

from collections.abc import Sequence

from simulations.second_plant.builds import OUTSIDE_W_M2_K, Build
from simulations.second_plant.network import ROOM, Network

ZONES = (0, 1, 2)
"""Lid, sides and floor. [chosen: the least that makes zones differ]"""
LAYERS = 5
"""Layers of a wall. [chosen: twice as many change a firing by under 12 K, as a test holds: less than walls differ]"""
SIGMA_W_M2_K4 = 5.670374e-8
"""Stefan-Boltzmann constant [W/m²K⁴]. [source: CODATA 2018]"""
KELVIN = 273.15
"""0 °C [K]. [source: the definition of the Celsius scale]"""
RENEWED_OVER_K = 2.0
"""Radiation is reckoned anew when a node that radiates has moved by so much [K].
[derived: at 1000 K, 3 T² dT / T³ = 0.6 % of a conductance]"""
GLASS_W_M_K, GLASS_KG_M3, GLASS_J_KG_K = 1.1, 2500.0, 1000.0
"""Conductivity, density and heat capacity of glass [W/m·K, kg/m³, J/kg·K]. [from memory: soda-lime, hot]"""
SHELF_KG_M3, SHELF_J_KG_K = 2000.0, 1000.0
"""Density and heat capacity of a shelf of cordierite [kg/m³, J/kg·K]. [from memory: 1900 to 2200, about 1000]"""
AIR_J_M3_K = 500.0
"""Heat capacity of hot air [J/m³K]. [derived: 0.4 kg/m³ of 1150 J/kg·K at about 600 °C]"""
FULL_OPEN_W_M2_K = 25.0
"""Exchange of air through an opening, for its area [W/m²K]. [from memory: buoyant exchange through a wide opening]"""
COIL_W_M2 = 28_000.0
"""Power of an element for what it shows of itself [W/m²]. [from memory: coils are loaded with 1.5 to 3 W/cm²]"""
STIR_W_M2_K = 25.0
"""Exchange between the air of neighbouring zones, for the area of the shelf [W/m²K]. [chosen: zones differ by a few
K in a hold]"""


class Kiln:
    """A kiln with its load, moved on by ``step``.

    Parameters
    ----------
    build
        Which kiln.
    glass_m
        Thickness of the glass.
    covered
        How much of the shelf is covered by it [0 to 1].
    room_c
        Temperature of the room; ``start_c`` is that of the kiln to begin with [°C].
    layers
        Layers of a wall.
    """

    def __init__(self, build: Build, glass_m: float, covered: float, room_c: float, start_c: float,
                 layers: int = LAYERS) -> None:
        self.build, self.room_c = build, room_c
        self.open_share = self.vent_w_per_k = 0.0
        self.power_j = 0.0
        """Electrical energy used so far [J]."""
        self._area = build.areas_m2
        shelf_m2 = 0.8 * build.width_m**2
        self._glass_m2, self._bare_m2 = shelf_m2 * covered, shelf_m2 * (1 - 0.6 * covered)
        # Order of elimination: wall layers from outside, glass from below, elements; then what all exchange with.
        self._walls = [[z * (layers - 1) + n for n in range(layers - 1)] for z in ZONES]
        first = 3 * (layers - 1)
        self._glass = [first, first + 1, first + 2]
        self.elements = [first + 3 + z for z in ZONES]
        self.faces = [first + 6 + z for z in ZONES]
        self.air = [first + 9 + z for z in ZONES]
        self.shelf = first + 12
        # The middle of the glass exchanges with its faces only, so it can go first; the rest keeps its order.
        self._under, self._middle, self.top_face = self._glass[1], self._glass[0], self._glass[2]
        self._capacities = [0.0] * (self.shelf + 1)
        self._links: list[tuple[int, int]] = []
        self._fixed: list[tuple[int, float]] = []
        self._radiant: list[tuple[int, float]] = []
        self._put_walls(layers)
        self._put_load(glass_m, shelf_m2)
        self._put_exchange()
        self._leak = self._link(self.air[0], ROOM)
        self._openings = [(self._link(node, ROOM), node, share) for node, share in (
            (self.faces[1], 0.35), (self.shelf, 0.25), (self.top_face, 0.4 * covered), (self.elements[1], 0.05))]
        self._vented = self._link(self.air[1], ROOM)
        self.network = Network(self._capacities, self._links, start_c)
        for link, conductance in self._fixed:
            self.network.conduct(link, conductance)
        self._seen_c: list[float] = []
        self._seen_open = -1.0

    def _link(self, a: int, b: int) -> int:
        """Join two nodes; return the number of the link."""
        self._links.append((a, b))
        return len(self._links) - 1

    def _put_walls(self, layers: int) -> None:
        """Make the layers of the walls, each 1.8 times as thick as the one before it from the hot face on."""
        build = self.build
        growth = 1.8 ** (5.0 / layers)
        unit = build.wall_m / sum(growth**n for n in range(layers))
        thick = [unit * growth**n for n in range(layers)]
        for zone in ZONES:
            area = self._area[zone]
            nodes = [self.faces[zone], *reversed(self._walls[zone])]
            for n, node in enumerate(nodes):
                # A wall is wider outside than in: corners add area with depth.
                wider = 1 + sum(thick[:n]) * 2 / build.width_m
                self._capacities[node] = area * wider * thick[n] * build.wall_kg_m3 * 1000.0
                if n + 1 < layers:
                    apart_m = (thick[n] + thick[n + 1]) / 2
                    self._fixed.append((self._link(node, nodes[n + 1]), area * wider * build.wall_w_m_k / apart_m))
                else:
                    rest = thick[n] / 2 / build.wall_w_m_k + 1 / OUTSIDE_W_M2_K
                    self._fixed.append((self._link(node, ROOM), area * wider / rest))

    def _put_load(self, glass_m: float, shelf_m2: float) -> None:
        """Make glass, in three layers that touch, and the shelf below it."""
        layer = self._glass_m2 * glass_m / 3
        for node in self._glass:
            self._capacities[node] = layer * GLASS_KG_M3 * GLASS_J_KG_K
        self._capacities[self.shelf] = shelf_m2 * self.build.shelf_m * SHELF_KG_M3 * SHELF_J_KG_K
        inside = self._glass_m2 * GLASS_W_M_K / (glass_m / 3)
        self._fixed.append((self._link(self._middle, self._under), inside))
        self._fixed.append((self._link(self._middle, self.top_face), inside))
        # Wash, fibre paper and the air in them lie between glass and shelf.
        self._fixed.append((self._link(self._under, self.shelf), self._glass_m2 * 150.0))

    def _put_exchange(self) -> None:
        """Join elements, faces, air, glass and shelf by convection and radiation."""
        build, stir = self.build, STIR_W_M2_K * self.build.width_m**2
        for zone in ZONES:
            element, face, air = self.elements[zone], self.faces[zone], self.air[zone]
            coil_m2 = 0.01 + build.power_w * build.shares[zone] / COIL_W_M2
            self._capacities[element] = max(build.element_j_k * build.shares[zone], 20.0)
            self._capacities[air] = AIR_J_M3_K * build.width_m**2 * build.height_m / 3
            self._convect(element, air, 2 * coil_m2)
            self._convect(face, air, self._area[zone])
            self._radiate(element, face, coil_m2 * build.embedded)
            to = self.shelf if zone == 2 else self.top_face
            self._radiate(element, to, coil_m2 * (1 - build.embedded) * 0.4)
            self._radiate(element, self.faces[(zone + 1) % 3], coil_m2 * (1 - build.embedded) * 0.6)
        for zone in (0, 1):
            self._fixed.append((self._link(self.air[zone], self.air[zone + 1]), stir))
            self._convect(self.top_face, self.air[zone], self._glass_m2 / 2)
            self._radiate(self.faces[zone], self.top_face, self._glass_m2 * 0.45)
            self._radiate(self.faces[zone], self.shelf, self._bare_m2 * 0.45)
        self._convect(self.shelf, self.air[2], 2 * self._bare_m2)
        self._radiate(self.faces[2], self.shelf, self._area[2] * 0.7)
        self._radiate(self.faces[0], self.faces[1], self._area[0] * 0.35)
        self._radiate(self.faces[1], self.faces[2], self._area[2] * 0.35)

    def _convect(self, a: int, b: int, area_m2: float) -> None:
        """Join two nodes by convection over an area."""
        self._fixed.append((self._link(a, b), self.build.convection_w_m2_k * area_m2))

    def _radiate(self, a: int, b: int, area_m2: float) -> None:
        """Join two nodes by radiation over an area, already lessened by view and emissivity."""
        self._radiant.append((self._link(a, b), 0.85 * area_m2))

    def step(self, dt_s: float, watts: Sequence[float]) -> None:
        """Move on by ``dt_s`` [s] with so much power in the elements of each zone [W]."""
        self._renew()
        self.network.step(dt_s, list(zip(self.elements, watts, strict=True)), self.room_c)
        self.power_j += dt_s * sum(watts)

    def _renew(self) -> None:
        """Reckon radiation and openings anew where the kiln has moved or a lid has."""
        temps_c = self.network.temps_c
        now_open = self.open_share + 1e-3 * self.vent_w_per_k
        first = self.elements[0]
        if now_open == self._seen_open and all(
                abs(temp_c - seen_c) < RENEWED_OVER_K
                for temp_c, seen_c in zip(temps_c[first:], self._seen_c, strict=True)):
            return
        self._seen_c, self._seen_open = temps_c[first:], now_open
        for link, area_m2 in self._radiant:
            a, b = self._links[link]
            self.network.conduct(link, area_m2 * radiative_w_m2_k(temps_c[a], temps_c[b]))
        wide_m2 = self.open_share * self.build.width_m**2
        self.network.conduct(self._leak, self.build.leak_w_per_k + wide_m2 * FULL_OPEN_W_M2_K)
        self.network.conduct(self._vented, self.vent_w_per_k + wide_m2 * FULL_OPEN_W_M2_K)
        for link, node, share in self._openings:
            self.network.conduct(link, wide_m2 * share * radiative_w_m2_k(temps_c[node], self.room_c))

    @property
    def glass_c(self) -> float:
        """Return the mean temperature of the glass [°C]."""
        return sum(self.network.temps_c[node] for node in self._glass) / 3

    @property
    def air_c(self) -> float:
        """Return the mean temperature of the air [°C]."""
        return sum(self.network.temps_c[node] for node in self.air) / 3

    def depth_c(self, zone: int) -> float:
        """Return the temperature a third of the way into the wall of a zone [°C], where a sensor's stem sits."""
        nodes = self._walls[zone]
        return self.network.temps_c[nodes[len(nodes) // 2]]


def radiative_w_m2_k(a_c: float, b_c: float) -> float:
    """Return the conductance of radiation between black faces at ``a_c`` and ``b_c`` [W/m²K], exact for these two."""
    a_k, b_k = a_c + KELVIN, b_c + KELVIN
    return SIGMA_W_M2_K4 * (a_k * a_k + b_k * b_k) * (a_k + b_k)
