"""Surface and core of the glass: heat through a slab whose mean temperature is known.

Finite differences in cells of equal thickness, implicit in time, so that any step is stable. The slab takes
its heat through one face (on a shelf, the other insulated) or through both. Nothing here is shared with
what the bench tests.
"""

from __future__ import annotations

from collections.abc import Sequence

CELLS = 12
"""Cells through the slab. [chosen: closed forms of Carslaw & Jaeger are met to 1 %, which tests hold]"""
DIFFUSIVITY_M2_S = 4.5e-7
"""Thermal diffusivity of glass [m²/s].
[from memory: soda-lime glass near its anneal, 1.2 W/mK, 2450 kg/m³, 1090 J/kgK]"""


class Slab:
    """A slab of glass.

    Parameters
    ----------
    thickness_mm
        Its thickness [mm].
    faces
        Through how many faces heat goes: 1 or 2.
    start_c
        Its temperature at the start [°C].
    diffusivity_m2_s
        Of its glass [m²/s].
    """

    def __init__(
        self, thickness_mm: float, faces: int = 1, start_c: float = 20.0,
        diffusivity_m2_s: float = DIFFUSIVITY_M2_S,
    ) -> None:
        # With two faces the middle is a plane of symmetry: half the slab with one face is the same.
        self.depth_m = thickness_mm / 1000.0 / faces
        self.cells_c = [start_c] * CELLS
        """From the heated face inwards [°C]."""
        self.mean_c = start_c
        self._per_s = diffusivity_m2_s / (self.depth_m / CELLS) ** 2
        self._rise_k = 0.0
        self._dt_s = 0.0
        self._forward: list[float] = []
        self._pivot: list[float] = []

    @property
    def surface_c(self) -> float:
        """Return the temperature of the heated face [°C]."""
        # From the middle of the outermost cell to its face: half a cell at the gradient of the flux that goes in.
        return self.cells_c[0] + self._rise_k

    @property
    def core_c(self) -> float:
        """Return the temperature farthest from the heated faces [°C]: the middle, or the insulated face."""
        return self.cells_c[-1] + (self.cells_c[-1] - self.cells_c[-2]) / 8

    def follow(self, dt_s: float, mean_c: float) -> None:
        """Go on by ``dt_s`` [s], in which the slab's mean comes to ``mean_c`` [°C] by what its faces take up.

        Backward Euler of dT/dt = κ d²T/dx² with an insulated inner face, the flux that gives the mean its rise put
        into the outermost cell, and the Thomas algorithm for the tridiagonal system.
        """
        if dt_s != self._dt_s:
            self._factorise(dt_s)
        gain_k = (mean_c - self.mean_c) * CELLS
        self.mean_c = mean_c
        cells, forward, pivot, fo = self.cells_c, self._forward, self._pivot, self._per_s * dt_s
        cells[0] += gain_k
        last = cells[0] = cells[0] / pivot[0]
        for n in range(1, CELLS):
            last = cells[n] = (cells[n] + fo * last) / pivot[n]
        for n in range(CELLS - 2, -1, -1):
            last = cells[n] = cells[n] + forward[n] * last
        self._rise_k = gain_k / fo / 2

    def _factorise(self, dt_s: float) -> None:
        """Prepare the tridiagonal elimination (Thomas) for steps of ``dt_s`` [s]."""
        fo = self._per_s * dt_s
        self._dt_s = dt_s
        self._forward, self._pivot = [], []
        for n in range(CELLS):
            diagonal = 1.0 + fo * (1.0 if n in (0, CELLS - 1) else 2.0)
            pivot = diagonal - (fo * self._forward[-1] if n else 0.0)
            self._pivot.append(pivot)
            self._forward.append(fo / pivot)


def through(
    times_s: Sequence[float], mean_c: Sequence[float], thickness_mm: float, faces: int = 1,
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return surface and core temperatures [°C] of a slab whose mean went as given.

    Parameters
    ----------
    times_s, mean_c
        Seconds, rising, and the slab's mean then [°C]; between them it goes straight.
    thickness_mm, faces
        See Slab.

    Returns
    -------
    tuple
        Surface and core, each as long as ``times_s``.
    """
    slab = Slab(thickness_mm, faces, mean_c[0])
    surface, core = [mean_c[0]], [mean_c[0]]
    for n in range(1, len(times_s)):
        slab.follow(times_s[n] - times_s[n - 1], mean_c[n])
        surface.append(slab.surface_c)
        core.append(slab.core_c)
    return tuple(surface), tuple(core)
