"""A small electric glass kiln as a heat balance: elements, glass, shelf, wall and the air between.

One lump each for the elements, the glass and the shelf, five for the wall, and air without mass. Heat
goes by radiation between the surfaces that see each other, by convection to the air, by conduction
through the wall (better when hot, as porous brick does) and out by the shell, the leaks, a vent or an
opened lid. The scheme is explicit; ``STEP_S`` lies well inside its stability limit, and the ledger of
heat in and out closes to rounding. Nothing here is shared with what the bench tests.
"""

from __future__ import annotations

from simulations.plant.builds import Build

STEFAN_BOLTZMANN = 5.670374e-8
"""Stefan-Boltzmann constant [W/m²K⁴]. [source: CODATA 2018]"""
KELVIN = 273.15
"""0 °C as absolute temperature [K]. [source: definition of the degree Celsius, SI brochure]"""
STEP_S = 5.0
"""The step the plant is run with [s]. [chosen: that of stored readings; tests hold the stability limit and what a
halved step changes]"""
WALL_SHARES = (0.08, 0.14, 0.20, 0.26, 0.32)
"""Thickness of the wall's lumps from the hot face outwards, as shares of the whole. [chosen: finest where the
temperature changes fastest; they add up to 1]"""
EMISSIVITY = 0.8
"""Of every surface inside and of the probe's sheath.
[from memory: refractory, glass and oxidised metal lie at 0.7 to 0.9]"""

_FILM_W_M2K = 9.0
"""Convection from the surfaces inside to the air [W/m²K]. [from memory: free convection in a gas, 2 to 25]"""
_SHELL_FILM_W_M2K = 11.0
"""Convection and radiation from the shell to the room [W/m²K]. [from memory: about half each, below 100 °C]"""
_OUTER_WALL_C = 60.0
"""Temperature at which the wall's outermost half lump conducts [°C]. [chosen: it is warm, never hot]"""
_CONTACT_W_M2K = 60.0
"""Glass to shelf through the separator [W/m²K]. [from memory: a thin layer of powder or paper]"""
_GLASS_J_KGK = 1000.0
_SHELF_J_KGK = 950.0
_ELEMENT_J_KGK = 620.0
"""Heat capacities, means between room and 900 °C [J/kgK]. [from memory: soda-lime glass, cordierite, and wire of
iron, chromium and aluminium]"""
_ELEMENT_TO_WALL = 0.88
_ELEMENT_TO_NEAR = 0.07
_ELEMENT_TO_FAR = 0.05
"""Shares of the elements' radiation that go to the wall, and to glass and shelf: in a top loader the glass is the
nearer of the two, in a front loader the shelf. They add up to 1. [chosen: elements lie in grooves and heat the wall
most of all, which passes it on]"""
_WALL_TO_GLASS = 0.65
_WALL_TO_SHELF = 1.1
_GLASS_ON_SHELF = 0.6
"""Areas by which the wall sees the glass and the shelf, and by which glass lies on it, as shares of the shelf's
upper face. [chosen: the glass covers somewhat more than half; the shelf is seen from above beside it, and from
below]"""
_GLASS_IN_AIR = 0.7
_SHELF_IN_AIR = 1.3
"""Areas of glass and shelf that the air passes, as shares of the shelf's upper face. [chosen: likewise]"""
_WALL_IN_AIR = 0.8
"""Area of the hot face that the air passes, as a share of the whole. [chosen: elements and shelf cover the rest]"""
_SEEN_FROM_OUTSIDE = 0.35
"""Radiation through an opened lid or door, as a share of that from a black hole of the area of the opening.
[chosen: so that half a minute costs the probe more than 30 K, and part of it comes back; a test holds it]"""
_GLASS_SEEN = 0.6
"""How much the glass has of that, against the wall. [chosen: it lies deeper]"""
_OPEN_DRAUGHT_W_M2K = 35.0
_FRONT_DRAUGHT = 1.3
"""Draught through an opened lid an area [W/m²K], and how many times as much a front door lets through.
[chosen: free convection through a large opening; a door also lets cold air in below]"""


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
        here_c = room_c if start_c is None else start_c
        self.element_c = self.glass_c = self.shelf_c = self.air_c = here_c
        self.wall_c = [here_c] * len(WALL_SHARES)
        self.in_j = 0.0
        """Heat the elements gave so far [J]."""
        self.out_j = 0.0
        """Heat lost to the room so far [J]."""
        self.open_share = 0.0
        """How far the lid stood open in the last step, 0 to 1."""
        self.element_j_k = build.element_kg * _ELEMENT_J_KGK
        self.glass_j_k = build.glass_kg * _GLASS_J_KGK
        self.shelf_j_k = build.shelf_kg * _SHELF_J_KGK
        self._set_up_wall()
        self._set_up_inside()

    def _set_up_wall(self) -> None:
        """Work out the wall's heat capacities and what it conducts; its area grows from the hot face to the shell."""
        b, lining = self.build, self.build.lining
        centres_m, areas_m2, edge = [], [], 0.0
        for share in WALL_SHARES:
            centre = edge + share / 2
            centres_m.append(centre * b.wall_m)
            areas_m2.append(b.inside_m2 + (b.outside_m2 - b.inside_m2) * centre)
            edge += share
        self.wall_j_k = [
            share * b.wall_m * area_m2 * lining.density * lining.heat_capacity
            for share, area_m2 in zip(WALL_SHARES, areas_m2, strict=True)
        ]
        self._between_m = [
            (areas_m2[i] + areas_m2[i + 1]) / 2 / (centres_m[i + 1] - centres_m[i]) for i in range(len(areas_m2) - 1)
        ]
        outermost = (b.wall_m - centres_m[-1]) / (lining.k0 + lining.k1 * _OUTER_WALL_C)
        self._shell_w_k = b.outside_m2 / (outermost + 1 / _SHELL_FILM_W_M2K)

    def _set_up_inside(self) -> None:
        """Work out the factors of radiation [W/K⁴], contact and convection [W/K] between the surfaces."""
        b, shelf_m2, is_top = self.build, self.build.shelf_m2, self.build.opening == "top"
        radiant = STEFAN_BOLTZMANN * EMISSIVITY
        element_m2 = b.power_w / b.element_load_w_m2
        self._element_wall = radiant * element_m2 * _ELEMENT_TO_WALL
        self._element_glass = radiant * element_m2 * (_ELEMENT_TO_NEAR if is_top else _ELEMENT_TO_FAR)
        self._element_shelf = radiant * element_m2 * (_ELEMENT_TO_FAR if is_top else _ELEMENT_TO_NEAR)
        self._wall_glass = radiant * shelf_m2 * _WALL_TO_GLASS
        self._wall_shelf = radiant * shelf_m2 * _WALL_TO_SHELF
        self._glass_shelf = _CONTACT_W_M2K * shelf_m2 * _GLASS_ON_SHELF
        self._film_w_k = [
            _FILM_W_M2K * area_m2
            for area_m2 in (
                element_m2, shelf_m2 * _GLASS_IN_AIR, shelf_m2 * _SHELF_IN_AIR, b.inside_m2 * _WALL_IN_AIR)
        ]
        self._open_radiant = radiant * b.opening_m2 * _SEEN_FROM_OUTSIDE
        self._open_draught = _OPEN_DRAUGHT_W_M2K * b.opening_m2 * (1.0 if is_top else _FRONT_DRAUGHT)

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
        half_s = dt_s / 2  # the hot elements are the quickest lump and need the shorter step
        self._explicit_step(half_s, power_w, open_share, vent_w_per_k)
        self._explicit_step(half_s, power_w, open_share, vent_w_per_k)

    def lid_draught_w_k(self, open_share: float) -> float:
        """Return what the lid or door lets in when it stands open by ``open_share``, 0 to 1 [W/K]."""
        return self._open_draught * open_share

    def _explicit_step(self, dt_s: float, power_w: float, open_share: float, vent_w_per_k: float) -> None:
        """Advance every lump by forward Euler: C dT/dt = heat in - heat out, all at the step's beginning.

        Suffixes: e elements, g glass, s shelf, h hot face; w0 to w4 the wall's lumps, q0 to q3 the heat between
        them [W], with the lining's conductivity at their mean temperature. The air has no mass: its temperature
        is the mean of what it passes, weighted by the films.
        """
        te, tg, ts, room = self.element_c, self.glass_c, self.shelf_c, self.room_c
        w0, w1, w2, w3, w4 = self.wall_c
        e4, g4, s4, h4 = (te + KELVIN) ** 4, (tg + KELVIN) ** 4, (ts + KELVIN) ** 4, (w0 + KELVIN) ** 4
        fe, fg, fs, fw = self._film_w_k
        out = self.build.leak_w_per_k + vent_w_per_k + self._open_draught * open_share
        air = (fe * te + fg * tg + fs * ts + fw * w0 + out * room) / (fe + fg + fs + fw + out)
        ew, eg, es = self._element_wall * (e4 - h4), self._element_glass * (e4 - g4), self._element_shelf * (e4 - s4)
        wg, ws, gs = self._wall_glass * (h4 - g4), self._wall_shelf * (h4 - s4), self._glass_shelf * (tg - ts)
        k0, k1 = self.build.lining.k0, self.build.lining.k1 / 2
        b0, b1, b2, b3 = self._between_m
        q0 = b0 * (k0 + k1 * (w0 + w1)) * (w0 - w1)
        q1 = b1 * (k0 + k1 * (w1 + w2)) * (w1 - w2)
        q2 = b2 * (k0 + k1 * (w2 + w3)) * (w2 - w3)
        q3 = b3 * (k0 + k1 * (w3 + w4)) * (w3 - w4)
        shell = self._shell_w_k * (w4 - room)
        seen = self._open_radiant * open_share
        r4 = (room + KELVIN) ** 4 if seen else 0.0
        glass_out = seen * _GLASS_SEEN * (g4 - r4) if seen else 0.0
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
