"""What the load went through: each of its thicknesses as an ideal slab, under one trace.

Readings come one at a time, at any spacing from 1 to 60 s and over holes; the face follows them along straight
lines, smoothed by their own noise. Figures may be asked for at any time and change nothing, so those of a
live firing and of its replay are the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import nan

from daemon.glass.exposure import HAZE_C, Exposure
from daemon.glass.fastest_climb import Climb
from daemon.glass.materials import Glass
from daemon.glass.passage import Passage
from daemon.glass.relaxation import Relaxed
from daemon.glass.second_climb import Reheated, SecondClimb
from daemon.glass.smoothing import Smoother
from daemon.glass.stress import STRUCTURAL_FACTOR
from daemon.glass.twin import twin_of

OTHER_STEP_S = 20.0
"""The slab of the other count of faces, which gives only the range, takes pieces of at least this length [s].

[chosen: a quarter of its cost at a reading each 5 s; as long as ``passage.FINE_S``]
"""


@dataclass(frozen=True, slots=True)
class Suffered:
    """The figures of one slab; stresses in MPa with tension positive, core at mid-plane or insulated face.

    Attributes
    ----------
    thickness_mm, faces
        The slab.
    difference_now_k
        Core minus face at the last instant [K].
    difference_last_passage_k
        Largest core minus face while the face was in the band, since it last was at its upper end [K].
    simple_core_mpa
        Eα/(1−ν) times that difference, over 3; a diagnostic, absurd after a free fall into the band.
    maxwell_core_mpa, maxwell_surface_mpa
        What stays after the temperatures have evened out at the last one.
    peak_tension_below_band_mpa
        Largest tension anywhere since the face was last at or above the band's lower end, and what the temperatures
        would leave if they evened out now.
    expected_core_mpa
        The headline: the Maxwell figure with volume relaxation, ± 0.2 of its factor of 1.7.
    range_core_mpa
        The headline with two cooled faces and with one, between which a real piece lies.
    face_tension_mpa, face_tension_at_c
        Largest tension in the face while that was below the band, since the glass was last fused, and how hot the
        face was then [°C]; None where there was none. It outlasts a return into the band: no crack heals there.
    """

    thickness_mm: float
    faces: int
    difference_now_k: float
    difference_last_passage_k: float
    simple_core_mpa: float
    maxwell_core_mpa: float
    maxwell_surface_mpa: float
    peak_tension_below_band_mpa: float
    expected_core_mpa: float
    range_core_mpa: tuple[float, float]
    face_tension_mpa: float = 0.0
    face_tension_at_c: float | None = None


@dataclass(frozen=True, slots=True)
class Figures:
    """What the load went through up to its last reading.

    Attributes
    ----------
    slabs
        For each thickness asked for, in that order.
    exposure
        How long it was how hot.
    climb
        How fast it climbed while brittle.
    relaxed
        How far a standing stress died away in the annealing range, last passage.
    face_c
        The last temperature, smoothed [°C].
    noise_k
        Noise of single readings [K]; None before it could be told.
    reheated
        The fastest climb back into the annealing range after it had been above it; None where there was none.
    """

    slabs: tuple[Suffered, ...]
    exposure: Exposure
    climb: Climb
    relaxed: Relaxed
    face_c: float
    noise_k: float | None
    reheated: Reheated | None = None


class _Pair:
    """One thickness as two slabs: with the count of faces asked for, at every reading; with the other, less often."""

    def __init__(self, glass: Glass, thickness_mm: float, faces: int, t_s: float, temp_c: float) -> None:
        self._glass = glass
        self._thickness_mm, self._faces = thickness_mm, faces
        self._asked = Passage(glass, thickness_mm, faces, temp_c)
        self._other = Passage(glass, thickness_mm, 3 - faces, temp_c)
        self._there = (t_s, temp_c)

    def advance(self, from_c: float, t_s: float, to_c: float, step_s: float) -> None:
        """Go on to ``t_s`` [s] by ``step_s`` with the face going straight from ``from_c`` to ``to_c`` [°C]."""
        self._asked.advance(from_c, to_c, step_s)
        if t_s - self._there[0] >= OTHER_STEP_S:
            self._catch_up(t_s, to_c)

    def twin(self) -> _Pair:
        """Return one that stands where this one stands and goes on by itself."""
        other: _Pair = twin_of(self)
        other._asked, other._other = self._asked.twin(), self._other.twin()
        return other

    def _catch_up(self, t_s: float, temp_c: float) -> None:
        """Take the slab of the other faces to ``t_s`` in one straight piece."""
        from_s, from_c = self._there
        if t_s > from_s:
            self._other.advance(from_c, temp_c, t_s - from_s)
            self._there = (t_s, temp_c)

    def suffered(self, t_s: float, temp_c: float) -> Suffered:
        """Return the figures as of ``t_s``; it ends the course of this pair, so it is called on a copy."""
        self._catch_up(t_s, temp_c)
        glass, asked = self._glass, self._asked
        core, face = asked.residual_mpa
        expected = STRUCTURAL_FACTOR * core
        other = STRUCTURAL_FACTOR * self._other.residual_mpa[0]
        return Suffered(
            thickness_mm=self._thickness_mm, faces=self._faces, difference_now_k=asked.difference_k,
            difference_last_passage_k=asked.largest_difference_k,
            simple_core_mpa=glass.mpa_per_k * asked.largest_difference_k / 3, maxwell_core_mpa=core,
            maxwell_surface_mpa=face, peak_tension_below_band_mpa=asked.largest_tension_mpa,
            expected_core_mpa=expected,
            range_core_mpa=(expected, other) if self._faces == 2 else (other, expected),
            face_tension_mpa=asked.face_tension_mpa, face_tension_at_c=asked.face_tension_at_c,
        )


class _Course:
    """Everything that follows the smoothed trace: the slabs, the exposure, the climb and the relaxation."""

    def __init__(self, glass: Glass, thicknesses_mm: tuple[float, ...], faces: int, above_c: Sequence[float]) -> None:
        self._glass = glass
        self._thicknesses_mm, self._faces = thicknesses_mm, faces
        self.exposure = Exposure(above_c)
        self._climb, self._again = Climb(), SecondClimb(glass)
        self._relaxed = Relaxed(glass)
        self._pairs: list[_Pair] = []
        self.t_s = self._face_c = nan

    def go_to(self, t_s: float, temp_c: float) -> None:
        """Go straight from the last smoothed temperature to ``temp_c`` [°C] at ``t_s`` [s]."""
        if not self._pairs:
            self._pairs = [_Pair(self._glass, thickness_mm, self._faces, t_s, temp_c)
                           for thickness_mm in self._thicknesses_mm]
            self.exposure.advance(temp_c, temp_c, 0.0)
        else:
            from_c, step_s = self._face_c, t_s - self.t_s
            self.exposure.advance(from_c, temp_c, step_s)
            self._relaxed.advance(from_c, temp_c, step_s)
            for pair in self._pairs:
                pair.advance(from_c, t_s, temp_c, step_s)
        self._climb.advance(t_s, temp_c)
        self._again.advance(t_s, temp_c)
        self.t_s, self._face_c = t_s, temp_c

    def twin(self) -> _Course:
        """Return one that stands where this one stands and goes on by itself."""
        other: _Course = twin_of(self)
        other.exposure, other._climb = self.exposure.twin(), self._climb.twin()
        other._relaxed, other._again = twin_of(self._relaxed), self._again.twin()
        other._pairs = [pair.twin() for pair in self._pairs]
        return other

    def figures(self, noise_k: float | None) -> Figures | None:
        """Return the figures as of the last smoothed temperature; None before the first."""
        if not self._pairs:
            return None
        slabs = tuple(pair.suffered(self.t_s, self._face_c) for pair in self._pairs)
        return Figures(slabs, self.exposure, self._climb, self._relaxed, self._face_c, noise_k,
                       self._again.fastest)


class Load:
    """The slabs of one load under a trace.

    Parameters
    ----------
    glass
        Their glass.
    thicknesses_mm
        One slab each [mm].
    faces
        How many faces cool, 1 or 2.
    above_c
        Temperatures to count the minutes above, besides the usual ones [°C].
    """

    def __init__(self, glass: Glass, thicknesses_mm: Sequence[float], faces: int,
                 above_c: Sequence[float] = ()) -> None:
        self._glass = glass
        self._smoother = Smoother()
        self._course = _Course(glass, tuple(thicknesses_mm), faces, above_c)
        self._last_s: float | None = None
        self.haze_s = 0.0
        """The seconds in the haze range so far by the readings as they came: smoothing would be late."""

    def offer(self, t_s: float, temp_c: float) -> None:
        """Take the next reading, later than the last [s, °C]."""
        if self._last_s is not None and HAZE_C[0] < temp_c < HAZE_C[1]:
            self.haze_s += t_s - self._last_s
        self._last_s = t_s
        for at_s, smooth_c in self._smoother.offer(t_s, temp_c):
            self._course.go_to(at_s, smooth_c)

    def go_to(self, t_s: float, temp_c: float) -> None:
        """Go straight to a temperature that is known exactly, as a plan's is [s, °C]; nothing is smoothed.

        A load takes either such temperatures or readings, not both.
        """
        self._course.go_to(t_s, temp_c)

    def figures(self) -> Figures | None:
        """Return the figures as of the last reading, without touching what goes on; None before the first."""
        ahead = self._course.twin()
        for at_s, smooth_c in self._smoother.rest():
            ahead.go_to(at_s, smooth_c)
        return ahead.figures(self._smoother.noise_k)
