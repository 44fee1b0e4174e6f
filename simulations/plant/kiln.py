"""A small electric glass kiln as a heat balance: elements, glass, shelf, wall and the air between.

One lump each for the elements, the glass and the shelf, five for the wall, and air without mass. Heat
goes by radiation between the surfaces that see each other, by convection to the air, by conduction
through the wall (better when hot, as porous brick does) and out by the shell, the leaks, a vent or an
opened lid. The scheme is explicit; ``STEP_S`` stands well inside its stability limit, and the ledger of
heat in and out closes to rounding. Nothing here is shared with what the bench tests.

Figures of the presets are common practice for small studio kilns (from memory where not said otherwise).
"""

from __future__ import annotations

from dataclasses import dataclass

STEFAN_BOLTZMANN = 5.670374e-8
"""W/m²K⁴, CODATA."""
KELVIN = 273.15
STEP_S = 5.0
"""The step the plant is run with [s]."""
WALL_SHARES = (0.08, 0.14, 0.20, 0.26, 0.32)
"""Thickness of the wall's lumps from the hot face outwards, as shares of the whole."""


@dataclass(frozen=True, slots=True)
class Lining:
    """What the wall is made of; conductivity is ``k0 + k1 · °C`` [W/mK]."""

    name: str
    k0: float
    k1: float
    density: float
    """kg/m³"""
    heat_capacity: float
    """J/kgK"""


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
        Elements, full on [W].
    inside_m
        Width, depth and height inside [m].
    wall_m
        Thickness of the lining [m].
    lining
        Its stuff.
    opening
        "top" or "front": what an opened lid or door lets the heat out of.
    element_kg, shelf_kg, glass_kg
        Masses [kg].
    leak_w_per_k
        Draught through seams and peephole, closed [W/K].
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
    def floor_m2(self) -> float:
        """Return the area of the shelf [m²], somewhat less than the floor."""
        return 0.8 * self.inside_m[0] * self.inside_m[1]


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

_EMISSIVITY = 0.8
_FILM_W_M2K = 9.0
"""Convection inside, natural, hot [W/m²K]."""
_SHELL_FILM_W_M2K = 11.0
"""Convection and radiation from the shell to the room [W/m²K]."""
_CONTACT_W_M2K = 60.0
"""Glass to shelf through separator [W/m²K]."""
_GLASS_J_KGK = 1000.0
_SHELF_J_KGK = 950.0
_ELEMENT_J_KGK = 620.0


class Kiln:
    """The heat balance of one firing.

    Parameters
    ----------
    build
        Which kiln, and what lies in it.
    room_c
        Room temperature [°C]; also where everything starts unless ``start_c`` says otherwise.
    start_c
        Temperature of the whole kiln at the start [°C].
    """

    def __init__(self, build: Build, room_c: float = 20.0, start_c: float | None = None) -> None:
        self.build = build
        self.room_c = room_c
        here = room_c if start_c is None else start_c
        self.element_c = self.glass_c = self.shelf_c = self.air_c = here
        self.wall_c = [here] * len(WALL_SHARES)
        self.in_j = 0.0
        """Heat the elements gave so far [J]."""
        self.out_j = 0.0
        """Heat lost to the room so far [J]."""
        self.open_share = 0.0
        """How far the lid stood open in the last step, 0 to 1."""
        self._settle()

    def _settle(self) -> None:
        b = self.build
        lining, wall, inside, outside = b.lining, b.wall_m, b.inside_m2, b.outside_m2
        floor = b.floor_m2
        self.element_j_k = b.element_kg * _ELEMENT_J_KGK
        self.glass_j_k = b.glass_kg * _GLASS_J_KGK
        self.shelf_j_k = b.shelf_kg * _SHELF_J_KGK
        centres, areas, edge = [], [], 0.0
        for share in WALL_SHARES:
            centre = edge + share / 2
            centres.append(centre * wall)
            areas.append(inside + (outside - inside) * centre)
            edge += share
        self.wall_j_k = [
            share * wall * area * lining.density * lining.heat_capacity
            for share, area in zip(WALL_SHARES, areas, strict=True)
        ]
        self._between = [
            (areas[i] + areas[i + 1]) / 2 / (centres[i + 1] - centres[i]) for i in range(len(areas) - 1)
        ]
        last = (wall - centres[-1]) / (lining.k0 + lining.k1 * 60.0)
        self._shell_w_k = outside / (last + 1 / _SHELL_FILM_W_M2K)
        radiant = STEFAN_BOLTZMANN * _EMISSIVITY
        element_m2 = b.power_w / 15_000.0  # a surface load of 1.5 W/cm², common practice
        # Elements lie in grooves and heat the wall most of all, which passes it on.
        self._ew = radiant * element_m2 * 0.88
        self._eg = radiant * element_m2 * (0.07 if b.opening == "top" else 0.05)
        self._es = radiant * element_m2 * (0.05 if b.opening == "top" else 0.07)
        self._wg = radiant * floor * 0.65
        self._ws = radiant * floor * 1.1
        self._gs = _CONTACT_W_M2K * floor * 0.6
        self._film = [_FILM_W_M2K * area for area in (element_m2, floor * 0.7, floor * 1.3, inside * 0.8)]
        opening_m2 = b.inside_m[0] * (b.inside_m[1] if b.opening == "top" else b.inside_m[2])
        self._open_radiant = radiant * opening_m2 * 0.35
        self._open_draught = 35.0 * opening_m2 * (1.0 if b.opening == "top" else 1.3)

    def step(self, dt_s: float, power_w: float, open_share: float = 0.0, vent_w_per_k: float = 0.0) -> None:
        """Go on by ``dt_s`` [s] with ``power_w`` [W] in the elements.

        Parameters
        ----------
        dt_s
            Step [s], at most STEP_S.
        power_w
            Mean electrical power over the step [W].
        open_share
            How far the lid or door stands open, 0 to 1.
        vent_w_per_k
            Draught through a vent [W/K].
        """
        half_s = dt_s / 2  # the elements, hot, ask for it
        self._explicit(half_s, power_w, open_share, vent_w_per_k)
        self._explicit(half_s, power_w, open_share, vent_w_per_k)

    def _explicit(self, dt_s: float, power_w: float, open_share: float, vent_w_per_k: float) -> None:
        te, tg, ts, room = self.element_c, self.glass_c, self.shelf_c, self.room_c
        w0, w1, w2, w3, w4 = self.wall_c
        e4, g4, s4, h4 = (te + KELVIN) ** 4, (tg + KELVIN) ** 4, (ts + KELVIN) ** 4, (w0 + KELVIN) ** 4
        fe, fg, fs, fw = self._film
        out = self.build.leak_w_per_k + vent_w_per_k + self._open_draught * open_share
        air = (fe * te + fg * tg + fs * ts + fw * w0 + out * room) / (fe + fg + fs + fw + out)
        ew, eg, es = self._ew * (e4 - h4), self._eg * (e4 - g4), self._es * (e4 - s4)
        wg, ws, gs = self._wg * (h4 - g4), self._ws * (h4 - s4), self._gs * (tg - ts)
        k0, k1 = self.build.lining.k0, self.build.lining.k1 / 2
        b0, b1, b2, b3 = self._between
        q0 = b0 * (k0 + k1 * (w0 + w1)) * (w0 - w1)
        q1 = b1 * (k0 + k1 * (w1 + w2)) * (w1 - w2)
        q2 = b2 * (k0 + k1 * (w2 + w3)) * (w2 - w3)
        q3 = b3 * (k0 + k1 * (w3 + w4)) * (w3 - w4)
        shell = self._shell_w_k * (w4 - room)
        seen = self._open_radiant * open_share
        r4 = (room + KELVIN) ** 4 if seen else 0.0
        glass_out = seen * 0.6 * (g4 - r4) if seen else 0.0
        wall_out = seen * (h4 - r4) if seen else 0.0
        c0, c1, c2, c3, c4 = self.wall_j_k
        self.element_c = te + dt_s * (power_w - ew - eg - es - fe * (te - air)) / self.element_j_k
        self.glass_c = tg + dt_s * (eg + wg - gs - fg * (tg - air) - glass_out) / self.glass_j_k
        self.shelf_c = ts + dt_s * (es + ws + gs - fs * (ts - air)) / self.shelf_j_k
        self.wall_c = [
            w0 + dt_s * (ew - wg - ws - q0 - fw * (w0 - air) - wall_out) / c0,
            w1 + dt_s * (q0 - q1) / c1,
            w2 + dt_s * (q1 - q2) / c2,
            w3 + dt_s * (q2 - q3) / c3,
            w4 + dt_s * (q3 - shell) / c4,
        ]
        self.air_c = air
        self.open_share = open_share
        self.in_j += dt_s * power_w
        self.out_j += dt_s * (shell + out * (air - room) + glass_out + wall_out)

    @property
    def stored_j(self) -> float:
        """Return the heat in all lumps above 0 °C [J]."""
        walls = sum(c * t for c, t in zip(self.wall_j_k, self.wall_c, strict=True))
        return (
            walls + self.element_j_k * self.element_c + self.glass_j_k * self.glass_c
            + self.shelf_j_k * self.shelf_c
        )
