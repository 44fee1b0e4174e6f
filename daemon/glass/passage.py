"""What one slab went through in a firing: reading by reading, with the figures of its last passage.

The band is the glass's annealing range. Only the last passage through it counts: a pass at or above its
upper end wipes the largest difference seen before, a pass at or above its lower end the largest tension.
"""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass
from math import ceil

from daemon.glass.exposure import Exposure
from daemon.glass.materials import Glass
from daemon.glass.smoothing import Smoother
from daemon.glass.stress import FINE_K, STRUCTURAL_FACTOR, Stress


@dataclass(frozen=True, slots=True)
class Suffered:
    """The figures of one slab; stresses in MPa with tension positive, core at mid-plane or insulated face.

    Attributes
    ----------
    difference_now_k
        Core minus face at the last instant [K].
    difference_last_passage_k
        Largest core minus face while the face was in the band, since it last was at its upper end [K].
    simple_core_mpa
        Eα/(1−ν) times that difference, over 3; a diagnostic, absurd after a free fall into the band.
    maxwell_core_mpa, maxwell_surface_mpa
        What stays after the temperatures have evened out at the last one.
    peak_tension_below_band_mpa
        Largest tension anywhere since the face was last at or above the band's lower end.
    expected_core_mpa
        The headline: the Maxwell figure with volume relaxation, ± 0.2 of its factor of 1.7.
    """

    difference_now_k: float
    difference_last_passage_k: float
    simple_core_mpa: float
    maxwell_core_mpa: float
    maxwell_surface_mpa: float
    peak_tension_below_band_mpa: float
    expected_core_mpa: float
    haze_rising_s: float
    haze_falling_s: float
    time_above_s: dict[float, float]


class Passage:
    """One slab of one glass under a trace; takes readings at any spacing from 1 to 60 s and over holes.

    The slab starts uniform and stress-free at the first temperature, stays flat, and its face follows the
    readings along straight lines.
    """

    def __init__(self, glass: Glass, thickness_mm: float, faces: int) -> None:
        self.glass = glass
        self._thickness_mm = thickness_mm
        self._faces = faces
        self._low_c, self._high_c = glass.band_low_c, glass.band_high_c
        self._smoother = Smoother()
        self._slab: Stress | None = None
        self._exposure = Exposure()
        self._t_s = 0.0
        self._face_c = 0.0
        self._difference_k = 0.0
        self._tension_mpa = 0.0

    def offer(self, t_s: float, temp_c: float) -> None:
        """Take the next reading, later than the last [s, °C]."""
        for at_s, smooth_c in self._smoother.offer(t_s, temp_c):
            self._go_to(at_s, smooth_c)

    @property
    def haze_s(self) -> float:
        """Return the seconds in the haze range so far, as far as the smoothing has come."""
        return self._exposure.haze_s

    def figures(self) -> Suffered | None:
        """Return the figures as of the last reading, without touching what goes on; None before the first."""
        return deepcopy(self).finish()

    def finish(self) -> Suffered | None:
        """Return the figures with what the smoothing held back taken in; nothing may be offered after."""
        for at_s, smooth_c in self._smoother.rest():
            self._go_to(at_s, smooth_c)
        return self._figures()

    def _go_to(self, t_s: float, temp_c: float) -> None:
        if self._slab is None:
            self._slab = Stress(self.glass, self._thickness_mm, self._faces, temp_c)
            self._t_s, self._face_c = t_s, temp_c
            self._exposure.advance(temp_c, temp_c, 0.0)
            return
        step_s, from_c = t_s - self._t_s, self._face_c
        self._exposure.advance(from_c, temp_c, step_s)
        pieces = 1
        if abs(temp_c - from_c) > FINE_K and self._slab.setting(from_c, temp_c, *self._slab.temps_c):
            pieces = ceil(abs(temp_c - from_c) / FINE_K)
        for n in range(pieces):
            here_c = from_c + (temp_c - from_c) * n / pieces
            there_c = from_c + (temp_c - from_c) * (n + 1) / pieces
            self._slab.advance(here_c, there_c, step_s / pieces)
            self._look(there_c)
        self._t_s, self._face_c = t_s, temp_c

    def _look(self, face_c: float) -> None:
        slab = self._slab
        assert slab is not None
        if face_c >= self._high_c:
            self._difference_k = 0.0
            self._tension_mpa = 0.0
        elif face_c >= self._low_c:
            self._difference_k = max(self._difference_k, slab.difference_k)
            self._tension_mpa = 0.0
        else:
            self._tension_mpa = max(self._tension_mpa, *slab.stress_mpa)

    def _figures(self) -> Suffered | None:
        slab = self._slab
        if slab is None:
            return None
        core, face = slab.residual_mpa()
        scale = slab.modulus_mpa * self.glass.expansion_per_k
        return Suffered(
            difference_now_k=slab.difference_k, difference_last_passage_k=self._difference_k,
            simple_core_mpa=scale * self._difference_k / 3, maxwell_core_mpa=core, maxwell_surface_mpa=face,
            peak_tension_below_band_mpa=self._tension_mpa, expected_core_mpa=STRUCTURAL_FACTOR * core,
            haze_rising_s=self._exposure.haze_rising_s, haze_falling_s=self._exposure.haze_falling_s,
            time_above_s=dict(self._exposure.above_s),
        )
